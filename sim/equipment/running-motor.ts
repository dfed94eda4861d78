import { cos, exp, sin } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { NOMINAL_rad_per_s } from '../network/frame.ts';
import type { Plain } from '../site-description.ts';
import { LINE_V } from '../units.ts';
import { ARRIVED } from './lag.ts';

/** Data of one induction motor on its own rating; reactances in pu, times in s. */
export interface MotorData {
  readonly rs: number;
  readonly transientX: number;
  readonly x: number;
  /** Open-circuit time constant of the rotor's flux. */
  readonly t0_s: number;
  readonly inertia_s: number;
  /** Torque of the load, pu, the same at every speed. */
  readonly torque: number;
}

/** A small compressor. Assumed: no published set was found for one. */
export const COMPRESSOR: MotorData = { rs: 0.02, transientX: 0.12, x: 2.5, t0_s: 0.1, inertia_s: 0.05, torque: 0.75 };

const HALF_CYCLE_s = 1 / 120;
/** Flux and voltage below this share of nominal: nothing is left of it. */
const GONE = 0.01;
/** It rests where half a cycle would move it by less than this: its torque is then right to 2e-10. */
const RESTS = 0.01 * ARRIVED;

type Complex = readonly [re: number, im: number];
const ZERO: Complex = [0, 0];
const times = ([a, b]: Complex, [c, d]: Complex): Complex => [a * c - b * d, a * d + b * c];
const over = ([a, b]: Complex, [c, d]: Complex): Complex => {
  const size2 = c * c + d * d;
  return [(a * c + b * d) / size2, (b * c - a * d) / size2];
};

/** Steady state at a slip (rad/s): flux voltage, current, torque; pu, for a voltage of u pu at angle 0. */
export function steadyMotor(
  data: MotorData,
  u: number,
  slip_rad_per_s: number,
): { e: Complex; i: Complex; torque: number } {
  const rotor = over([0, data.x - data.transientX], [1, slip_rad_per_s * data.t0_s]);
  const i = over([u, 0], [data.rs + rotor[0], data.transientX + rotor[1]]);
  const e = times(rotor, i);
  return { e, i, torque: e[0] * i[0] + e[1] * i[1] };
}

