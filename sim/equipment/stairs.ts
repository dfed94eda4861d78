import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import type { SimUs } from '../units.ts';

/** Stairs of a ramp: 5 % each, so that a ramp of minutes costs twenty solutions and quiet stretches between them. */
export const STAIRS = 20;

/**
 * A ramp from 0 to 1 as a staircase: k/20 from (k - 1)/20 of its length on, so it is never behind the straight line.
 *
 * `start` stands on the first stair; `step` is called by timers of rank protection at each later one.
 */
export class Stairs {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #name: string;
  readonly #length_us: number;
  readonly #step: (share: number) => void;
  #from_us = 0;
  #done = 0;
  #timer: number | undefined;

  constructor(kernel: Kernel, owner: Id, name: string, length_us: number, step: (share: number) => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#name = name;
    this.#length_us = length_us;
    this.#step = step;
  }

  get share(): number {
    return this.#done / STAIRS;
  }

  start(): void {
    this.stop();
    this.#from_us = this.#kernel.now_us;
    this.#done = this.#length_us > 0 ? 1 : STAIRS;
    this.#set();
  }

  stop(): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
  }

  /** Up at the top with no timer: a settled start. */
  top(): void {
    this.stop();
    this.#done = STAIRS;
  }

  #set(): void {
    if (this.#done >= STAIRS) return;
    const due_us = this.#from_us + Math.round((this.#done * this.#length_us) / STAIRS);
    this.#timer = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, this.#name, () => {
      this.#timer = undefined;
      this.#done += 1;
      this.#set();
      this.#step(this.share);
    });
  }
}
