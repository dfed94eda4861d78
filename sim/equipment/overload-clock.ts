import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import type { SimUs } from '../units.ts';

/** One step of a short-time rating: currents between `from` and `to` times the continuous one last this long. */
export interface OverloadStage {
  readonly name: string;
  /** Multiples of the continuous current. */
  readonly from: number;
  readonly to: number;
  readonly length_us: number;
}

/** Time is given back below this share of a stage's lower current; between the two nothing moves. */
const REST_SHARE = 0.98;

/** What one stage has used up: a closed form of (anchor, time since), at one of three rates. */
class StageClock {
  readonly stage: OverloadStage;
  spent = false;
  #used_us = 0;
  #anchor_us = 0;
  #rate = 0;
  handle: number | undefined;

  constructor(stage: OverloadStage) {
    this.stage = stage;
  }

  used_us(now_us: number): number {
    const used = this.#used_us + this.#rate * (now_us - this.#anchor_us);
    return Math.max(0, Math.min(this.stage.length_us, used));
  }

  /** New rate from now on; false when it is the old one. */
  turn(rate: number, now_us: number): boolean {
    if (rate === this.#rate) return false;
    this.#used_us = this.used_us(now_us);
    this.#anchor_us = now_us;
    this.#rate = rate;
    return true;
  }

  /** When this rate brings a change: all used, or all given back. */
  due_us(now_us: number): number | undefined {
    const used = this.used_us(now_us);
    if (this.#rate > 0 && !this.spent) return Math.ceil(now_us + (this.stage.length_us - used) / this.#rate);
    if (this.#rate < 0 && this.spent) return Math.ceil(now_us + used / -this.#rate);
    return undefined;
  }

  settle(now_us: number): void {
    this.spent = this.#rate > 0;
    this.#used_us = this.spent ? this.stage.length_us : 0;
    this.#anchor_us = now_us;
  }
}

/**
 * Current limit of a source with a short-time rating: the highest stage that still has time, else the continuous current.
 *
 * A stage that is used up comes back only when all of its time has been given back, evenly over the rest time.
 */
export class OverloadClock {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #rest_us: number;
  readonly #clocks: readonly StageClock[];
  readonly #changed: () => void;

  /** @param changed - called from a timer of its own when the limit has changed. */
  constructor(kernel: Kernel, owner: Id, stages: readonly OverloadStage[], rest_us: number, changed: () => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#rest_us = rest_us;
    this.#clocks = stages.map((stage) => new StageClock(stage));
    this.#changed = changed;
  }

  /** Limit in multiples of the continuous current. */
  get multiple(): number {
    let most = 1;
    for (const { stage, spent } of this.#clocks) {
      if (spent) return most;
      most = Math.max(most, stage.to);
    }
    return most;
  }

  /** Sees the current of a solution, in multiples of the continuous one. */
  see(multiple: number): void {
    const now_us = this.#kernel.now_us;
    for (const clock of this.#clocks) {
      const { from, length_us } = clock.stage;
      const over = multiple > from * (1 + 1e-6);
      const rate = over ? 1 : multiple < from * REST_SHARE ? -length_us / this.#rest_us : 0;
      if (clock.turn(rate, now_us)) this.#arm(clock);
    }
  }

  state(now_us: number): number[] {
    return this.#clocks.flatMap((clock) => [clock.used_us(now_us), clock.spent ? 1 : 0]);
  }

  #arm(clock: StageClock): void {
    if (clock.handle !== undefined) this.#kernel.cancel(clock.handle);
    clock.handle = undefined;
    const due_us = clock.due_us(this.#kernel.now_us);
    if (due_us === undefined) return;
    clock.handle = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, `overload ${clock.stage.name}`, () => {
      clock.handle = undefined;
      clock.settle(this.#kernel.now_us);
      this.#changed();
    });
  }
}
