import type { PhasorNet } from '../network/device.ts';
import { NOMINAL_rad_per_s } from '../network/frame.ts';
import { type Bag, numberOf, type Plain } from '../site-description.ts';
import type { Unit } from '../telemetry.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import { BY_ITSELF, type LoadBody, share, type Terminals } from './load-body.ts';
import { RateClock } from './rate-clock.ts';
import { type MotorData, RunningMotor, slipAt, steadyMotor } from './running-motor.ts';

const MODES = ['off', 'runs', 'starts', 'stalled', 'tripped', 'stopped'] as const;
type Mode = (typeof MODES)[number];

/** Below this there is no voltage for a motor at rest, pu (assumed). */
const SPEAKS = 0.05;
/** A motor that takes less than this of its rating is driven by nobody, pu (assumed). */
const TAKES = 0.02;
/** Flux below this share of nominal is none. */
const GONE = 1e-9;
/** Accelerating torque goes as u² less this (assumed: it needs 0.59 pu to get going). */
const BREAKAWAY = 0.35;

/** Share of the way to full speed in a second at u pu: (u² - 0.35)/0.65 over the time at nominal voltage; 0 below 0.59 pu. */
export function accelerationRate(u: number, atNominal_s: number): number {
  return Math.max(0, (u * u - BREAKAWAY) / (1 - BREAKAWAY)) / atNominal_s;
}

export function motorData(params: Bag): MotorData {
  return {
    rs: numberOf(params, 'statorResistance'),
    transientX: numberOf(params, 'transientReactance'),
    x: numberOf(params, 'reactance'),
    t0_s: numberOf(params, 'rotorTime') / US_PER_S,
    inertia_s: numberOf(params, 'inertia'),
    torque: numberOf(params, 'torque'),
  };
}

/**
 * A single-phase motor with a compressor on it: running it is the third-order machine, else a locked rotor R + jX.
 *
 * It stalls when the voltage has been low for a while as it takes power; stalled it gets going only above `freeAbove`,
 * because of the pressure; a thermal protector opens after locked-rotor I²t. Cut off it keeps its part alive until its
 * flux is gone or its rotor stands.
 */
export class MotorLoad implements LoadBody {
  readonly states = MODES;
  readonly extras = [{ name: 'speed', unit: '1' as Unit }];
  readonly #at: Terminals;
  readonly #params: Bag;
  readonly #data: MotorData;
  readonly #motor: RunningMotor;
  readonly #rated_VA: number;
  readonly #base_ohm: number;
  readonly #speeding: RateClock;
  readonly #heat: RateClock;
  #mode: Mode;
  /** From when it has stood with its pressure leaking away. */
  #stands_us = Number.NEGATIVE_INFINITY;
  /** When a protector that has tripped closes again. */
  #closes_us = 0;
  #lastU = 0;
  #stall: number | undefined;
  #turning: number | undefined;
  #p_W = 0;

  constructor(at: Terminals, params: Bag, power_W: number, connected: boolean) {
    this.#at = at;
    this.#params = params;
    this.#data = motorData(params);
    this.#rated_VA = Math.max(1, power_W / this.#data.torque);
    this.#base_ohm = (at.nominal_V * at.nominal_V) / this.#rated_VA;
    this.#motor = new RunningMotor(this.#data, at.a, at.b, this.#rated_VA, at.nominal_V, GONE);
    this.#mode = connected ? 'stopped' : 'off';
    const { kernel } = at.around;
    this.#speeding = new RateClock(kernel, at.id, 'at speed', () => this.#become('runs', 'motor runs'));
    this.#heat = new RateClock(kernel, at.id, 'protector', () => this.#trip());
  }

