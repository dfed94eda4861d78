import { type LimitKey, limit } from '../limits/index.ts';
import type { SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';
import { categoryOf, clampTo, given, isOf2018 } from './inverter-settings.ts';

/** How one inverter enters service, by its category and what its site has set inside the ranges of the table. */
export interface EnterSettings {
  /** The window, widened by what its instruments may be wrong by. */
  readonly min_pu: number;
  readonly max_pu: number;
  readonly min_Hz: number;
  readonly max_Hz: number;
  readonly delay_us: number;
  readonly delayKey: LimitKey;
  /** 0: none, before 2018 or with a random extra delay in its place. */
  readonly ramp_us: number;
}

export function enterSettings(source: SourceFacts): EnterSettings {
  const window = isOf2018(source) ? windowOf2018(source) : olderWindow(source);
  const V = limit('ieee-1547-2018.accuracy.voltage').values.level_pu;
  const F = limit('ieee-1547-2018.accuracy.frequency').values.steady_Hz;
  return {
    min_pu: window.min_pu - V,
    max_pu: window.max_pu + V,
    min_Hz: window.min_Hz - F,
    max_Hz: window.max_Hz + F,
    ...delayOf(source),
    ramp_us: rampOf(source),
  };
}

type Window = Readonly<Record<'min_pu' | 'max_pu' | 'min_Hz' | 'max_Hz', number>>;

function windowOf2018({ params }: SourceFacts): Window {
  const V = limit('ieee-1547-2018.enter-service.voltage').values;
  const F = limit('ieee-1547-2018.enter-service.frequency').values;
  const pick = (name: string, standard: number, least: number, most: number): number => {
    const asked = given(params, name);
    return asked === 0 ? standard : clampTo(asked, least, most);
  };
  return {
    min_pu: pick('enterLow', V.min_pu, V.minLeast_pu, V.minMost_pu),
    max_pu: pick('enterHigh', V.max_pu, V.maxLeast_pu, V.maxMost_pu),
    min_Hz: pick('enterLowF', F.min_Hz, F.minLeast_Hz, F.minMost_Hz),
    max_Hz: pick('enterHighF', F.max_Hz, F.maxLeast_Hz, F.maxMost_Hz),
  };
}

function olderWindow(source: SourceFacts): Window {
  const key = categoryOf(source) === '2003' ? 'ieee-1547-2003.reconnect.window' : 'ieee-1547a-2014.reconnect.window';
  return limit(key).values;
}

/** Zero is a setting that the table allows, so it is told apart from none. */
function delayOf(source: SourceFacts): Pick<EnterSettings, 'delay_us' | 'delayKey'> {
  if (!isOf2018(source)) {
    const delayKey = categoryOf(source) === '2003' ? 'ieee-1547-2003.reconnect' : 'ieee-1547a-2014.reconnect';
    return { delay_us: toUs(limit(delayKey).values.time_s), delayKey };
  }
  const { time_s, timeMin_s, timeMax_s } = limit('ieee-1547-2018.enter-service.delay').values;
  const asked_us = source.params['enterDelay'];
  const delay_us = typeof asked_us === 'number' ? clampTo(asked_us, toUs(timeMin_s), toUs(timeMax_s)) : toUs(time_s);
  return { delay_us, delayKey: 'ieee-1547-2018.enter-service.delay' };
}

function rampOf(source: SourceFacts): number {
  if (!isOf2018(source) || given(source.params, 'randomDelay') > 0) return 0;
  const { time_s, timeMin_s, timeMax_s } = limit('ieee-1547-2018.enter-service.ramp').values;
  const asked_us = given(source.params, 'rampTime');
  return asked_us === 0 ? toUs(time_s) : clampTo(asked_us, toUs(timeMin_s), toUs(timeMax_s));
}
