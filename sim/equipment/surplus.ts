import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import type { SimUs } from '../units.ts';

export interface SurplusSettings {
  /** The frequency is never lifted above this, Hz. */
  readonly highest_Hz: number;
  /** Shortest time for the way from nominal to the highest, µs: slow against the inverters' own response. */
  readonly range_us: number;
  readonly step_us: number;
  /** Excess at which it goes at full speed, and what is too little to act on, W. */
  readonly full_W: number;
  readonly band_W: number;
}

/**
 * Lifts the island's frequency while more power comes in than the battery takes, and lets it down again: a staircase of
 * df = (highest - set)(step/range) clamp(excess/full). Quiet inside the band and at both ends.
 */
export class Surplus {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #settings: SurplusSettings;
  readonly #apply: () => void;
  #set_Hz = 60;
  #lift_Hz = 0;
  #excess_W = 0;
  #timer: number | undefined;

  /** @param apply - the lift has changed; called from a timer of its own */
  constructor(kernel: Kernel, owner: Id, settings: SurplusSettings, apply: () => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#settings = settings;
    this.#apply = apply;
  }

  get lift_Hz(): number {
    return this.#lift_Hz;
  }

  /** A new set frequency keeps the lift, inside what is left of the range. */
  base(set_Hz: number): void {
    this.#set_Hz = set_Hz;
    this.#lift_Hz = Math.min(this.#lift_Hz, this.#range_Hz);
  }

  get #range_Hz(): number {
    return Math.max(0, this.#settings.highest_Hz - this.#set_Hz);
  }

  /** Excess of the last solution, W: what comes in less what the battery may take; negative: room. */
  see(excess_W: number): void {
    this.#excess_W = excess_W;
    if (this.#timer === undefined && this.#wants()) this.#arm();
  }

  reset(): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
    this.#lift_Hz = 0;
    this.#excess_W = 0;
  }

  #wants(): boolean {
    const { band_W } = this.#settings;
    if (this.#excess_W > band_W) return this.#lift_Hz < this.#range_Hz;
    return this.#excess_W < -band_W && this.#lift_Hz > 0;
  }

  #arm(): void {
    const due_us = this.#kernel.now_us + this.#settings.step_us;
    this.#timer = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, 'surplus', () => {
      this.#timer = undefined;
      if (!this.#wants()) return;
      const { range_us, step_us, full_W } = this.#settings;
      const share = Math.max(-1, Math.min(1, this.#excess_W / full_W));
      const lift_Hz = this.#lift_Hz + (this.#range_Hz * step_us * share) / range_us;
      this.#lift_Hz = Math.max(0, Math.min(this.#range_Hz, lift_Hz));
      this.#apply();
      if (this.#timer === undefined && this.#wants()) this.#arm();
    });
  }

  state(): number[] {
    return [this.#lift_Hz, this.#excess_W, this.#timer === undefined ? 0 : 1];
  }
}
