import { type SchedulerAction, type SchedulerLike, Subscription } from 'rxjs';
import type { Kernel } from './time.ts';

type Work<T> = (this: SchedulerAction<T>, state?: T) => void;
type Queue = Pick<Kernel, 'now_us' | 'at' | 'cancel'>;

/** What a stream does belongs to the onlookers: it comes after everything else of its instant. */
const RANK = 'record';
const OWNER = 'streams';

/**
 * Scheduler for rxjs operators over the kernel's queue; milliseconds in, whole microseconds in the queue.
 *
 * An infinite delay is never scheduled. What the work throws comes out of the kernel's run.
 */
export class QueueScheduler implements SchedulerLike {
  readonly queue: Queue;
  readonly toUs: (delay_ms: number, owner: string) => number;
  /**
   * While work runs: the instant for which it was set, in the operator's own sum. debounceTime adds its delay to an
   * earlier `now` and asks whether that is reached; in milliseconds the last digit may say "not yet", it would set itself
   * again by less than half a microsecond, and never come to an end.
   */
  promised_ms: number | undefined;

  constructor(queue: Queue, toUs: (delay_ms: number, owner: string) => number) {
    this.queue = queue;
    this.toUs = toUs;
  }

  now(): number {
    return this.promised_ms ?? this.queue.now_us / 1000;
  }

  schedule<T>(work: Work<T>, delay_ms = 0, state?: T): Subscription {
    return new QueueAction(this, work).schedule(state, delay_ms);
  }
}

/** One piece of work that may set itself again, as `interval` does. Ending the subscription takes it out of the queue. */
class QueueAction<T> extends Subscription implements SchedulerAction<T> {
  readonly #scheduler: QueueScheduler;
  readonly #work: Work<T>;
  #handle: number | undefined;

  constructor(scheduler: QueueScheduler, work: Work<T>) {
    super();
    this.#scheduler = scheduler;
    this.#work = work;
    this.add(() => this.#takeBack());
  }

  schedule(state?: T, delay_ms = 0): Subscription {
    if (this.closed) return this;
    this.#takeBack();
    if (delay_ms === Infinity) return this;
    const { queue } = this.#scheduler;
    const due_us = (queue.now_us + this.#scheduler.toUs(delay_ms, OWNER)) as typeof queue.now_us;
    const promised_ms = this.#scheduler.now() + delay_ms;
    this.#handle = queue.at(due_us, RANK, OWNER, 'scheduled work', () => this.#run(state, promised_ms));
    return this;
  }

  #run(state: T | undefined, promised_ms: number): void {
    this.#handle = undefined;
    this.#scheduler.promised_ms = promised_ms;
    try {
      this.#work(state);
    } catch (cause) {
      this.unsubscribe();
      throw cause;
    } finally {
      this.#scheduler.promised_ms = undefined;
    }
  }

  #takeBack(): void {
    if (this.#handle !== undefined) this.#scheduler.queue.cancel(this.#handle);
    this.#handle = undefined;
  }
}
