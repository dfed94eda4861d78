import { exp, log } from '../maths.ts';
import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { NOMINAL_HZ, type SimUs, US_PER_S } from '../units.ts';

/** One stair of the answer, pu of rated; within a twentieth of it the answer has arrived. */
const STAIR = 0.05;
const NEAR = STAIR / 20;
/** A wish that moves by less than this after the answer has arrived moves nothing: 3 mHz of noise, 5 % curve. */
const DEAF = 0.001;

/** Drop that a frequency asks for, pu of rated: (f - 60 - db) / (60 k) above the dead band, else 0. IEEE 1547-2018, 6.5.2.7. */
export function droopTarget(f_Hz: number, deadBand_Hz: number, slope: number): number {
  return Math.max(0, (f_Hz - NOMINAL_HZ - deadBand_Hz) / (NOMINAL_HZ * slope));
}

/**
 * Power held back at high frequency, as a staircase under x(t) = target + (x0 - target) exp(-(t - t0)/τ).
 *
 * τ = response / ln 10: the open-loop response time is that to 90 % of a step. The anchor (x0, t0) moves only when the
 * frequency changes by a bit; the next stair is predicted and set as a timer. Low frequency asks for more power, which an
 * array at its most cannot give: left out.
 */
export class Droop {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #deadBand_Hz: number;
  readonly #slope: number;
  readonly #tau_s: number;
  readonly #moved: (drop: number) => void;
  #f_Hz = NOMINAL_HZ;
  #target = 0;
  #anchor = 0;
  #anchor_us = 0;
  #timer: number | undefined;
  /** Drop that is applied now, pu of rated. */
  shown = 0;

  constructor(
    kernel: Kernel,
    owner: Id,
    settings: { readonly deadBand_Hz: number; readonly slope: number; readonly response_s: number },
    moved: (drop: number) => void,
  ) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#deadBand_Hz = settings.deadBand_Hz;
    this.#slope = settings.slope;
    this.#tau_s = settings.response_s / log(10);
    this.#moved = moved;
  }

  /** Takes the measured frequency; costs nothing while it stays the same to the bit. */
  drive(f_Hz: number): void {
    if (f_Hz === this.#f_Hz) return;
    this.#f_Hz = f_Hz;
    const target = droopTarget(f_Hz, this.#deadBand_Hz, this.#slope);
    if (target === this.#target) return;
    this.#anchor = this.#at(this.#kernel.now_us);
    this.#anchor_us = this.#kernel.now_us;
    this.#target = target;
    this.#set();
  }

  reset(): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
    this.#f_Hz = NOMINAL_HZ;
    this.#target = 0;
    this.#anchor = 0;
    this.shown = 0;
  }

  digest(now_us: number): readonly number[] {
    return [this.#at(now_us), this.#target, this.shown];
  }

  #at(now_us: number): number {
    if (this.#tau_s <= 0) return this.#target;
    const since_s = (now_us - this.#anchor_us) / US_PER_S;
    return this.#target + (this.#anchor - this.#target) * exp(-since_s / this.#tau_s);
  }

  /** Sets the timer of the next stair: one stair on from what is shown, or the end itself once that is nearer. */
  #set(): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
    const way = this.#target - this.shown;
    if (Math.abs(way) <= DEAF && (this.#target > 0 || this.shown === 0)) return;
    const last = Math.abs(way) <= STAIR + NEAR; // A last stair of rounding errors would never come.
    const next = last ? this.#target : this.shown + Math.sign(way) * STAIR;
    const threshold = last ? this.#target - Math.sign(way) * Math.min(NEAR, Math.abs(way) / 2) : next;
    const left = this.#target - this.#anchor;
    const leftThen = this.#target - threshold;
    // The answer may already stand beyond the threshold, or even beyond the end when the wish has turned round.
    const passed = left === 0 || leftThen / left >= 1 || leftThen / left <= 0 || this.#tau_s <= 0;
    const in_us = passed ? 0 : Math.ceil(this.#tau_s * log(left / leftThen) * US_PER_S);
    const due_us = Math.max(this.#kernel.now_us, this.#anchor_us + in_us);
    this.#timer = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, 'droop', () => {
      this.#timer = undefined;
      this.shown = next;
      this.#moved(next);
      this.#set();
    });
  }
}
