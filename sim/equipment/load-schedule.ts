import { type Bag, numberOf, type Plain } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import { BY_ITSELF, type Terminals } from './load-body.ts';

/**
 * A timer switch in series with a load: closed for a while from its first instant on, again after each period.
 *
 * It ran before the run began, and goes on through an outage as one with a spring or a battery does.
 */
export class LoadSchedule {
  readonly #at: Terminals;
  readonly #every_us: number;
  readonly #on_us: number;
  readonly #from_us: number;
  readonly #changed: (move: () => void) => void;
  #isClosed: boolean;

  /** @param changed - carries a move of the switch out inside a change of the network */
  constructor(at: Terminals, params: Bag, changed: (move: () => void) => void) {
    this.#at = at;
    this.#every_us = numberOf(params, 'scheduleEvery');
    this.#on_us = Math.min(numberOf(params, 'scheduleOn'), this.#every_us);
    this.#from_us = numberOf(params, 'scheduleFrom');
    this.#changed = changed;
    this.#isClosed = this.#every_us === 0 || this.#phase_us() < this.#on_us;
    if (this.#every_us > 0 && this.#on_us > 0 && this.#on_us < this.#every_us) this.#arm();
  }

  get isClosed(): boolean {
    return this.#isClosed;
  }

  digest(): readonly Plain[] {
    return this.#every_us === 0 ? [] : [this.#isClosed, this.#phase_us()];
  }

  #phase_us(): number {
    const since_us = (this.#at.around.kernel.now_us - this.#from_us) % this.#every_us;
    return since_us < 0 ? since_us + this.#every_us : since_us;
  }

  #arm(): void {
    const { around, id } = this.#at;
    const left_us = (this.#isClosed ? this.#on_us : this.#every_us) - this.#phase_us();
    around.kernel.at((around.kernel.now_us + left_us) as SimUs, 'protection', id, 'schedule', () => {
      this.#changed(() => {
        this.#isClosed = !this.#isClosed;
        around.happened(id, `schedule ${this.#isClosed ? 'closes' : 'opens'}`, BY_ITSELF);
      });
      this.#arm();
    });
  }
}
