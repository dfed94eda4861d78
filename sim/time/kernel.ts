import type { SchedulerLike } from 'rxjs';
import { assert, mustBe } from '../check.ts';
import type { Id } from '../site-description.ts';
import { type SimUs, timeText } from '../units.ts';
import { hashNumber } from './hash.ts';
import { byFiring, type Timer, TimerHeap } from './heap.ts';
import { QueueScheduler } from './scheduler.ts';
import { type Kernel, RANKS, type Rank, type XstateClock } from './time.ts';

export interface KernelOptions {
  /** Used for shuffled ties alone; whole, 0 to 4294967295. */
  readonly seed: number;
  /** Ties inside one rank at one instant in an order drawn from the seed, to explore races; else in order of setting. */
  readonly shuffleTies?: boolean;
  /** More firings than this at one instant are a loop, not work. */
  readonly firingsAtOneInstantMax?: number;
}

/** The kernel as its driver sees it: equipment gets the `Kernel` half alone and cannot run the queue. */
export interface RunnableKernel extends Kernel {
  /** Fires exactly the next timer, after moving `now_us` to its instant. False when there is none. */
  runNext(): boolean;
  /** Fires all that is due up to and including `end_us`, then moves `now_us` there. */
  runUntil(end_us: SimUs): void;
  /** Instant of the next timer. */
  nextDue_us(): SimUs | undefined;
  /** Rank of the next timer. */
  peekRank(): Rank | undefined;
  /** Whether this instant has come as far as a rank: a timer of it, or of a later one, has fired at this instant. */
  hasReached(rank: Rank): boolean;
}

/** The one queue of a run, empty, at instant 0. @throws RangeError for a seed or a limit out of range */
export function createKernel(options: KernelOptions): RunnableKernel {
  return new QueueKernel(options);
}

class QueueKernel implements RunnableKernel {
  readonly scheduler: SchedulerLike;
  readonly #seed: number;
  readonly #shufflesTies: boolean;
  readonly #firingsMax: number;
  readonly #heap = new TimerHeap();
  readonly #live = new Map<number, Timer>();
  #now_us = 0;
  #lastHandle = 0;
  #firingsNow = 0;
  #rankReached = -1;
  #isFiring = false;
  /** The first assertion that failed. A statechart catches what is thrown at its clock, so it is thrown again later. */
  #bug: unknown;

