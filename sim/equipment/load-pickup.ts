import { log } from '../maths.ts';
import { type Bag, numberOf, type Plain } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import { BY_ITSELF, type Terminals } from './load-body.ts';

/** Below this a load counts as dark, pu (assumed). */
const DARK = 0.5;
/** Stairs of the decay: 5 % of the excess each. */
const STAIRS = 20;

/**
 * Cold-load pick-up: after a long time dark S = S_D + (S_U - S_D) exp(-(t - T)/τ) for t ≥ T, S_U before.
 *
 * Delayed exponential, from memory: Lang, Anderson, Fagen 1982. A staircase of twenty: each stair is the nearest to the
 * curve. A darkness too short to count changes nothing, also of a decay that is under way.
 */
export class ColdPickup {
  readonly #at: Terminals;
  readonly #excess: number;
  readonly #after_us: number;
  readonly #hold_us: number;
  readonly #decay_us: number;
  readonly #darkBefore_us: number;
  #darkFrom_us: number | undefined;
  #begun_us = 0;
  #stair = 0;
  #timer: number | undefined;

  constructor(at: Terminals, params: Bag, darkBefore_us: number) {
    this.#at = at;
    this.#excess = numberOf(params, 'pickup') - 1;
    this.#after_us = numberOf(params, 'pickupAfter');
    this.#hold_us = numberOf(params, 'pickupHold');
    this.#decay_us = numberOf(params, 'pickupDecay');
    this.#darkBefore_us = darkBefore_us;
  }

  /** What its power is to be multiplied by. */
  get multiple(): number {
    return 1 + (this.#excess * this.#stair) / STAIRS;
  }

  settle(u: number): void {
    this.#darkFrom_us = u < DARK ? -this.#darkBefore_us : undefined;
  }

  /** Sees its voltage in pu, 0 while it is switched off. */
  see(u: number): void {
    if (this.#excess === 0) return;
    const { kernel } = this.#at.around;
    const dark = u < DARK;
    if (dark) {
      this.#darkFrom_us ??= kernel.now_us;
      return;
    }
    const from_us = this.#darkFrom_us;
    this.#darkFrom_us = undefined;
    if (from_us === undefined || kernel.now_us - from_us < this.#after_us) return;
    this.#begun_us = kernel.now_us;
    this.#arm(kernel.now_us, STAIRS);
  }

  digest(now_us: number): readonly Plain[] {
    return [this.#darkFrom_us === undefined ? -1 : now_us - this.#darkFrom_us, this.#stair];
  }

  #arm(due_us: number, stair: number): void {
    const { around, id } = this.#at;
    if (this.#timer !== undefined) around.kernel.cancel(this.#timer);
    this.#timer = around.kernel.at(due_us as SimUs, 'protection', id, 'pick-up', () => {
      this.#timer = undefined;
      around.change(() => {
        if (stair === STAIRS) around.happened(id, 'cold pick-up', BY_ITSELF);
        this.#stair = stair;
      });
      if (stair > 0) this.#arm(this.#endOf_us(stair), stair - 1);
    });
  }

  /** When the curve is as near to the next stair as to this one: exp(-(t - T)/τ) = (k - 1/2)/20. */
  #endOf_us(stair: number): number {
    const length_us = this.#hold_us + this.#decay_us * log(STAIRS / (stair - 0.5));
    return this.#begun_us + Math.max(1, Math.ceil(length_us));
  }
}
