import { assert } from '../check.ts';
import type { PhasorNet } from '../network/device.ts';
import { type Bag, numberOf, type Plain } from '../site-description.ts';
import { LINE_V, type SimUs, US_PER_S } from '../units.ts';
import { BY_ITSELF, type LoadBody, share, type Terminals } from './load-body.ts';
import { type MotorData, RunningMotor } from './running-motor.ts';

const STATES = ['standing', 'starting', 'running', 'locked', 'protector open'] as const;

/**
 * A single-phase motor across the legs: at standstill a locked-rotor branch, running the third-order motor.
 *
 * It gets going where the voltage is above `freeAbove`, or freely after standing; it stalls below `stallBelow`.
 */
export class MotorLoad implements LoadBody {
  readonly states = STATES;
  readonly #at: Terminals;
  readonly #motor: RunningMotor;
  readonly #params: Bag;
  #state: (typeof STATES)[number];
  #rated_VA: number;
  #power_W: number;
  #timer: number | undefined;
  #lowTimer: number | undefined;

  constructor(at: Terminals, params: Bag, power_W: number, connected: boolean) {
    assert(at.nominal_V === LINE_V, 'a motor stands across the legs');
    this.#at = at;
    this.#params = params;
    this.#power_W = power_W;
    this.#rated_VA = power_W / numberOf(params, 'torque');
    const data: MotorData = {
      rs: numberOf(params, 'statorResistance'),
      transientX: numberOf(params, 'transientReactance'),
      x: numberOf(params, 'reactance'),
      t0_s: numberOf(params, 'rotorTime') / US_PER_S,
      inertia_s: numberOf(params, 'inertia'),
      torque: numberOf(params, 'torque'),
    };
    this.#motor = new RunningMotor(data, at.a, at.b, this.#rated_VA);
    this.#state = connected ? 'running' : 'standing';
  }

  state(): number {
    return STATES.indexOf(this.#state);
  }

  stamp(net: PhasorNet): void {
    if (this.#state === 'running') this.#motor.stamp(net);
    else if (this.#state === 'starting' || this.#state === 'locked') {
      const base_ohm = (LINE_V * LINE_V) / this.#rated_VA;
      net.series(
        this.#at.a,
        this.#at.b,
        base_ohm * numberOf(this.#params, 'lockedResistance'),
        base_ohm * numberOf(this.#params, 'lockedReactance'),
      );
    }
  }

  settle(net: PhasorNet): void {
    if (this.#state === 'running') this.#motor.settle(net);
    if (this.#state === 'running' && !this.#motor.running) this.#state = 'locked';
  }

  accept(net: PhasorNet, h_s: number): boolean {
    if (this.#state === 'running') {
      const moving = this.#motor.accept(net, h_s);
      const u = share(net, this.#at);
      if (!this.#motor.running) {
        this.#go('standing');
        return true;
      }
      this.#watchLow(u);
      return moving;
    }
    if (this.#state === 'locked' && share(net, this.#at) > numberOf(this.#params, 'freeAbove')) this.#begin();
    return false;
  }

  #watchLow(u: number): void {
    const low = u < numberOf(this.#params, 'stallBelow') && u > 0.05;
    if (low === (this.#lowTimer !== undefined)) return;
    const { kernel } = this.#at.around;
    if (!low) {
      kernel.cancel(this.#lowTimer!);
      this.#lowTimer = undefined;
      return;
    }
    const due_us = kernel.now_us + numberOf(this.#params, 'stallTime');
    this.#lowTimer = kernel.at(due_us as SimUs, 'protection', this.#at.id, 'stall', () => {
      this.#lowTimer = undefined;
      this.#at.around.change(() => {
        this.#motor.stop();
        this.#go('locked');
        this.#at.around.happened(this.#at.id, 'stalls', BY_ITSELF);
      });
    });
  }

  #begin(): void {
    if (this.#timer !== undefined) return;
    const { kernel, change } = this.#at.around;
    this.#go('starting');
    const due_us = kernel.now_us + numberOf(this.#params, 'acceleration');
    this.#timer = kernel.at(due_us as SimUs, 'protection', this.#at.id, 'up to speed', () => {
      this.#timer = undefined;
      change(() => {
        this.#go('running');
        this.#motor.start();
        this.#at.around.happened(this.#at.id, 'runs', BY_ITSELF);
      });
    });
  }

  #go(state: (typeof STATES)[number]): void {
    this.#state = state;
  }

  follow(net: PhasorNet): void {
    if (this.#state === 'running') this.#motor.follow(net);
  }

  drives(): boolean {
    return this.#state === 'running' && this.#motor.drives();
  }

  rebase(by_rad: number): void {
    this.#motor.rebase(by_rad);
  }

  switched(connected: boolean): void {
    const { kernel } = this.#at.around;
    if (this.#timer !== undefined) kernel.cancel(this.#timer);
    this.#timer = undefined;
    this.#motor.stop();
    if (connected) this.#begin();
    else this.#go('standing');
  }

  setPower(power_W: number): void {
    this.#power_W = power_W;
    this.#rated_VA = power_W / numberOf(this.#params, 'torque');
    this.#motor.rated_VA = this.#rated_VA;
  }

  power_W(_net: PhasorNet): number {
    return this.#state === 'standing' || this.#state === 'protector open' ? 0 : this.#power_W;
  }

  nominal_S(): number {
    return this.#state === 'standing' || this.#state === 'protector open' ? 0 : this.#power_W / (LINE_V * LINE_V);
  }

  digest(): readonly Plain[] {
    return [this.#state, this.#motor.speed, this.#motor.flux];
  }
}
