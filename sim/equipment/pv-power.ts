import { type Bag, numberOf } from '../site-description.ts';
import { US_PER_S } from '../units.ts';
import type { Surroundings } from './piece.ts';
import { Droop } from './pv-droop.ts';
import { categorySays } from './pv-protection.ts';
import { Stairs } from './stairs.ts';

/** Categories of the 2018 edition: these know a ramp and a droop. */
const OF_2018 = ['I', 'II', 'III'];

/** Told inside a change whenever the power moves by itself; `ramped` when the ramp after entering service is done. */
export interface PowerListener {
  moved(): void;
  ramped(): void;
}

/** What the inverter may give: sun, ramp after entering service, droop, return from momentary cessation. Staircases all. */
export class PvPower {
  readonly ramp: Stairs;
  readonly recovery: Stairs;
  readonly #droop: Droop | undefined;
  irradiance: number;
  #drop = 0;
  /** Power just before the droop began to hold some back, pu of rated. */
  #beforeDroop = 0;

  constructor(around: Surroundings, id: string, params: Bag, listener: PowerListener) {
    const { kernel } = around;
    this.irradiance = numberOf(around.start, 'irradiance');
    // A random extra delay stands in place of the ramp.
    const ramps = categorySays(params, 'ramp', OF_2018) && numberOf(params, 'randomDelay') === 0;
    const moved = (): void => around.change(() => listener.moved());
    this.ramp = new Stairs(kernel, id, 'ramp', ramps ? numberOf(params, 'rampTime') : 0, (share) => {
      moved();
      if (share === 1) listener.ramped();
    });
    this.recovery = new Stairs(kernel, id, 'recovery', numberOf(params, 'recoveryTime'), moved);
    if (!categorySays(params, 'droop', OF_2018)) return;
    const settings = {
      deadBand_Hz: numberOf(params, 'droopDeadBand'),
      slope: numberOf(params, 'droopSlope'),
      response_s: numberOf(params, 'droopResponse') / US_PER_S,
    };
    this.#droop = new Droop(kernel, id, settings, (drop) =>
      around.change(() => {
        if (this.#drop === 0) this.#beforeDroop = this.#free();
        this.#drop = drop;
        listener.moved();
      }),
    );
  }

  /** pu of rated, 0 to 1. */
  get share(): number {
    const free = this.#free();
    return this.#drop > 0 ? Math.max(0, Math.min(free, this.#beforeDroop - this.#drop)) : free;
  }

  /** Takes the measured frequency of a unit in service. */
  drive(f_Hz: number): void {
    this.#droop?.drive(f_Hz);
  }

  /** It has ceased for good: what moved stops. */
  stop(): void {
    this.ramp.stop();
    this.recovery.stop();
    this.#droop?.reset();
    this.#drop = 0;
  }

  digest(now_us: number): readonly number[] {
    const slow = this.#droop?.digest(now_us) ?? [];
    return [this.ramp.share, this.recovery.share, this.#drop, this.#beforeDroop, this.irradiance, ...slow];
  }

  #free(): number {
    return Math.min(this.irradiance, this.ramp.share);
  }
}
