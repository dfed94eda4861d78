import { exp } from '../maths.ts';

/** A state whose next half-cycle step is below this share of its scale has arrived. */
export const ARRIVED = 1e-9;
const HALF_CYCLE_s = 1 / 120;

/**
 * First-order lag: x += (1 - exp(-h/τ))(y - x), exact for a y that holds over the step.
 *
 * Once its next half-cycle step would be below 1e-9 of `scale` it is set to its target, and then left alone while the
 * target moves by less than that: so a quiet stretch is quiet to the bit, whatever the steps are.
 */
export class Lag {
  value: number;
  readonly #tau_s: number;
  readonly #scale: number;
  readonly #halfCycleShare: number;
  #lastStep_s = -1;
  #lastShare = 0;

  /** @param tau_s - time constant, s, ≥ 0; 0 follows at once. @param scale - what 1 pu is, in the unit of the value. */
  constructor(value: number, tau_s: number, scale: number) {
    this.value = value;
    this.#tau_s = tau_s;
    this.#scale = scale;
    this.#halfCycleShare = tau_s > 0 ? 1 - exp(-HALF_CYCLE_s / tau_s) : 1;
  }

  /** Moves by h towards the target; true when any bit changed. */
  step(target: number, h_s: number): boolean {
    const gap = target - this.value;
    if (gap === 0) return false;
    const next = Math.abs(gap) * this.#halfCycleShare;
    if (next < ARRIVED * this.#scale) {
      if (Math.abs(gap) < 0.1 * ARRIVED * this.#scale && target !== 0) return false;
      this.value = target;
      return true;
    }
    if (h_s !== this.#lastStep_s) {
      this.#lastStep_s = h_s;
      this.#lastShare = this.#tau_s > 0 ? 1 - exp(-h_s / this.#tau_s) : 1;
    }
    const moved = this.value + this.#lastShare * gap;
    if (moved === this.value) return false;
    this.value = moved;
    return true;
  }
}
