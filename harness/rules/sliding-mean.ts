/** Levels are kept as whole steps of 10 µV: sums of them times whole microseconds are exact up to 1500 V over a minute. */
const STEPS_PER_V = 100_000;
const LEVELS_at_first = 64;

/** One end of what the mean has been. */
export interface Extreme<C> {
  readonly mean_V: number;
  readonly at_us: number;
  /** What was on record as the cause then. */
  readonly cause: C;
}

/**
 * Lowest and highest mean over a window that slides along a voltage which holds from change to change. Exact: between changes,
 * and one window after them, the mean runs straight, so it is looked at there and nowhere else. Costs one comparison while
 * nothing changes.
 */
export class SlidingMean<C> {
  readonly #window_us: number;
  /** Changes inside the window, oldest first, from `#head` on: instants, and the level from then. */
  #times_us = new Float64Array(LEVELS_at_first);
  #levels = new Float64Array(LEVELS_at_first);
  #head = 0;
  #count = 0;
  /** Of the level over the window so far, or over the whole of it once it is full; in steps times µs. */
  #sum = 0;
  #from_us = 0;
  #now_us = 0;
  #lowest: Extreme<C> | undefined;
  #highest: Extreme<C> | undefined;

  constructor(window_us: number) {
    this.#window_us = window_us;
  }

  get lowest(): Extreme<C> | undefined {
    return this.#lowest;
  }

  get highest(): Extreme<C> | undefined {
    return this.#highest;
  }

  /** Forgets everything; from `from_us` on, which may lie in the past, the level is this. */
  start(from_us: number, level_V: number): void {
    this.#head = 0;
    this.#count = 0;
    this.#sum = 0;
    this.#from_us = from_us;
    this.#now_us = from_us;
    this.#lowest = undefined;
    this.#highest = undefined;
    this.#push(from_us, steps(level_V));
  }

  /** From `at_us` on the level is this; until then the one before held, and `cause` answers for it. */
  take(at_us: number, level_V: number, cause: C): void {
    const level = steps(level_V);
    if (level === this.#level(this.#count - 1)) return;
    this.passTo(at_us, cause);
    this.#push(at_us, level);
  }

  /** A window counts once it has been full and goes on: not at the very instant at which it becomes full. */
  passTo(at_us: number, cause: C): void {
    const full_us = this.#from_us + this.#window_us;
    const level = this.#level(this.#count - 1);
    if (this.#now_us < full_us) {
      const until_us = Math.min(at_us, full_us);
      this.#sum += level * (until_us - this.#now_us);
      this.#now_us = until_us;
    }
    while (this.#now_us < at_us) {
      this.#look(cause);
      const leaves = this.#level(0);
      const tail_us = this.#now_us - this.#window_us;
      const room_us = this.#count > 1 ? this.#time_us(1) - tail_us : Infinity;
      const step_us = Math.min(at_us - this.#now_us, room_us);
      this.#sum += (level - leaves) * step_us;
      this.#now_us += step_us;
      if (step_us === room_us) this.#drop();
      this.#look(cause);
    }
  }

  #look(cause: C): void {
    const mean_V = this.#sum / this.#window_us / STEPS_PER_V;
    if (this.#lowest === undefined || mean_V < this.#lowest.mean_V)
      this.#lowest = { mean_V, at_us: this.#now_us, cause };
    if (this.#highest === undefined || mean_V > this.#highest.mean_V)
      this.#highest = { mean_V, at_us: this.#now_us, cause };
  }

  #time_us(index: number): number {
    return this.#times_us[(this.#head + index) % this.#times_us.length]!;
  }

  #level(index: number): number {
    return this.#levels[(this.#head + index) % this.#levels.length]!;
  }

  #push(at_us: number, level: number): void {
    // Two changes at one instant: the first held for no time.
    if (this.#count > 0 && this.#time_us(this.#count - 1) === at_us) this.#count -= 1;
    if (this.#count === this.#times_us.length) this.#grow();
    const place = (this.#head + this.#count) % this.#times_us.length;
    this.#times_us[place] = at_us;
    this.#levels[place] = level;
    this.#count += 1;
  }

  #drop(): void {
    this.#head = (this.#head + 1) % this.#times_us.length;
    this.#count -= 1;
  }

  #grow(): void {
    const times_us = new Float64Array(2 * this.#count);
    const levels = new Float64Array(2 * this.#count);
    for (let index = 0; index < this.#count; index += 1) {
      times_us[index] = this.#time_us(index);
      levels[index] = this.#level(index);
    }
    this.#head = 0;
    this.#times_us = times_us;
    this.#levels = levels;
  }
}

const steps = (level_V: number): number => Math.round(level_V * STEPS_PER_V);
