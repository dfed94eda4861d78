import type { Bag } from '../../sim/site-description.ts';
import { LIMITS, type LimitKey, limit } from '../limits/index.ts';
import type { SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';

/** What an inverter must do by its category, as its site has set it; a setting outside the table's range counts as the nearest end. */
export interface TripRow {
  readonly row: string;
  readonly side: 'over' | 'under';
  /** pu, or Hz. */
  readonly level: number;
  readonly time_us: number;
  readonly key: LimitKey;
}

const VOLTAGE_ROWS = ['OV2', 'OV1', 'UV1', 'UV2', 'UV3'] as const;
const FREQUENCY_ROWS = ['OF2', 'OF1', 'UF1', 'UF2'] as const;
const CATEGORIES_2018 = ['I', 'II', 'III'];
const OLDER: Readonly<Record<string, string>> = { '2003': 'ieee-1547-2003', '2014': 'ieee-1547a-2014' };

/** I, II, III, 2003 or 2014; undefined of a source that has none. */
export function categoryOf({ params }: SourceFacts): string | undefined {
  const category = params['category'];
  return typeof category === 'string' ? category : undefined;
}

export const isOf2018 = (source: SourceFacts): boolean => CATEGORIES_2018.includes(categoryOf(source) ?? '');

/** Inverters that have trip settings at all. */
export const settled = (sources: readonly SourceFacts[]): SourceFacts[] =>
  sources.filter((source) => categoryOf(source) !== undefined);

export const voltageRows = (source: SourceFacts): TripRow[] => rowsOf(source, VOLTAGE_ROWS, `${categoryOf(source)}.`);
export const frequencyRows = (source: SourceFacts): TripRow[] => rowsOf(source, FREQUENCY_ROWS, '');

/** Of these the photovoltaic ones: what a vehicle that discharges owes on its return is not judged yet. */
export const settledPv = (sources: readonly SourceFacts[]): SourceFacts[] =>
  settled(sources).filter(({ kind }) => kind === 'pv');

/** A number that the site gives; 0, like none at all, leaves it to the table. */
export function given(params: Bag, name: string): number {
  const value = params[name];
  return typeof value === 'number' ? value : 0;
}

export const clampTo = (value: number, least: number, most: number): number => Math.min(most, Math.max(least, value));

/** Time that a clock of an inverter may be wrong by: two cycles, of a long time a share. */
export function timeAccuracy_us(time_us: number): number {
  const { time_s, from_s, share_percent } = limit('ieee-1547-2018.accuracy.time').values;
  const share_us = time_us >= toUs(from_s) ? Math.round((time_us * share_percent) / 100) : 0;
  return Math.max(toUs(time_s), share_us);
}

function rowsOf(source: SourceFacts, names: readonly string[], infix: string): TripRow[] {
  const category = categoryOf(source);
  if (category === undefined) return [];
  const older = OLDER[category];
  return names.flatMap((row): TripRow[] => {
    const key = older === undefined ? `ieee-1547-2018.trip.${infix}${row}` : `${older}.trip.${row}`;
    if (!isLimitKey(key)) return [];
    return [{ row, side: row.startsWith('O') ? 'over' : 'under', key, ...settingOf(key, source.params, row) }];
  });
}

/** The older editions leave nothing to the site. */
function settingOf(key: LimitKey, params: Bag, row: string): { readonly level: number; readonly time_us: number } {
  const values: Readonly<Record<string, number>> = limit(key).values;
  const unit = 'level_Hz' in values ? 'Hz' : 'pu';
  const pick = (of: number, name: string, least: number | undefined, most: number | undefined): number => {
    const asked = given(params, name);
    return asked === 0 || least === undefined || most === undefined ? of : clampTo(asked, least, most);
  };
  const name = row.toLowerCase();
  const level = pick(values[`level_${unit}`]!, name, values[`levelMin_${unit}`], values[`levelMax_${unit}`]);
  const timeLeast_us = 'timeMin_s' in values ? toUs(values['timeMin_s']!) : undefined;
  const timeMost_us = 'timeMax_s' in values ? toUs(values['timeMax_s']!) : undefined;
  return { level, time_us: pick(toUs(values['time_s']!), `${name}Time`, timeLeast_us, timeMost_us) };
}

const isLimitKey = (key: string): key is LimitKey => key in LIMITS;
