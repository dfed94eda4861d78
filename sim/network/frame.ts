import { TWO_PI, wrapAngle } from '../maths.ts';
import { NOMINAL_HZ, US_PER_S } from '../units.ts';

/** Angular frequency of the one common frame, rad/s. */
export const NOMINAL_rad_per_s = TWO_PI * NOMINAL_HZ;

/**
 * An angle that turns: angle(t) = anchor + (ω - ω0)(t - t_anchor) in the frame that turns at ω0.
 *
 * A closed form, so that a quiet stretch costs nothing; the anchor moves only when ω or the angle itself changes.
 */
export class Frame {
  #anchor_rad: number;
  #anchor_us: number;
  #w_rad_per_s: number;

  constructor(angle_rad: number, at_us: number, f_Hz: number) {
    this.#anchor_rad = angle_rad;
    this.#anchor_us = at_us;
    this.#w_rad_per_s = TWO_PI * f_Hz;
  }

  get w_rad_per_s(): number {
    return this.#w_rad_per_s;
  }

  get f_Hz(): number {
    return this.#w_rad_per_s / TWO_PI;
  }

  /** In (-π, π]. */
  angleAt(at_us: number): number {
    const slip = this.#w_rad_per_s - NOMINAL_rad_per_s;
    if (slip === 0) return this.#anchor_rad;
    return wrapAngle(this.#anchor_rad + (slip * (at_us - this.#anchor_us)) / US_PER_S);
  }

  setFrequency(w_rad_per_s: number, at_us: number): void {
    if (w_rad_per_s === this.#w_rad_per_s) return;
    this.#anchor_rad = this.angleAt(at_us);
    this.#anchor_us = at_us;
    this.#w_rad_per_s = w_rad_per_s;
  }

  setAngle(angle_rad: number, at_us: number): void {
    this.#anchor_rad = wrapAngle(angle_rad);
    this.#anchor_us = at_us;
  }
}
