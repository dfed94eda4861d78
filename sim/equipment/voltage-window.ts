import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import type { SimUs } from '../units.ts';

export interface WindowSettings {
  readonly name: string;
  /** pu of nominal, Hz. */
  readonly voltage: readonly [low: number, high: number];
  readonly frequency_Hz: readonly [low: number, high: number];
  /** Inside for so long without a break, it is good. */
  readonly wait_us: number;
}

/** Good once voltage and frequency have been inside for a time without a break; bad at once when either leaves. */
export class VoltageWindow {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #settings: WindowSettings;
  readonly #changed: () => void;
  #inside = true;
  #timer: number | undefined;
  /** Starts as if it had always been so. */
  good = true;

  /** @param changed - it has become good, or is no longer; called from a timer of its own */
  constructor(kernel: Kernel, owner: Id, settings: WindowSettings, changed: () => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#settings = settings;
    this.#changed = changed;
  }

  see(voltage_pu: number, f_Hz: number): void {
    const { voltage, frequency_Hz, wait_us, name } = this.#settings;
    const inside =
      voltage_pu >= voltage[0] && voltage_pu <= voltage[1] && f_Hz >= frequency_Hz[0] && f_Hz <= frequency_Hz[1];
    if (inside === this.#inside) return;
    this.#inside = inside;
    this.#wait(inside ? wait_us : 0, name, inside);
    if (!inside) this.good = false;
  }

  /** A full wait is owed again, as after a trip. */
  startOver(): void {
    this.good = false;
    if (this.#inside) this.#wait(this.#settings.wait_us, this.#settings.name, true);
  }

  #wait(wait_us: number, name: string, good: boolean): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    const due_us = (this.#kernel.now_us + wait_us) as SimUs;
    this.#timer = this.#kernel.at(due_us, 'protection', this.#owner, name, () => {
      this.#timer = undefined;
      this.good = good;
      this.#changed();
    });
  }

  state(): number[] {
    return [this.#inside ? 1 : 0, this.good ? 1 : 0];
  }
}
