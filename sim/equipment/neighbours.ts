import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import type { Id, Plain } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { LEG_V, LINE_V } from '../units.ts';
import { MotorGroup, type MotorSettings } from './motor-group.ts';
import { COMPRESSOR, slipAt, steadyMotor } from './running-motor.ts';

/** Active power that the motor takes at nominal voltage, pu of its rating. */
const MOTOR_TAKES = (() => {
  const { i } = steadyMotor(COMPRESSOR, 1, slipAt(COMPRESSOR, 1)!);
  return i[0];
})();

export interface NeighboursSettings {
  readonly powerFactor: number;
  /** Share of 1. */
  readonly motorShare: number;
  readonly motors: MotorSettings;
}

/**
 * The other houses on the service transformer: a constant impedance on each leg, alike, and motors across both.
 *
 * Power in W at nominal voltage. The motors are so many equal groups, each with its own rotor, contactor and timer.
 */
export class Neighbours {
  readonly #settings: NeighboursSettings;
  readonly #at: WiredBus;
  readonly #groups: readonly MotorGroup[];
  power_W: number;

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
    this.power_W = power_W;
    const count = settings.motorShare > 0 ? settings.motors.groups : 0;
    this.#groups = Array.from(
      { length: count },
      (_, index) => new MotorGroup(settings.motors, index, at, owner, kernel, change),
    );
    for (const { motor } of this.#groups) motor.rated_VA = this.#groupRating_VA();
  }

  /** Inside `change`. */
  setPower(power_W: number): void {
    this.power_W = power_W;
    for (const { motor } of this.#groups) {
      motor.rated_VA = this.#groupRating_VA();
      motor.wake();
      if (motor.rated_VA === 0) motor.stop();
    }
  }

  nominal(): { readonly g1_S: number; readonly g2_S: number; readonly g12_S: number } {
    const g_S = this.#static_W() / 2 / (LEG_V * LEG_V);
    const running = this.#groups.filter(({ motor }) => motor.running).length;
    const motor_W = running === 0 ? 0 : (this.#motors_W() * running) / this.#groups.length;
    return { g1_S: g_S, g2_S: g_S, g12_S: motor_W / (LINE_V * LINE_V) };
  }

  drives(): boolean {
    return this.#groups.some(({ motor }) => motor.drives());
  }

  follow(net: PhasorNet): void {
    for (const { motor } of this.#groups) motor.follow(net);
  }

  rebase(by_rad: number): void {
    for (const { motor } of this.#groups) motor.rebase(by_rad);
  }

  settle(net: PhasorNet): void {
    for (const { motor } of this.#groups) if (motor.rated_VA > 0) motor.settle(net);
  }

  stamp(net: PhasorNet): void {
    const g_S = this.#static_W() / 2 / (LEG_V * LEG_V);
    const { powerFactor } = this.#settings;
    const inductive_S = (g_S * Math.sqrt(1 - powerFactor * powerFactor)) / powerFactor;
    if (g_S > 0) {
      net.shunt(this.#at.L1, this.#at.N, g_S, 0, inductive_S);
      net.shunt(this.#at.N, this.#at.L2, g_S, 0, inductive_S);
    }
    for (const { motor } of this.#groups) motor.stamp(net);
  }

  accept(net: PhasorNet, h_s: number): boolean {
    let moving = false;
    for (const group of this.#groups) if (group.accept(net, h_s)) moving = true;
    return moving;
  }

  digest(now_us: number): readonly Plain[] {
    return [this.power_W, ...this.#groups.flatMap((group) => group.digest(now_us))];
  }

  #static_W(): number {
    return this.power_W * (1 - this.#settings.motorShare);
  }

  #motors_W(): number {
    return this.power_W * this.#settings.motorShare;
  }

  #groupRating_VA(): number {
    return this.#motors_W() / this.#groups.length / MOTOR_TAKES;
  }
}
