import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atMost, type Book, upperMargin } from './book.ts';
import { toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import { rootOf } from './root.ts';
import { SlidingMean } from './sliding-mean.ts';
import { orderedShare, type Rating, shortTimeShare, smallestRating } from './smallest-rating.ts';
import type { Steps } from './steps.ts';
import { COMMAND, type VehicleWork } from './vehicle-work.ts';

/** Between two steps, or from 6 s after one: what is allowed in it, and who answers. */
interface Stretch {
  /** Six seconds after its step; undefined once they are over. */
  readonly settles_us: number | undefined;
  readonly most_A: number;
  readonly about: string;
  readonly against: Origin;
}

/**
 * The current of one vehicle. One-second values are taken inside a stretch of equal conditions, so that none reaches back
 * over a step.
 */
export class SourceCurrent {
  readonly #book: Book;
  readonly #work: VehicleWork;
  readonly #steps: Steps;
  readonly #at: Readonly<Record<'i', number>>;
  readonly #orders: Readonly<Record<'vehicleCommand' | 'vehicleLimit', number>>;
  readonly #rating: Rating;
  readonly #orderMost_A: number | undefined;
  readonly #short: number;
  readonly #settle_us = toUs(limit('own.source.settle').values.time_s);
  /** Of the square of the current. */
  readonly #square = new SlidingMean<undefined>(toUs(limit('own.source.current').values.time_s));
  #stretch: Stretch | undefined;
  /** Of the frame that holds: what is allowed once it has settled, and the square of the current. */
  #settledMost_A = 0;
  #lastSquare = 0;

  constructor({ facts, channels, book }: Desk, work: VehicleWork, steps: Steps) {
    this.#book = book;
    this.#work = work;
    this.#steps = steps;
    const { source } = work;
    this.#at = channels.of(source.id, 'i');
    this.#orders = channels.of('gateway', 'vehicleCommand', 'vehicleLimit');
    this.#rating = smallestRating(facts, source);
    this.#short = shortTimeShare(source.params);
    const { supplyBreaker } = source.params;
    this.#orderMost_A = typeof supplyBreaker === 'number' ? orderedShare() * supplyBreaker : undefined;
  }

  frame({ at_us, now, before }: Moment, isStep: boolean): void {
    const square = now[this.#at.i]! * now[this.#at.i]!;
    this.#settle(at_us);
    const isActive = this.#work.isActive(now);
    const wasActive = before !== undefined && this.#work.isActive(before);
    const ordered = isActive && (!wasActive || before[this.#orders.vehicleLimit] !== now[this.#orders.vehicleLimit]);
    if (ordered) this.#judgeOrder(at_us, now);
    if (!isActive) this.#close(at_us);
    else if (isStep || !wasActive) {
      this.#close(at_us);
      this.#stretch = this.#unsettled(at_us, now);
      this.#square.start(at_us, square);
    } else this.#square.take(at_us, square, undefined);
    this.#settledMost_A = this.#mostIn(now);
    this.#lastSquare = square;
  }

  end(at_us: number): void {
    this.#settle(at_us);
    this.#close(at_us);
  }

  /** Charge and discharge follow the order where it is lower; in an island the loads say what flows. */
  #mostIn(values: Float64Array): number {
    const share = limit('own.source.current').values.share_pu;
    const command = values[this.#orders.vehicleCommand];
    const follows = command === COMMAND.charge || command === COMMAND.discharge;
    const ordered_A = values[this.#orders.vehicleLimit]! / 1000;
    return share * (follows ? Math.min(this.#rating.current_A, ordered_A) : this.#rating.current_A);
  }

  #unsettled(at_us: number, now: Float64Array): Stretch {
    const share = limit('own.source.current').values.share_pu;
    return {
      settles_us: at_us + this.#settle_us,
      most_A: share * this.#short * this.#rating.current_A,
      about: `within 6 s of a step, against ${this.#rating.of} and its short-time rating`,
      against: this.#againstIn(now),
    };
  }

  /** What a following vehicle takes or gives is its own doing, below what the order allows. */
  #againstIn(values: Float64Array): Origin {
    return this.#work.forms(values) ? this.#steps.against : 'equipment';
  }

  #settle(at_us: number): void {
    const stretch = this.#stretch;
    if (stretch?.settles_us === undefined || at_us <= stretch.settles_us) return;
    const from_us = stretch.settles_us;
    this.#close(from_us);
    const about = `from 6 s after a step, against ${this.#rating.of} and the order`;
    this.#stretch = { settles_us: undefined, most_A: this.#settledMost_A, about, against: stretch.against };
    this.#square.start(from_us, this.#lastSquare);
  }

  #close(at_us: number): void {
    const stretch = this.#stretch;
    if (stretch === undefined) return;
    this.#square.passTo(at_us, undefined);
    const { highest } = this.#square;
    this.#stretch = undefined;
    if (highest === undefined) return;
    const found = rootOf(highest.mean_V);
    const { most_A, against } = stretch;
    const scale = this.#rating.current_A;
    const about = `current of ${this.#work.source.id}, one-second rms, ${stretch.about}`;
    const value = atMost(found, most_A, scale);
    this.#book.add({
      margin: { value, at_us: highest.at_us, found, limit: most_A, scale, unit: 'A', about },
      limit: 'own.source.current',
      against,
    });
  }

  #judgeOrder(at_us: number, now: Float64Array): void {
    if (this.#orderMost_A === undefined) return;
    const about = `current ordered of ${this.#work.source.id} against 0.80 of its supply breaker`;
    const ordered_A = now[this.#orders.vehicleLimit]! / 1000;
    const margin = upperMargin(at_us, ordered_A, this.#orderMost_A, 'A', about);
    this.#book.add({ margin, limit: 'nec.source.ordered', against: 'controller' });
  }
}
