import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { type SimUs, US_PER_S } from '../units.ts';

/**
 * Something that fills up from 0 to 1 at a rate that changes now and then: x = x0 + rate (t - t0), never below 0.
 *
 * A closed form of its anchor, which moves only when the rate changes by bits; full is foreseen and set as a timer.
 */
export class RateClock {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #name: string;
  readonly #full: () => void;
  #from = 0;
  #from_us = 0;
  #rate_per_s = 0;
  #timer: number | undefined;

  /** @param full - called from a timer of rank protection; the clock then stands still until it is set anew. */
  constructor(kernel: Kernel, owner: Id, name: string, full: () => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#name = name;
    this.#full = full;
  }

  valueAt(now_us: number): number {
    return Math.max(0, Math.min(1, this.#from + (this.#rate_per_s * (now_us - this.#from_us)) / US_PER_S));
  }

  /** 1/s from now on; negative runs down. */
  turn(rate_per_s: number): void {
    if (rate_per_s === this.#rate_per_s) return;
    this.#set(this.valueAt(this.#kernel.now_us), rate_per_s);
  }

  /** Stands at a value from now on. */
  stand(value: number): void {
    this.#set(value, 0);
  }

  #set(value: number, rate_per_s: number): void {
    const now_us = this.#kernel.now_us;
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
    this.#from = value;
    this.#from_us = now_us;
    this.#rate_per_s = rate_per_s;
    if (!(rate_per_s > 0)) return;
    const due_us = now_us + Math.max(0, Math.ceil(((1 - value) / rate_per_s) * US_PER_S));
    if (!(due_us < Number.MAX_SAFE_INTEGER)) return;
    this.#timer = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, this.#name, () => {
      this.#timer = undefined;
      this.stand(1);
      this.#full();
    });
  }
}
