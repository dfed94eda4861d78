import { TWO_PI } from '../maths.ts';
import type { Lead, PhasorDevice, PhasorNet } from '../network/device.ts';
import { History } from '../network/window.ts';
import type { WiredBus } from '../network/wiring.ts';
import { LINE_V } from '../units.ts';
import type { FollowingCore } from './following.ts';
import type { FormingCore } from './forming.ts';
import { Lag } from './lag.ts';
import { Ramp } from './ramp.ts';
import type { Work } from './vehicle-chart.ts';

/** What it gives and sees under the last solution. Powers are positive into the site. */
export interface VehicleReading {
  p_W: number;
  q_var: number;
  i1_A: number;
  i2_A: number;
  /** Line to line at its terminals, V rms, and the same over one cycle. */
  u_V: number;
  uCycle_V: number;
  f_Hz: number;
  /** Voltage reference of the forming core over 240 V. */
  reference: number;
}

export interface VehicleDeviceSettings {
  readonly rated_W: number;
  readonly chargeLag_s: number;
  readonly chargeCutOut: number;
  readonly droopP: number;
  readonly droopQ: number;
  readonly powerFilter_Hz: number;
}

/** What the piece does with each new solution: protections, battery, windows. Must not touch the network. */
export interface VehicleWatcher {
  solved(reading: VehicleReading, before: VehicleReading, h_s: number, net: PhasorNet): void;
  /** Noise of the measured frequency, Hz, where nobody forms. */
  noise_Hz(net: PhasorNet): number;
}

/**
 * The electrical half of a vehicle: a lagged conductance while it charges, a following core while it discharges, a
 * forming core while it makes the voltage. The supply contactor is `joined`; nothing is stamped while it is open.
 *
 * Charge is a load and not a negative current: g lags towards min(P/u², I_lim/u), so it cannot push a dead bus around.
 */
export class VehicleDevice implements PhasorDevice {
  readonly bus: number;
  readonly forming: FormingCore;
  readonly following: FollowingCore;
  readonly #wired: WiredBus;
  readonly #settings: VehicleDeviceSettings;
  readonly #watcher: VehicleWatcher;
  joined = false;
  work: Work | undefined;
  /** Share of the reference voltage, by time. */
  soft = new Ramp(0, 0, 0, 0);
  /** Island set values. */
  setVoltage_V = LINE_V;
  setFrequency_Hz = 60;
  /** Lift over the set frequency, to curtail others, Hz. */
  lift_Hz = 0;
  /** Charge or discharge power, W, by time. */
  power = new Ramp(0, 0, 0, 0);
  /** The same at the last solution: what is recorded must not move between solutions. */
  solvedPower_W = 0;
  currentLimit_A = Number.POSITIVE_INFINITY;
  readonly #conductance: Lag;
  readonly #droopP: Lag;
  readonly #droopQ: Lag;
  #past = new History(0);
  reading: VehicleReading = { p_W: 0, q_var: 0, i1_A: 0, i2_A: 0, u_V: 0, uCycle_V: 0, f_Hz: 60, reference: 0 };

  constructor(
    wired: WiredBus,
    forming: FormingCore,
    following: FollowingCore,
    settings: VehicleDeviceSettings,
    watcher: VehicleWatcher,
  ) {
    this.bus = wired.index;
    this.#wired = wired;
    this.forming = forming;
    this.following = following;
    this.#settings = settings;
    this.#watcher = watcher;
    this.#conductance = new Lag(0, settings.chargeLag_s, settings.rated_W / (LINE_V * LINE_V));
    const tau_s = 1 / (TWO_PI * settings.powerFilter_Hz);
    this.#droopP = new Lag(0, tau_s, settings.rated_W);
    this.#droopQ = new Lag(0, tau_s, settings.rated_W);
  }

  get makesVoltage(): boolean {
    return this.joined && (this.work === 'forming' || this.work === 'testing');
  }

  /** Conductance of the charge, S. */
  get conductance_S(): number {
    return this.joined && this.work === 'charging' ? this.#conductance.value : 0;
  }

  /** Ends whatever it does, at once. */
  stop(): void {
    this.work = undefined;
    this.power = new Ramp(0, 0, 0, 0);
    this.soft = new Ramp(0, 0, 0, 0);
    this.#conductance.value = 0;
    this.following.gate = 0;
    this.following.connected = false;
    this.forming.connected = false;
    this.#droopP.value = 0;
    this.#droopQ.value = 0;
  }

  /** Sets conductance, loop and filters to the present solution, so that a run can start settled. */
  settle(net: PhasorNet, angle_rad: number): void {
    const u_V = this.#size(net);
    this.#past = new History(u_V);
    if (this.work === 'charging') this.#conductance.value = this.#chargeTarget_S(u_V, net.now_us);
    if (this.work === 'discharging') this.following.settle(angle_rad, u_V, net.w);
    if (this.work === 'forming') {
      const { p_W, q_var } = this.forming.output(net);
      this.#droopP.value = p_W;
      this.#droopQ.value = q_var;
      this.tune(net.now_us);
    }
    this.#read(net);
  }

  begin(): void {
    this.forming.begin();
    this.following.begin();
  }

