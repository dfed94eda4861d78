import { assert } from '../check.ts';
import { NOMINAL_HZ, US_PER_S } from '../units.ts';

/** One cycle of the nominal frequency, µs. */
export const CYCLE_us = US_PER_S / NOMINAL_HZ;

/**
 * The past of one quantity that is constant between instants, and its rms over one cycle: U² = (1/T) ∫ v² dt.
 *
 * Urms(1/2) of IEC 61000-4-30 (rule from memory), with the window always one nominal cycle. Constant over the whole
 * window gives that very value, to the bit. Remembers `memory_us` beyond one cycle, for readers that lag.
 */
export class History {
  readonly #keep_us: number;
  #at: number[] = [];
  #value: number[] = [];
  #first = 0;

  constructor(initial: number, memory_us = 0) {
    this.#keep_us = CYCLE_us + memory_us;
    this.#at.push(-Infinity);
    this.#value.push(initial);
  }

  /** From `at_us` on the value is `value`. Instants do not go back. Returns whether anything changed. */
  set(at_us: number, value: number): boolean {
    const last = this.#at.length - 1;
    assert(at_us >= this.#at[last]!, 'the past of a quantity is written in order');
    if (this.#value[last] === value) return false;
    if (this.#at[last] === at_us) {
      this.#value[last] = value;
      if (last > this.#first && this.#value[last - 1] === value) {
        this.#at.pop();
        this.#value.pop();
      }
      return true;
    }
    this.#at.push(at_us);
    this.#value.push(value);
    this.#forget(at_us - this.#keep_us);
    return true;
  }

  /** Value at an instant that is not before what is remembered. */
  valueAt(at_us: number): number {
    let i = this.#at.length - 1;
    while (i > this.#first && this.#at[i]! > at_us) i -= 1;
    return this.#value[i]!;
  }

  /** rms over the cycle that ends at `at_us`. */
  rmsAt(at_us: number): number {
    let i = this.#at.length - 1;
    while (i > this.#first && this.#at[i]! > at_us) i -= 1;
    const from_us = at_us - CYCLE_us;
    if (this.#at[i]! <= from_us || i === this.#first) return Math.abs(this.#value[i]!);
    let sum = 0;
    let until_us = at_us;
    for (;;) {
      const value = this.#value[i]!;
      const start_us = Math.max(this.#at[i]!, from_us);
      sum += value * value * (until_us - start_us);
      until_us = start_us;
      if (start_us <= from_us || i === this.#first) break;
      i -= 1;
    }
    return Math.sqrt(sum / CYCLE_us);
  }

  /** Until when the one-cycle value still moves if nothing else changes; whole µs, rounded up. */
  get settledFrom_us(): number {
    return Math.ceil(this.#at[this.#at.length - 1]! + CYCLE_us);
  }

  #forget(before_us: number): void {
    while (this.#first + 1 < this.#at.length && this.#at[this.#first + 1]! <= before_us) this.#first += 1;
    if (this.#first < 256) return;
    this.#at = this.#at.slice(this.#first);
    this.#value = this.#value.slice(this.#first);
    this.#first = 0;
  }
}
