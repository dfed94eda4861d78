/** A timer in the queue. `order` is the handle, or its hash when ties are shuffled. */
export interface Timer {
  readonly due_us: number;
  readonly rank: number;
  readonly order: number;
  readonly handle: number;
  readonly owner: string;
  readonly name: string;
  readonly fire: () => void;
  cancelled: boolean;
}

/** Negative when `a` fires first. No two timers are equal, since handles differ. */
export function byFiring(a: Timer, b: Timer): number {
  return a.due_us - b.due_us || a.rank - b.rank || a.order - b.order || a.handle - b.handle;
}

/** Binary heap of timers, the next to fire on top. */
export class TimerHeap {
  #timers: Timer[] = [];

  get size(): number {
    return this.#timers.length;
  }

  get top(): Timer | undefined {
    return this.#timers[0];
  }

  /** All of them, in no order. */
  all(): readonly Timer[] {
    return this.#timers;
  }

  push(timer: Timer): void {
    const timers = this.#timers;
    let hole = timers.length;
    timers.push(timer);
    while (hole > 0) {
      const parent = (hole - 1) >> 1;
      const above = timers[parent]!;
      if (byFiring(above, timer) < 0) break;
      timers[hole] = above;
      hole = parent;
    }
    timers[hole] = timer;
  }

  pop(): Timer | undefined {
    const timers = this.#timers;
    const top = timers[0];
    const last = timers.pop();
    if (last !== undefined && timers.length > 0) this.#sink(last, 0);
    return top;
  }

  /** Keeps what passes, in one sweep: cheaper than to take cancelled timers out one by one. */
  keep(passes: (timer: Timer) => boolean): void {
    this.#timers = this.#timers.filter(passes);
    for (let index = (this.#timers.length >> 1) - 1; index >= 0; index -= 1) this.#sink(this.#timers[index]!, index);
  }

  /** Puts a timer where `from` is free, after moving up whatever below fires sooner. */
  #sink(timer: Timer, from: number): void {
    const timers = this.#timers;
    let hole = from;
    for (let child = 2 * hole + 1; child < timers.length; child = 2 * hole + 1) {
      const right = timers[child + 1];
      if (right !== undefined && byFiring(right, timers[child]!) < 0) child += 1;
      const sooner = timers[child]!;
      if (byFiring(timer, sooner) < 0) break;
      timers[hole] = sooner;
      hole = child;
    }
    timers[hole] = timer;
  }
}
