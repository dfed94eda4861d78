import { type HappeningRecord, SUPPLY } from '../../sim/telemetry.ts';
import { LEG_V, quantityText } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { atLeast, atMost, type Book, type Finding } from './book.ts';
import { type Channels, isOn } from './channels.ts';
import { originOf } from './happenings.ts';
import { toUs } from './intervals.ts';
import { type Extreme, SlidingMean } from './sliding-mean.ts';

/** States of `<bus>.supply` in which somebody supplies the bus. */
const SUPPLIED: readonly number[] = (['utility', 'formed', 'unformed'] as const).map((name) => SUPPLY.indexOf(name));
const UTILITY = SUPPLY.indexOf('utility');

export interface SteadySpec {
  readonly book: Book;
  readonly bus: string;
  readonly name: 'u1' | 'u2' | 'u12';
  readonly nominal_V: number;
  readonly about: string;
}

type RangeKey = Extract<LimitKey, `ansi-c84-1.${string}`>;
type Cause = HappeningRecord | undefined;

/** Of one range: the edge that a mean is nearest to, or furthest beyond. */
interface Place {
  readonly mean: Extreme<Cause>;
  readonly edge_V: number;
  readonly halfWidth_V: number;
  readonly value: number;
}

/**
 * The mean over 60 s of one voltage while the supply of its bus stays in one state: beyond range B of ANSI C84.1 it is a
 * violation, beyond range A a warning. Legs feed lamps, so they are held to the ranges for lighting; what stands across the
 * legs is not lighting. A leg that the utility does not reach is not supplied, which is no matter of this limit.
 */
export class SteadyVoltage {
  readonly #spec: SteadySpec;
  readonly #supply: number;
  readonly #present1: number;
  readonly #present2: number;
  readonly #window_us = toUs(limit('own.steady').values.time_s);
  readonly #mean = new SlidingMean<Cause>(this.#window_us);
  readonly #rangeA: RangeKey;
  readonly #rangeB: RangeKey;
  readonly #min_V: number;
  readonly #max_V: number;
  /** Undefined before the first frame; 0 while nobody supplies it. */
  #state: number | undefined;
  #inside = true;
  #cause: Cause;
  #warned: Place | undefined;

  constructor(spec: SteadySpec, channels: Channels) {
    this.#spec = spec;
    this.#supply = channels.index(`${spec.bus}.supply`);
    this.#present1 = channels.index(`${spec.bus}.present1`);
    this.#present2 = channels.index(`${spec.bus}.present2`);
    const use = spec.name === 'u12' ? 'utilisation' : 'lighting';
    this.#rangeA = `ansi-c84-1.A.${use}`;
    this.#rangeB = `ansi-c84-1.B.${use}`;
    const { min_V, max_V } = limit(this.#rangeB).values;
    this.#min_V = min_V * this.#times;
    this.#max_V = max_V * this.#times;
  }

  /** `level_V` holds from `at_us` on; `cause` is what changed it last. */
  take(at_us: number, now: Float64Array, level_V: number, cause: Cause): void {
    const state = this.#stateOf(now);
    if (state !== this.#state) {
      this.#close(at_us);
      this.#inside = true;
      this.#watchRange(level_V, cause);
      // What stands at the first frame has stood for long.
      if (state !== 0) this.#mean.start(this.#state === undefined ? at_us - this.#window_us : at_us, level_V);
      this.#state = state;
      return;
    }
    if (state === 0) return;
    this.#mean.take(at_us, level_V, this.#cause);
    this.#watchRange(level_V, cause);
  }

  end(at_us: number): void {
    this.#close(at_us);
    if (this.#warned !== undefined) this.#spec.book.note(this.#warning(this.#warned));
  }

  get #times(): number {
    return this.#spec.nominal_V / LEG_V;
  }

  #stateOf(now: Float64Array): number {
    const supply = now[this.#supply]!;
    if (!SUPPLIED.includes(supply)) return 0;
    if (supply !== UTILITY) return supply;
    if (this.#spec.name !== 'u2' && !isOn(now, this.#present1)) return 0;
    return this.#spec.name !== 'u1' && !isOn(now, this.#present2) ? 0 : supply;
  }

  /** Who brought it out of range B answers for the mean, which follows later. */
  #watchRange(level_V: number, cause: Cause): void {
    const inside = level_V >= this.#min_V && level_V <= this.#max_V;
    if (!inside && this.#inside) this.#cause = cause;
    this.#inside = inside;
  }

  #close(at_us: number): void {
    if (this.#state === undefined || this.#state === 0) return;
    this.#mean.passTo(at_us, this.#cause);
    const { lowest, highest } = this.#mean;
    if (lowest === undefined || highest === undefined) return;
    const { book } = this.#spec;
    const inB = this.#place(this.#rangeB, lowest, highest);
    const inA = this.#place(this.#rangeA, lowest, highest);
    book.arm();
    book.add(this.#finding(inB));
    if (inB.value < 0 || inA.value >= 0) return;
    if (this.#warned === undefined || inA.value < this.#warned.value) this.#warned = inA;
  }

  #place(key: RangeKey, lowest: Extreme<Cause>, highest: Extreme<Cause>): Place {
    const { min_V, max_V } = limit(key).values;
    const [low_V, high_V] = [min_V * this.#times, max_V * this.#times];
    const halfWidth_V = (high_V - low_V) / 2;
    const below = atLeast(lowest.mean_V, low_V, halfWidth_V);
    const above = atMost(highest.mean_V, high_V, halfWidth_V);
    return below < above
      ? { mean: lowest, edge_V: low_V, halfWidth_V, value: below }
      : { mean: highest, edge_V: high_V, halfWidth_V, value: above };
  }

  #finding({ mean, edge_V, halfWidth_V, value }: Place): Finding {
    const { mean_V: found, at_us, cause } = mean;
    const about = `${this.#spec.about}, mean over 60 s, range B`;
    return {
      margin: { value, at_us, found, limit: edge_V, scale: halfWidth_V, unit: 'V', about },
      limit: this.#rangeB,
      against: originOf(cause),
    };
  }

  #warning({ mean: { mean_V, at_us }, edge_V }: Place): Parameters<Book['note']>[0] {
    const text = `${this.#spec.about}, mean over 60 s ${quantityText(mean_V, 'V')}, outside range A (${quantityText(edge_V, 'V')}) and inside range B`;
    return { is: 'warning', at_us, text, found: { mean_V, limit_V: edge_V } };
  }
}
