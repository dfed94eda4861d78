import type { Conductor } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import {
  atLeast,
  type Book,
  type Finding,
  HALF_CYCLE_US,
  timeFinding,
  upperMargin,
  WAVE_CROSSING_US,
  yesOrNo,
} from './book.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { type Happenings, MAKES, originOf } from './happenings.ts';
import { Since, toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import type { Absence } from './presence.ts';

/** A stretch during which the source forms over a path of at least one pole onto the dead service. */
interface Episode {
  readonly against: Origin;
  readonly hidden: boolean;
  peak_pu: number;
  peak_us: number;
  counted: boolean;
}

/**
 * One forming source against the dead street: it begins at least T_sep after its last line pole has parted, and over no path
 * puts more than 0.02 pu on the service. Open poles leak, which is exempt: without a path nothing is measured. Where a pole
 * is welded and its open contact says otherwise, the band for hidden welds holds: one attempt, 0.05 pu, 100 ms in all.
 */
export class FormingBackfeed {
  readonly #source: SourceFacts;
  readonly #book: Book;
  readonly #happenings: Happenings;
  readonly #devices: readonly string[];
  readonly #own: Readonly<Record<'forms' | 'energises' | 'path1' | 'path2', number>>;
  readonly #service: Readonly<Record<'u1' | 'u2' | 'u12', number>>;
  readonly #relayPoles: readonly { readonly leg: Conductor; readonly state: number; readonly openProved: number }[];
  readonly #apart = new Since();
  #episode: Episode | undefined;
  #attempts = 0;
  #hiddenTime_us = 0;
  #lastLevel_pu = 0;
  #last_us = 0;

  constructor({ facts, channels, book, happenings }: Desk, source: SourceFacts) {
    this.#source = source;
    this.#book = book;
    this.#happenings = happenings;
    this.#devices = facts.devices.map((device) => device.id);
    this.#own = channels.of(source.id, 'forms', 'energises', 'path1', 'path2');
    this.#service = channels.of(facts.serviceBus, 'u1', 'u2', 'u12');
    this.#relayPoles = facts.relays.flatMap((relay) =>
      relay.legs
        .filter((leg) => leg !== 'N')
        .map((leg) => ({
          leg,
          state: channels.index(`${relay.id}.${leg}`),
          openProved: channels.index(`${relay.id}.openProved${leg === 'L1' ? 1 : 2}`),
        })),
    );
  }

  frame({ at_us, now, before }: Moment, absent: Absence, wasAbsent: boolean): void {
    this.#passTime(at_us);
    const path = this.#hasPath(now);
    const forms = this.#isForming(now);
    const began = forms && before !== undefined && !this.#isForming(before);
    if (absent.any && !wasAbsent) this.#book.arm();
    if (absent.any && began) this.#judgeStart(at_us, path && !this.#isHidden(now));
    if (absent.any && (!wasAbsent || began) && !(forms && path)) this.#book.add(this.#level(at_us, 0, false, 'site'));
    this.#apart.update(at_us, !path || this.#isHidden(now));
    if (absent.any && forms && path) this.#measure(at_us, now, absent);
    else this.#closeEpisode(at_us);
  }

  end(at_us: number): void {
    this.#passTime(at_us);
    this.#closeEpisode(at_us);
  }

  /** A pole behind a contact that lies has parted as far as anybody can know; what comes over it has a band of its own. */
  #judgeStart(at_us: number, path: boolean): void {
    const least_us = toUs(limit('own.separation').values.time_s);
    const found = path ? 0 : this.#apart.heldAt(at_us);
    const value = atLeast(found, least_us, least_us);
    const about = `${this.#source.id} forms, time since its last pole to the service parted`;
    const margin = { value, at_us, found, limit: least_us, scale: least_us, unit: 'µs' as const, about };
    const against = originOf(this.#happenings.latest([this.#source.id], ['forms']));
    this.#book.add({ margin, limit: 'own.separation', against });
  }

  #measure(at_us: number, now: Float64Array, absent: Absence): void {
    const level_pu = Math.max(
      absent.L1 ? now[this.#service.u1]! / LEG_V : 0,
      absent.L2 ? now[this.#service.u2]! / LEG_V : 0,
      absent.L1 && absent.L2 ? now[this.#service.u12]! / LINE_V : 0,
    );
    this.#episode ??= this.#openEpisode(at_us, now);
    if (level_pu > this.#episode.peak_pu) Object.assign(this.#episode, { peak_pu: level_pu, peak_us: at_us });
    if (level_pu > limit('own.backfeed-voltage').values.level_pu && !this.#episode.counted) {
      this.#episode.counted = true;
      this.#attempts += 1;
    }
    this.#lastLevel_pu = level_pu;
  }

  #openEpisode(at_us: number, now: Float64Array): Episode {
    const hidden = this.#isHidden(now);
    const forms = this.#happenings.latest([this.#source.id], ['forms']);
    const last = this.#happenings.later(forms, this.#happenings.latest(this.#devices, MAKES));
    const against = hidden ? 'equipment' : originOf(last);
    return { against, hidden, peak_pu: 0, peak_us: at_us, counted: false };
  }

  /** What the level of the last frame has added to the time of a hidden weld until `at_us`. */
  #passTime(at_us: number): void {
    const above = this.#lastLevel_pu > limit('own.backfeed-voltage').values.level_pu;
    if (this.#episode?.hidden && above) this.#hiddenTime_us += at_us - this.#last_us;
    this.#last_us = at_us;
  }

  #closeEpisode(at_us: number): void {
    const episode = this.#episode;
    if (episode === undefined) return;
    const { hidden, peak_pu, peak_us, against } = episode;
    const findings = [this.#level(peak_us, peak_pu, hidden, against)];
    if (hidden && episode.counted)
      findings.push(this.#hiddenTime(at_us, against), this.#secondAttempt(peak_us, against));
    this.#book.add(...findings);
    this.#episode = undefined;
    this.#lastLevel_pu = 0;
  }

  #level(at_us: number, found: number, hidden: boolean, against: Origin): Finding {
    const key = hidden ? 'own.hidden-weld' : 'own.backfeed-voltage';
    const most = limit(key).values.level_pu;
    const about = `voltage that ${this.#source.id} puts on the dead service, one-cycle rms, pu`;
    const margin = upperMargin(at_us, found, most, '1', about);
    return { margin, limit: key, against };
  }

  #hiddenTime(at_us: number, against: Origin): Finding {
    const limit_us = toUs(limit('own.hidden-weld').values.time_s);
    const about = `time in all that ${this.#source.id} feeds the service through a hidden weld`;
    const resolution = { phasor: HALF_CYCLE_US / limit_us, wave: WAVE_CROSSING_US / limit_us, edges_us: [at_us] };
    return timeFinding({
      at_us,
      found_us: this.#hiddenTime_us,
      limit_us,
      key: 'own.hidden-weld',
      against,
      about,
      resolution,
    });
  }

  #secondAttempt(at_us: number, against: Origin): Finding {
    const about = `${this.#source.id} tries a second time behind a hidden weld`;
    return yesOrNo(
      at_us,
      this.#attempts <= limit('own.hidden-weld').values.attempts_1,
      'own.hidden-weld',
      against,
      about,
    );
  }

  #isForming(values: Float64Array): boolean {
    return isOn(values, this.#own.forms) && isOn(values, this.#own.energises);
  }

  /** On each leg with a path a relay's pole conducts while its contact proves it open. */
  #isHidden(values: Float64Array): boolean {
    const lies = (leg: Conductor): boolean =>
      this.#relayPoles.some((pole) => pole.leg === leg && isOn(values, pole.state) && isOn(values, pole.openProved));
    const [on1, on2] = [isOn(values, this.#own.path1), isOn(values, this.#own.path2)];
    return (on1 || on2) && (!on1 || lies('L1')) && (!on2 || lies('L2'));
  }

  #hasPath(values: Float64Array): boolean {
    return isOn(values, this.#own.path1) || isOn(values, this.#own.path2);
  }
}
