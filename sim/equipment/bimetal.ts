import { exp, log } from '../maths.ts';
import type { Id, Plain } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { type SimUs, US_PER_S } from '../units.ts';

/** What is shown of the temperature moves by stairs of this share of the trip, so that a warming breaker costs few frames. */
const STAIR = 0.05;

export interface BimetalSettings {
  /** Rated current, A. */
  readonly rated_A: number;
  /** Ratio of the current that it just bears for ever to the rated one. */
  readonly hold: number;
  readonly tau_s: number;
}

export interface BimetalEvents {
  trips(): void;
  /** The stair that is shown has changed. */
  shows(): void;
}

/**
 * Thermal trip of one pole: dθ/dt = (r² - θ)/τ, r = I/I_n, trips at θ = k²; t = τ ln((r² - θ0)/(r² - k²)).
 *
 * A closed form of (anchor, time since): the anchor moves only when the current changes by bits. Ambient temperature and
 * the second time constant of real elements are left out. Source of the form: first-order thermal model, as in IEC
 * 60255-149 (from memory); the values are parameters.
 */
export class Bimetal {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #settings: BimetalSettings;
  readonly #events: BimetalEvents;
  readonly #trip: number;
  #anchor_us = 0;
  #heat = 0;
  #current_A = 0;
  #stair = 0;
  #tripTimer: number | undefined;
  #stairTimer: number | undefined;

  constructor(kernel: Kernel, owner: Id, settings: BimetalSettings, events: BimetalEvents) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#settings = settings;
    this.#events = events;
    this.#trip = settings.hold * settings.hold;
  }

  /** As if it had carried `preload` of its rated current for ever, and now carried `current_A`. */
  begin(preload: number, current_A: number): void {
    this.#anchor_us = this.#kernel.now_us;
    this.#heat = Math.min(preload * preload, 0.999 * this.#trip);
    this.#current_A = current_A;
    this.#predict();
  }

  /** The current from now on, A rms. */
  carry(current_A: number): void {
    if (current_A === this.#current_A) return;
    this.#heat = this.#heatAt(this.#kernel.now_us);
    this.#anchor_us = this.#kernel.now_us;
    this.#current_A = current_A;
    this.#predict();
  }

  /** Share of the trip temperature in stairs of 0.05, rounded down: what is recorded. */
  get shown(): number {
    return this.#stair * STAIR;
  }

  /** Share of the trip temperature at this instant. */
  get share(): number {
    return this.#heatAt(this.#kernel.now_us) / this.#trip;
  }

  digestState(now_us: number): readonly Plain[] {
    return [this.#heatAt(now_us), this.#current_A];
  }

  #heatAt(at_us: number): number {
    const drive = this.#drive();
    return drive + (this.#heat - drive) * exp(-(at_us - this.#anchor_us) / US_PER_S / this.#settings.tau_s);
  }

  #drive(): number {
    const ratio = this.#current_A / this.#settings.rated_A;
    return ratio * ratio;
  }

  #predict(): void {
    if (this.#tripTimer !== undefined) this.#kernel.cancel(this.#tripTimer);
    this.#tripTimer = undefined;
    if (this.#drive() > this.#trip) {
      this.#tripTimer = this.#at(Math.max(this.#trip, this.#heat), 'trips by heat', () => {
        this.#tripTimer = undefined;
        this.#events.trips();
      });
    }
    const stair = Math.floor(this.#heat / this.#trip / STAIR);
    const changed = stair !== this.#stair;
    this.#stair = stair;
    this.#nextStair();
    if (changed) this.#events.shows();
  }

  #nextStair(): void {
    if (this.#stairTimer !== undefined) this.#kernel.cancel(this.#stairTimer);
    this.#stairTimer = undefined;
    const rises = this.#drive() > this.#heat;
    const bound = (rises ? this.#stair + 1 : this.#stair) * STAIR * this.#trip;
    if (bound === 0) return;
    this.#stairTimer = this.#at(bound, 'stair', () => {
      this.#stairTimer = undefined;
      this.#stair += rises ? 1 : -1;
      this.#nextStair();
      this.#events.shows();
    });
  }

  /** A timer for the instant at which the temperature reaches `bound`, rounded up; none where it never does. */
  #at(bound: number, name: string, fire: () => void): number | undefined {
    const drive = this.#drive();
    const ratio = (drive - this.#heat) / (drive - bound);
    const reaches = (drive > bound && bound >= this.#heat) || (drive < bound && bound <= this.#heat);
    if (!reaches || !(ratio > 0) || !(ratio < Number.POSITIVE_INFINITY)) return undefined;
    const after_us = Math.ceil(this.#settings.tau_s * log(ratio) * US_PER_S);
    const due_us = Math.max(this.#anchor_us + after_us, this.#kernel.now_us);
    return this.#kernel.at(due_us as SimUs, 'protection', this.#owner, name, fire);
  }
}