  stamp(net: PhasorNet): void {
    if (this.#mode === 'runs') this.#motor.stamp(net);
    else if (this.#mode !== 'tripped')
      net.series(this.#at.a, this.#at.b, this.#locked('Resistance'), this.#locked('Reactance'));
  }

  drives(): boolean {
    return this.#mode === 'runs' && this.#motor.drives();
  }

  follow(net: PhasorNet): void {
    if (this.#mode === 'runs') this.#motor.follow(net);
  }

  rebase(by_rad: number): void {
    this.#motor.rebase(by_rad);
  }

  settle(net: PhasorNet): void {
    if (this.#mode === 'off') return;
    this.#motor.settle(net);
    this.#mode = this.#motor.running ? 'runs' : 'stopped';
    this.#note(net);
  }

  accept(net: PhasorNet, h_s: number): boolean {
    if (this.#mode === 'off') {
      this.#p_W = 0;
      this.#warm(0);
      return false;
    }
    const moving = this.#mode === 'runs' && this.#run(net, h_s);
    const u = share(net, this.#at);
    if (this.#mode === 'runs') this.#watchStall(u, h_s);
    else if (!moving) this.#watchRest(u); // What it has just stopped under is its own voltage.
    this.#note(net);
    return moving;
  }

  switched(connected: boolean, free: boolean): void {
    this.#forget();
    if (connected) {
      this.#mode = free || this.#isFree() ? 'starts' : 'stalled';
      this.#speeding.stand(0);
      if (this.#at.around.kernel.now_us >= this.#closes_us) return;
      this.#mode = 'tripped';
      this.#awaitProtector();
      return;
    }
    if (this.#mode === 'runs' || this.#mode === 'stalled') this.#stands_us = this.#at.around.kernel.now_us;
    this.#motor.stop();
    this.#mode = 'off';
    this.#speeding.stand(0);
  }

  /** At its shaft: its load torque changes, its rating does not. */
  setPower(power_W: number): void {
    this.#motor.torque = power_W / this.#rated_VA;
    this.#motor.wake();
  }

  power_W(): number {
    return this.#p_W;
  }

  nominal_S(): number {
    const data = { ...this.#data, torque: this.#motor.torque };
    const slip = this.#mode === 'runs' ? slipAt(data, 1) : undefined;
    if (slip !== undefined) return steadyMotor(data, 1, slip).i[0] / this.#base_ohm;
    return this.#mode === 'tripped' || this.#mode === 'off' ? 0 : this.#lockedConductance_S(1);
  }

  state(): number {
    return MODES.indexOf(this.#mode);
  }

  extra(): number {
    return this.#mode === 'runs' ? this.#motor.speed : 0;
  }

  digest(now_us: number): readonly Plain[] {
    const stands = this.#stands_us === Number.NEGATIVE_INFINITY ? -1 : now_us - this.#stands_us;
    return [this.#mode, stands, this.#speeding.valueAt(now_us), this.#heat.valueAt(now_us), ...this.#motor.digest()];
  }

  #run(net: PhasorNet, h_s: number): boolean {
    const moving = this.#motor.accept(net, h_s);
    this.#warm(0);
    if (this.#motor.running) return moving;
    this.#forget();
    this.#stands_us = this.#at.around.kernel.now_us;
    this.#mode = 'stopped';
    return true;
  }

  /** Low while it takes power: a motor that runs down on its own flux gives it. */
  #watchStall(u: number, h_s: number): void {
    const { kernel } = this.#at.around;
    const limit = numberOf(this.#params, 'stallBelow');
    if (!(u < limit && this.#motor.power_W > TAKES * this.#rated_VA)) {
      if (this.#stall !== undefined) kernel.cancel(this.#stall);
      this.#stall = undefined;
      return;
    }
    if (this.#stall !== undefined) return;
    const since = this.#lastU > limit ? (limit - u) / (this.#lastU - u) : 0;
    const from_us = kernel.now_us - since * h_s * US_PER_S;
    const due_us = Math.max(kernel.now_us, Math.ceil(from_us + numberOf(this.#params, 'stallTime')));
    this.#stall = kernel.at(due_us as SimUs, 'protection', this.#at.id, 'stall', () =>
      this.#become('stalled', 'motor stalls'),
    );
  }

  #watchRest(u: number): void {
    const { kernel } = this.#at.around;
    this.#warm(this.#mode === 'tripped' ? 0 : u * u);
    const dark = u < SPEAKS || this.#at.around.level().partAt(this.#at.bus).kind === 'decaying';
    if (this.#mode === 'starts') {
      this.#speeding.turn(accelerationRate(u, numberOf(this.#params, 'acceleration') / US_PER_S));
    }
    if (dark && (this.#mode === 'starts' || this.#mode === 'stalled')) {
      this.#mode = 'stopped'; // The same locked rotor; only its pressure leaks away from now on.
      this.#stands_us = kernel.now_us;
      this.#speeding.stand(0);
    }
    const goes =
      (this.#mode === 'stopped' && !dark) || (this.#mode === 'stalled' && u > numberOf(this.#params, 'freeAbove'));
    if (!goes || this.#turning !== undefined) return;
    const to: Mode = this.#mode === 'stalled' || this.#isFree() ? 'starts' : 'stalled';
    this.#turning = kernel.at(kernel.now_us, 'protection', this.#at.id, to, () =>
      this.#become(to, `motor ${to === 'starts' ? 'starts' : 'stalls'}`),
    );
  }

  #become(mode: Mode, did: string): void {
    const { around, id, bus } = this.#at;
    around.change(() => {
      this.#forget();
      around.happened(id, did, BY_ITSELF);
      this.#mode = mode;
      this.#speeding.stand(0);
      if (mode !== 'runs') {
        this.#motor.stop();
        return;
      }
      this.#motor.settle(around.level().partAt(bus));
      if (!this.#motor.running) this.#mode = 'stalled';
    });
  }

  #trip(): void {
    const { now_us } = this.#at.around.kernel;
    this.#stands_us = now_us;
    this.#become('tripped', 'motor trips');
    this.#closes_us = now_us + numberOf(this.#params, 'protectorReset');
    this.#awaitProtector();
  }

  #awaitProtector(): void {
    this.#turning = this.#at.around.kernel.at(this.#closes_us as SimUs, 'protection', this.#at.id, 'protector', () => {
      this.#heat.stand(0);
      const free = this.#isFree();
      this.#become(free ? 'starts' : 'stalled', free ? 'motor starts' : 'motor stalls');
    });
  }

  /** Heat of the protector: I²t against that of the locked rotor at nominal voltage; it cools evenly over its reset time. */
  #warm(u2: number): void {
    if (u2 > 0) this.#heat.turn(u2 / (numberOf(this.#params, 'protectorTime') / US_PER_S));
    else this.#heat.turn(-1 / Math.max(1e-6, numberOf(this.#params, 'protectorReset') / US_PER_S));
  }

  #isFree(): boolean {
    return this.#at.around.kernel.now_us - this.#stands_us >= numberOf(this.#params, 'equalise');
  }

  #note(net: PhasorNet): void {
    const u = share(net, this.#at);
    this.#lastU = u;
    const volts_V = u * this.#at.nominal_V;
    const locked_S = this.#mode === 'tripped' ? 0 : this.#lockedConductance_S(net.w / NOMINAL_rad_per_s);
    this.#p_W = this.#mode === 'runs' ? this.#motor.power_W : volts_V * volts_V * locked_S;
  }

  #locked(part: 'Resistance' | 'Reactance'): number {
    return numberOf(this.#params, `locked${part}`) * this.#base_ohm;
  }

  #lockedConductance_S(ratio: number): number {
    const r_ohm = this.#locked('Resistance');
    const x_ohm = this.#locked('Reactance') * ratio;
    return r_ohm / (r_ohm * r_ohm + x_ohm * x_ohm);
  }

  #forget(): void {
    const { kernel } = this.#at.around;
    if (this.#stall !== undefined) kernel.cancel(this.#stall);
    if (this.#turning !== undefined) kernel.cancel(this.#turning);
    this.#stall = undefined;
    this.#turning = undefined;
  }
}
