import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import type { Id, Plain } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { LEG_V, LINE_V, type SimUs } from '../units.ts';
import { COMPRESSOR, RunningMotor, slipAt, steadyMotor } from './running-motor.ts';

/** Motors that have stopped start again once the voltage has been back above this for their delay, pu. */
const STARTS_AGAIN = 0.9;

/** Active power that the motor takes at nominal voltage, pu of its rating. */
const MOTOR_TAKES = (() => {
  const { i } = steadyMotor(COMPRESSOR, 1, slipAt(COMPRESSOR, 1)!);
  return i[0];
})();

export interface NeighboursSettings {
  readonly powerFactor: number;
  /** Share of 1. */
  readonly motorShare: number;
  readonly motorRestart_us: number;
}

/**
 * The other houses on the service transformer: a constant impedance on each leg, alike, and motors across both.
 *
 * Power in W at nominal voltage. A motor that has come to a stop starts again after a delay, all at once.
 */
export class Neighbours {
  readonly #settings: NeighboursSettings;
  readonly #at: WiredBus;
  readonly #owner: Id;
  readonly #kernel: Kernel;
  readonly #change: (mutate: () => void) => void;
  readonly motor: RunningMotor;
  power_W: number;
  #restart: number | undefined;

  constructor(
    settings: NeighboursSettings,
    power_W: number,
    at: WiredBus,
    owner: Id,
    kernel: Kernel,
    change: (mutate: () => void) => void,
  ) {
    this.#settings = settings;
    this.#at = at;
    this.#owner = owner;
    this.#kernel = kernel;
    this.#change = change;
    this.power_W = power_W;
    this.motor = new RunningMotor(COMPRESSOR, at.L1, at.L2, this.#motorRating_VA());
  }

  /** Inside `change`. */
  setPower(power_W: number): void {
    this.power_W = power_W;
    this.motor.rated_VA = this.#motorRating_VA();
    this.motor.wake();
    if (this.motor.rated_VA === 0) this.motor.stop();
  }

  nominal(): { readonly g1_S: number; readonly g2_S: number; readonly g12_S: number } {
    const g_S = this.#static_W() / 2 / (LEG_V * LEG_V);
    const motor_W = this.motor.running ? this.power_W * this.#settings.motorShare : 0;
    return { g1_S: g_S, g2_S: g_S, g12_S: motor_W / (LINE_V * LINE_V) };
  }

  settle(net: PhasorNet): void {
    if (this.motor.rated_VA > 0) this.motor.settle(net);
  }

  stamp(net: PhasorNet): void {
    const g_S = this.#static_W() / 2 / (LEG_V * LEG_V);
    const { powerFactor } = this.#settings;
    const inductive_S = (g_S * Math.sqrt(1 - powerFactor * powerFactor)) / powerFactor;
    if (g_S > 0) {
      net.shunt(this.#at.L1, this.#at.N, g_S, 0, inductive_S);
      net.shunt(this.#at.N, this.#at.L2, g_S, 0, inductive_S);
    }
    this.motor.stamp(net);
  }

  accept(net: PhasorNet, h_s: number): boolean {
    const moving = this.motor.accept(net, h_s);
    if (!this.motor.running && this.motor.rated_VA > 0) this.#watch(net);
    return moving;
  }

  digest(): readonly Plain[] {
    return [this.power_W, this.motor.running, this.motor.speed, this.motor.flux];
  }

  #watch(net: PhasorNet): void {
    const re = net.re(this.#at.L1) - net.re(this.#at.L2);
    const im = net.im(this.#at.L1) - net.im(this.#at.L2);
    const back = Math.sqrt(re * re + im * im) >= STARTS_AGAIN * LINE_V;
    if (!back && this.#restart !== undefined) {
      this.#kernel.cancel(this.#restart);
      this.#restart = undefined;
    } else if (back && this.#restart === undefined) {
      const due_us = (this.#kernel.now_us + this.#settings.motorRestart_us) as SimUs;
      this.#restart = this.#kernel.at(due_us, 'protection', this.#owner, 'motors start again', () => {
        this.#restart = undefined;
        this.#change(() => this.motor.start());
      });
    }
  }

  #static_W(): number {
    return this.power_W * (1 - this.#settings.motorShare);
  }

  #motorRating_VA(): number {
    return (this.power_W * this.#settings.motorShare) / MOTOR_TAKES;
  }
}