  lead(): Lead | undefined {
    if (!this.makesVoltage) return undefined;
    return { kind: 'forming', frame: this.forming.frame, rating: this.#settings.rated_W };
  }

  drives(): boolean {
    return this.joined && this.work === 'discharging' && this.following.drives();
  }

  follow(net: PhasorNet): void {
    if (this.joined && this.work === 'discharging') this.following.follow(net);
  }

  rebase(by_rad: number): void {
    this.following.rebase(by_rad);
  }

  stamp(net: PhasorNet): void {
    this.#take(net.now_us);
    if (!this.joined) return;
    if (this.work === 'charging') net.shunt(this.#wired.L1, this.#wired.L2, this.#conductance.value, 0, 0);
    else if (this.work === 'discharging') this.following.stamp(net);
    else this.forming.stamp(net);
  }

  limit(net: PhasorNet): boolean {
    if (!this.joined) return false;
    return this.work === 'discharging' ? this.following.limit(net) : this.forming.limit(net);
  }

  advance(net: PhasorNet, h_s: number): boolean {
    if (!this.joined) return false;
    if (this.work === 'charging') {
      const u_V = this.#size(net);
      const moved = this.#conductance.step(this.#chargeTarget_S(u_V, net.now_us), h_s);
      return moved || this.power.movesAt(net.now_us);
    }
    if (this.work === 'discharging') {
      const moved = this.following.advance(net, h_s, this.#watcher.noise_Hz(net));
      return moved || this.power.movesAt(net.now_us);
    }
    return this.soft.movesAt(net.now_us);
  }

  accept(net: PhasorNet, h_s: number): boolean {
    const before = { ...this.reading };
    this.#read(net);
    const drooping = this.work === 'forming' && this.joined && h_s > 0 && this.#droop(net, h_s);
    this.#watcher.solved(this.reading, before, h_s, net);
    const slips = this.makesVoltage && net.offset(this.forming.frame) !== 0 && net.w !== this.forming.frame.w_rad_per_s;
    return drooping || slips || this.#past.settledFrom_us > net.now_us;
  }

  /** Values that are functions of time are taken at the instant that is solved for. */
  #take(now_us: number): void {
    this.solvedPower_W = this.power.at(now_us);
    this.following.power_W = Math.max(0, this.solvedPower_W);
    const droop_V = (this.#settings.droopQ * LINE_V * this.#droopQ.value) / this.#settings.rated_W;
    this.forming.voltage_V = this.makesVoltage ? Math.max(0, this.setVoltage_V - droop_V) * this.soft.at(now_us) : 0;
    this.forming.connected = this.makesVoltage;
    this.forming.limit_A = this.currentLimit_A;
  }

  #read(net: PhasorNet): void {
    const reading = this.reading;
    const u_V = this.#size(net);
    this.#past.set(net.now_us, u_V);
    reading.u_V = u_V;
    reading.uCycle_V = this.#past.rmsAt(net.now_us);
    reading.f_Hz = net.w / TWO_PI;
    reading.reference = this.forming.connected ? this.forming.voltage_V / LINE_V : 0;
    let i = { p_W: 0, q_var: 0, i1_A: 0, i2_A: 0 };
    if (this.joined && this.work === 'charging') {
      const i_A = this.#conductance.value * u_V;
      i = { p_W: -i_A * u_V, q_var: 0, i1_A: i_A, i2_A: i_A };
    } else if (this.joined && this.work === 'discharging') {
      const { p_W, q_var, i_A } = this.following.output(net);
      i = { p_W, q_var, i1_A: i_A, i2_A: i_A };
    } else if (this.forming.active) i = this.forming.output(net);
    Object.assign(reading, i);
  }

  #droop(net: PhasorNet, h_s: number): boolean {
    const { droopP, droopQ } = this.#settings;
    if (droopP === 0 && droopQ === 0) return false;
    const movedP = this.#droopP.step(this.reading.p_W, h_s);
    const movedQ = this.#droopQ.step(this.reading.q_var, h_s);
    this.tune(net.now_us);
    return movedP || movedQ;
  }

  /** Sets the frame to the set frequency less droop. */
  tune(now_us: number): void {
    const { droopP, rated_W } = this.#settings;
    const f_Hz = this.setFrequency_Hz + this.lift_Hz - (droopP * 60 * this.#droopP.value) / rated_W;
    this.forming.frame.setFrequency(TWO_PI * f_Hz, now_us);
  }

  #chargeTarget_S(u_V: number, now_us: number): number {
    const floor_V = this.#settings.chargeCutOut * LINE_V;
    const seen_V = Math.max(u_V, floor_V);
    const power_W = Math.max(0, -this.power.at(now_us));
    return Math.min(power_W / (seen_V * seen_V), this.currentLimit_A / seen_V);
  }

  #size(net: PhasorNet): number {
    const re = net.re(this.#wired.L1) - net.re(this.#wired.L2);
    const im = net.im(this.#wired.L1) - net.im(this.#wired.L2);
    return Math.sqrt(re * re + im * im);
  }

  state(now_us: number): number[] {
    const ramps = [this.soft, this.power].flatMap((ramp) => [
      ramp.at(now_us),
      ramp.to,
      Math.max(0, ramp.end_us - now_us),
    ]);
    const set = [this.setVoltage_V, this.setFrequency_Hz, this.joined ? 1 : 0];
    const lags = [this.#conductance.value, this.#droopP.value, this.#droopQ.value];
    return [...ramps, ...set, ...lags, ...this.following.digest(), this.forming.frame.angleAt(now_us)];
  }
}
