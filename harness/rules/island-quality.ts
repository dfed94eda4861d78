import type { Id } from '../../sim/site-description.ts';
import { NOMINAL_HZ } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { BandWatch } from './band-watch.ts';
import { HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { FormedIsland } from './formed-island.ts';
import { originOf } from './happenings.ts';
import { Deadline, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { type Quantity, quantitiesOf } from './leg-voltage.ts';
import { LoadSteps } from './load-steps.ts';

/** An island is a supply that a house can live on. */
export const islandQuality = rule({
  id: 'island-quality',
  about:
    'From 1 s after forming to the stop order an island keeps its voltage, 2 s after a step of the load apart, and its frequency.',
  limit: 'own.island.voltage',
  needs: 'phasor',
  scale: 'the width of the band: 0.22 pu, 1.2 Hz, 6 Hz; 60 s above 61.2 Hz',
  preside: (desk) => {
    const steps = new LoadSteps(desk);
    const judges: Judge[] = [
      ...quantitiesOf(desk).map((quantity) => new IslandVoltage(desk, quantity, steps)),
      ...desk.facts.forming.map((source) => new IslandFrequency(desk, source)),
    ];
    return {
      frame: (moment) => {
        steps.frame(moment);
        for (const each of judges) each.frame(moment);
      },
      end: (at_us) => {
        for (const each of judges) each.end(at_us);
      },
    };
  },
});

/** One one-cycle voltage of one bus with load. */
class IslandVoltage implements Judge {
  readonly #desk: Desk;
  readonly #bus: Id;
  readonly #index: number;
  readonly #nominal_V: number;
  readonly #island: FormedIsland;
  readonly #steps: LoadSteps;
  readonly #watch: BandWatch;
  readonly #band: { readonly min: number; readonly max: number };
  readonly #pause_us = toUs(limit('own.island.step').values.time_s);

  constructor(desk: Desk, { bus, name, nominal_V, about }: Quantity, steps: LoadSteps) {
    const { min_pu, max_pu } = limit('own.island.voltage').values;
    this.#desk = desk;
    this.#bus = bus;
    this.#index = desk.channels.index(`${bus}.${name}`);
    this.#nominal_V = nominal_V;
    this.#island = new FormedIsland(desk, bus);
    this.#steps = steps;
    this.#band = { min: min_pu, max: max_pu };
    this.#watch = new BandWatch({
      book: desk.book,
      limit: 'own.island.voltage',
      scale: max_pu - min_pu,
      unit: '1',
      about: `${about} in the island, one-cycle rms, pu`,
    });
  }

  frame({ at_us, now }: Moment): void {
    const counts_us = this.#island.countsFrom(at_us, now);
    if (counts_us === undefined) {
      this.#watch.release(at_us);
      return;
    }
    const from_us = Math.max(counts_us, this.#steps.lastAt(this.#bus) + this.#pause_us);
    const value = now[this.#index]! / this.#nominal_V;
    this.#watch.take(at_us, from_us, value, this.#band, this.#desk.happenings.circuitChange());
  }

  end(at_us: number): void {
    this.#watch.release(at_us);
  }
}

/** Frequency of the island of one source: its band, the time above 61.2 Hz, and what it never leaves. */
class IslandFrequency implements Judge {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #at: Readonly<Record<'f' | 'part', number>>;
  readonly #own: Readonly<Record<'forms' | 'energises' | 'setFrequency', number>>;
  readonly #inverters: readonly number[];
  readonly #island: FormedIsland;
  readonly #usual: BandWatch;
  readonly #never: BandWatch;
  readonly #high = new Deadline(toUs(limit('own.island.curtailing').values.time_s));

  constructor(desk: Desk, source: SourceFacts) {
    const { facts, channels, book } = desk;
    this.#desk = desk;
    this.#source = source;
    this.#at = channels.of(source.at, 'f', 'part');
    this.#own = channels.of(source.id, 'forms', 'energises', 'setFrequency');
    this.#inverters = facts.following.filter(({ kind }) => kind === 'pv').map(({ at }) => channels.index(`${at}.part`));
    this.#island = new FormedIsland(desk, source.at);
    const bandOf = (key: 'own.island.frequency' | 'own.island.never', about: string): BandWatch => {
      const { min_Hz, max_Hz } = limit(key).values;
      return new BandWatch({ book, limit: key, scale: max_Hz - min_Hz, unit: 'Hz', about });
    };
    this.#usual = bandOf('own.island.frequency', `frequency of the island of ${source.id}`);
    this.#never = bandOf('own.island.never', `frequency of the island of ${source.id}, whatever happens in it`);
  }

  frame({ at_us, now }: Moment): void {
    const f_Hz = now[this.#at.f]!;
    const cause = this.#desk.happenings.circuitChange();
    const never = limit('own.island.never').values;
    if (!isOn(now, this.#own.forms) || !isOn(now, this.#own.energises)) this.#never.release(at_us);
    else this.#never.take(at_us, at_us, f_Hz, { min: never.min_Hz, max: never.max_Hz }, cause);
    const counts_us = this.#island.countsFrom(at_us, now);
    if (counts_us === undefined) {
      this.#usual.release(at_us);
      this.#closeHigh(at_us);
      return;
    }
    const usual = limit('own.island.frequency').values;
    const highest_Hz = limit('own.island.curtailing').values.max_Hz;
    const curtails = this.#curtails(now);
    const max = curtails ? highest_Hz : usual.max_Hz;
    const isHigh = curtails && f_Hz > highest_Hz;
    // Above 61.2 Hz on purpose it is the time that is judged.
    this.#usual.take(at_us, counts_us, isHigh ? highest_Hz : f_Hz, { min: usual.min_Hz, max }, cause);
    if (!isHigh) this.#closeHigh(at_us);
    else if (this.#high.from_us === undefined) this.#openHigh(counts_us);
  }

  end(at_us: number): void {
    this.#never.release(at_us);
    this.#usual.release(at_us);
    if (this.#high.isBrokenAt(at_us)) this.#closeHigh(at_us);
    else if (this.#high.from_us !== undefined) this.#desk.book.owe();
  }

  /** Set above nominal, with an inverter there that the frequency can curtail. */
  #curtails(now: Float64Array): boolean {
    const part = now[this.#at.part]!;
    return now[this.#own.setFrequency]! > NOMINAL_HZ && this.#inverters.some((at) => now[at] === part);
  }

  /** A source that lifts it by itself does so as it is built; the gateway may have ordered it. */
  #openHigh(at_us: number): void {
    const order = this.#desk.happenings.latest([this.#source.id], ['forms']);
    this.#desk.book.arm();
    this.#high.open(at_us, originOf(order));
  }

  #closeHigh(at_us: number): void {
    const { against, limit_us } = this.#high;
    const found_us = this.#high.close(at_us);
    if (found_us === undefined) return;
    const about = `the island of ${this.#source.id} above 61.2 Hz to curtail PV`;
    const resolution = { phasor: HALF_CYCLE_US / limit_us, wave: WAVE_CROSSING_US / limit_us, edges_us: [at_us] };
    const key = 'own.island.curtailing';
    this.#desk.book.add(timeFinding({ at_us, found_us, limit_us, key, against, about, resolution }));
  }
}