/** The slip (rad/s) on the stable side at which it carries its load at u pu; undefined: it stalls. */
export function slipAt(data: MotorData, u: number): number | undefined {
  let low = 0;
  let high = data.x / (data.t0_s * data.transientX);
  if (steadyMotor(data, u, high).torque < data.torque) return undefined;
  for (let round = 0; round < 80; round += 1) {
    const middle = (low + high) / 2;
    if (steadyMotor(data, u, middle).torque < data.torque) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/**
 * Third-order induction motor across two nodes: dE'/dt = -(1/T0' + j(ω - ωr)) E' + j((X - X')/T0') I, U = E' + (Rs + jX') I,
 * 2H d(ωr/ω0)/dt = Te - TL, all in the frame of its part.
 *
 * Exact in E' over a step in which I moves straight; so open circuit and steady state are right at any step. When it has arrived
 * it rests: it then stamps E' behind Rs + jX' whatever the step is, and nothing of it moves until the network does.
 * Stator transients, saturation and the run capacitor are left out.
 */
export class RunningMotor {
  readonly #data: MotorData;
  readonly #a: number;
  readonly #b: number;
  readonly #nominal_V: number;
  readonly #gone: number;
  rated_VA: number;
  /** Torque of its load, pu of its rating. */
  torque: number;
  running = false;
  #eRe = 0;
  #eIm = 0;
  #w_rad_per_s = 0;
  #resting = false;
  #p_W = 0;
  /** Asked for its frequency in the solution that stands: nobody leads the part. */
  #followed = false;
  /** Norton pair of the last stamp. */
  #y: Complex = [0, 0];
  #j: Complex = [0, 0];
  #ae: Complex = [0, 0];
  #c: Complex = ZERO;
  /** Current at the end of the last step. */
  #i: Complex = ZERO;

  /** @param gone - share of nominal below which flux and voltage count as nothing. */
  constructor(data: MotorData, a: number, b: number, rated_VA: number, nominal_V = LINE_V, gone = GONE) {
    this.#data = data;
    this.#a = a;
    this.#b = b;
    this.rated_VA = rated_VA;
    this.torque = data.torque;
    this.#nominal_V = nominal_V;
    this.#gone = gone;
  }

  get speed(): number {
    return this.#w_rad_per_s / NOMINAL_rad_per_s;
  }

  get flux(): number {
    return Math.sqrt(this.#eRe * this.#eRe + this.#eIm * this.#eIm) / this.#nominal_V;
  }

  /** Active power into it under the solution that it has seen last, W. */
  get power_W(): number {
    return this.running ? this.#p_W : 0;
  }

  /** Every bit of memory, for state digests. */
  digest(): readonly Plain[] {
    return [this.running, this.#resting, this.#eRe, this.#eIm, ...this.#i, this.#w_rad_per_s, this.torque];
  }

  /** From standstill, without flux. */
  start(): void {
    this.running = true;
    this.#resting = false;
    this.#eRe = 0;
    this.#eIm = 0;
    this.#i = ZERO;
    this.#w_rad_per_s = 0;
  }

  stop(): void {
    this.running = false;
    this.#eRe = 0;
    this.#eIm = 0;
    this.#i = ZERO;
    this.#w_rad_per_s = 0;
  }

  /** Steady at the voltage of the present solution; stops where it could not carry its load. */
  settle(net: PhasorNet): void {
    const u: Complex = [net.re(this.#a) - net.re(this.#b), net.im(this.#a) - net.im(this.#b)];
    const size_V = Math.sqrt(u[0] * u[0] + u[1] * u[1]);
    const slip = slipAt({ ...this.#data, torque: this.torque }, size_V / this.#nominal_V);
    if (slip === undefined) {
      this.stop();
      return;
    }
    const { e, i } = steadyMotor(this.#data, 1, slip);
    [this.#eRe, this.#eIm] = times(e, u);
    const share = size_V / this.#nominal_V;
    const [iRe, iIm] = times(i, u);
    this.#i = [
      (iRe * this.rated_VA) / (this.#nominal_V * this.#nominal_V),
      (iIm * this.rated_VA) / (this.#nominal_V * this.#nominal_V),
    ];
    this.#p_W = i[0] * share * share * this.rated_VA;
    this.#w_rad_per_s = net.w - slip;
    this.running = true;
    this.#resting = false;
  }

  /** What hangs on it has changed: it looks again. */
  wake(): void {
    this.#resting = false;
  }

  drives(): boolean {
    return this.running && (this.#eRe !== 0 || this.#eIm !== 0);
  }

  rebase(by_rad: number): void {
    const turn: Complex = [cos(by_rad), sin(by_rad)];
    [this.#eRe, this.#eIm] = times([this.#eRe, this.#eIm], turn);
    this.#i = times(this.#i, turn);
  }

  stamp(net: PhasorNet): void {
    if (!this.running) return;
    const { rs, transientX, x, t0_s } = this.#data;
    const base_ohm = (this.#nominal_V * this.#nominal_V) / this.rated_VA;
    const slip = net.w - this.#w_rad_per_s;
    const h_s = this.#resting ? 0 : net.h_s;
    const decay = exp(-h_s / t0_s);
    const a: Complex = [decay * cos(slip * h_s), -decay * sin(slip * h_s)];
    const [before, c] = this.#weights(a, slip, h_s, (x - transientX) * base_ohm, t0_s);
    this.#c = c;
    const [keptRe, keptIm] = times(a, [this.#eRe, this.#eIm]);
    const [fedRe, fedIm] = times(before, this.#i);
    this.#ae = [keptRe + fedRe, keptIm + fedIm];
    this.#y = over([1, 0], [rs * base_ohm + c[0], transientX * base_ohm + c[1]]);
    this.#j = times(this.#ae, this.#y);
    net.admittance(this.#a, this.#b, this.#y[0], this.#y[1]);
    net.inject(this.#a, this.#b, this.#j[0], this.#j[1]);
  }

  /** What the current at the start and at the end of the step does to the flux, when it moves straight between them. */
  #weights(a: Complex, slip: number, h_s: number, x_ohm: number, t0_s: number): readonly [Complex, Complex] {
    if (h_s === 0) return [ZERO, ZERO];
    const turn: Complex = [1, slip * t0_s];
    const all = over(times([1 - a[0], -a[1]], [0, x_ohm]), turn);
    const [lagRe, lagIm] = over([(all[0] * t0_s) / h_s, (all[1] * t0_s) / h_s], turn);
    const [fullRe, fullIm] = over([0, x_ohm], turn);
    const end: Complex = [fullRe - lagRe, fullIm - lagIm];
    return [[all[0] - end[0], all[1] - end[1]], end];
  }

  follow(net: PhasorNet): void {
    if (!this.drives()) return;
    this.#followed = true;
    net.pull(Math.sqrt(this.#j[0] * this.#j[0] + this.#j[1] * this.#j[1]), this.#w_rad_per_s);
  }

  /** Takes the new solution in; true while anything of it moves. */
  accept(net: PhasorNet, h_s: number): boolean {
    if (!this.running) return false;
    const u: Complex = [net.re(this.#a) - net.re(this.#b), net.im(this.#a) - net.im(this.#b)];
    const [yuRe, yuIm] = times(this.#y, u);
    const i: Complex = [yuRe - this.#j[0], yuIm - this.#j[1]];
    this.#i = i;
    this.#p_W = u[0] * i[0] + u[1] * i[1];
    if (!this.#resting && h_s > 0) {
      const [ciRe, ciIm] = times(this.#c, i);
      this.#eRe = this.#ae[0] + ciRe;
      this.#eIm = this.#ae[1] + ciIm;
    }
    const torque = (this.#eRe * i[0] + this.#eIm * i[1]) / this.rated_VA - this.torque;
    if (!this.#resting && h_s > 0)
      this.#turn(torque, (u[0] * u[0] + u[1] * u[1]) / (this.#nominal_V * this.#nominal_V), h_s);
    this.#followed = false;
    const size_V = Math.sqrt(u[0] * u[0] + u[1] * u[1]);
    if (h_s > 0 && this.#isOver(net.w, size_V)) {
      this.stop();
      return true;
    }
    const rate = this.#rate(net, i, torque);
    if (this.#resting) {
      if (rate < 10 * RESTS) return false;
      this.#resting = false;
    } else if (rate < RESTS) {
      this.#resting = true;
    }
    return true;
  }

  /** At rest with too little voltage to start, or without flux in a dead part. */
  #isOver(w_rad_per_s: number, size_V: number): boolean {
    if (this.flux < this.#gone && size_V < this.#gone * this.#nominal_V) return true;
    const standing = steadyMotor(this.#data, size_V / this.#nominal_V, w_rad_per_s).torque;
    return this.#w_rad_per_s <= 0 && standing < this.torque;
  }

  /**
   * Speed by h. On a bus that others hold it is implicit in the torque's slope, which is steep there: an explicit half
   * cycle would overshoot. In a part whose frequency it helps to make, torque does not answer to its speed like that.
   */
  #turn(surplus: number, u2: number, h_s: number): void {
    const { x, transientX, t0_s, inertia_s } = this.#data;
    const slope = this.#followed ? 0 : (u2 * (x - transientX) * NOMINAL_rad_per_s * t0_s) / (x * x);
    const by = (h_s * surplus) / (2 * inertia_s + h_s * slope);
    this.#w_rad_per_s = Math.max(0, this.#w_rad_per_s + by * NOMINAL_rad_per_s);
  }

  /** By how much flux and speed would move in half a cycle, pu: depends on the solution alone, not on the step. */
  #rate(net: PhasorNet, i: Complex, torque: number): number {
    const { x, transientX, t0_s, inertia_s } = this.#data;
    const base_ohm = (this.#nominal_V * this.#nominal_V) / this.rated_VA;
    const own = times([-1 / t0_s, -(net.w - this.#w_rad_per_s)], [this.#eRe, this.#eIm]);
    const fed = times([0, ((x - transientX) * base_ohm) / t0_s], i);
    const flux = (Math.abs(own[0] + fed[0]) + Math.abs(own[1] + fed[1])) / this.#nominal_V;
    return HALF_CYCLE_s * Math.max(flux, Math.abs(torque) / (2 * inertia_s));
  }
}