  constructor({ seed, shuffleTies = false, firingsAtOneInstantMax = 100_000 }: KernelOptions) {
    mustBe(Number.isInteger(seed) && seed >= 0 && seed <= 0xffffffff, 'createKernel', 'seed', seed, 'a uint32');
    mustBe(firingsAtOneInstantMax >= 1, 'createKernel', 'firingsAtOneInstantMax', firingsAtOneInstantMax, '≥ 1');
    this.#seed = seed;
    this.#shufflesTies = shuffleTies;
    this.#firingsMax = firingsAtOneInstantMax;
    this.scheduler = new QueueScheduler(this, (delay_ms, owner) => this.#toUs(delay_ms, owner));
  }

  get now_us(): SimUs {
    return this.#now_us as SimUs;
  }

  at(due_us: SimUs, rank: Rank, owner: Id, name: string, fire: () => void): number {
    if (due_us > Number.MAX_SAFE_INTEGER) {
      this.#lastHandle += 1; // A crossing that is foreseen for after 285 years: no run comes to it.
      return this.#lastHandle;
    }
    this.#mustHold(
      Number.isSafeInteger(due_us),
      () => `${owner} "${name}": due at ${due_us}, not a whole number of µs`,
    );
    this.#mustHold(
      due_us >= this.#now_us,
      () => `${owner} "${name}": due at ${due_us} µs, before now, ${this.#now_us} µs`,
    );
    this.#lastHandle += 1;
    const handle = this.#lastHandle;
    const order = this.#shufflesTies ? hashNumber(this.#seed, ~this.#seed, handle) : handle;
    const timer = { due_us, rank: RANKS.indexOf(rank), order, handle, owner, name, fire, cancelled: false };
    this.#live.set(handle, timer);
    this.#heap.push(timer);
    return handle;
  }

  cancel(handle: number): void {
    const timer = this.#live.get(handle);
    if (timer === undefined) return;
    timer.cancelled = true;
    this.#live.delete(handle);
    if (this.#heap.size > 2 * this.#live.size) this.#heap.keep(({ cancelled }) => !cancelled);
  }

  pending(owner: Id): { readonly name: string; readonly in_us: number }[] {
    const own = [...this.#live.values()].filter((timer) => timer.owner === owner);
    return own.sort(byFiring).map(({ name, due_us }) => ({ name, in_us: due_us - this.#now_us }));
  }

  clockFor(owner: Id, rank: Rank): XstateClock {
    return {
      setTimeout: (fire, delay_ms) => {
        const due_us = (this.#now_us + this.#toUs(delay_ms, owner)) as SimUs;
        return this.at(due_us, rank, owner, 'after', () => fire());
      },
      clearTimeout: (handle) => this.cancel(handle),
    };
  }

  runNext(): boolean {
    if (this.#bug !== undefined) throw this.#bug;
    this.#mustHold(!this.#isFiring, () => 'the queue is run from inside one of its own timers');
    const timer = this.#next();
    if (timer === undefined) return false;
    this.#mustHold(timer.due_us >= this.#now_us, () => `time goes back from ${this.#now_us} to ${timer.due_us} µs`);
    this.#firingsNow = timer.due_us === this.#now_us ? this.#firingsNow + 1 : 1;
    this.#mustHold(this.#firingsNow <= this.#firingsMax, () => this.#loopText(timer));
    this.#heap.pop();
    this.#live.delete(timer.handle);
    this.#rankReached = timer.due_us === this.#now_us ? Math.max(this.#rankReached, timer.rank) : timer.rank;
    this.#now_us = timer.due_us;
    this.#isFiring = true;
    try {
      timer.fire();
    } finally {
      this.#isFiring = false;
    }
    if (this.#bug !== undefined) throw this.#bug;
    return true;
  }

  runUntil(end_us: SimUs): void {
    this.#mustHold(end_us >= this.#now_us, () => `asked to run until ${end_us} µs, before now, ${this.#now_us} µs`);
    this.#mustHold(Number.isSafeInteger(end_us), () => `asked to run until ${end_us}, not a whole number of µs`);
    while ((this.#next()?.due_us ?? Infinity) <= end_us) this.runNext();
    if (end_us > this.#now_us) {
      this.#firingsNow = 0;
      this.#rankReached = -1;
    }
    this.#now_us = end_us;
  }

  nextDue_us(): SimUs | undefined {
    return this.#next()?.due_us as SimUs | undefined;
  }

  hasReached(rank: Rank): boolean {
    return this.#rankReached >= RANKS.indexOf(rank);
  }

  peekRank(): Rank | undefined {
    const next = this.#next();
    return next === undefined ? undefined : RANKS[next.rank];
  }

  /** The next timer that was not taken back; those above it leave the heap. */
  #next(): Timer | undefined {
    while (this.#heap.top?.cancelled === true) this.#heap.pop();
    return this.#heap.top;
  }

  /** Milliseconds of a delay to whole microseconds: the one place where delays are rounded. */
  #toUs(delay_ms: number, owner: string): number {
    this.#mustHold(
      delay_ms >= 0 && delay_ms < Infinity,
      () => `${owner}: a delay of ${delay_ms} ms; expected finite, ≥ 0`,
    );
    return Math.round(delay_ms * 1000);
  }

  #loopText({ owner, name }: Timer): string {
    const instant = timeText(this.#now_us);
    return `${owner} "${name}": more than ${this.#firingsMax} firings at ${instant}; two states re-arm each other?`;
  }

  #mustHold(holds: boolean, what: () => string): void {
    if (holds) return;
    try {
      assert(false, what());
    } catch (bug) {
      this.#bug ??= bug;
      throw bug;
    }
  }
}
