import { assert } from '../check.ts';
import { ComplexLdl } from './complex-ldl.ts';
import type { PhasorDevice, PhasorNet } from './device.ts';
import { Frame, NOMINAL_rad_per_s } from './frame.ts';
import { EARTH, POLE_CLOSED_S, type Pole, type WiredBus, type Wiring } from './wiring.ts';

/** Each leg node leaks this to its neutral and each neutral to earth, S: no node ever floats. */
const LEAK_S = 1e-6;
/** Where a stored charge is timed the leak must not count: 1 µS would shorten 15 µF on 100 kohm by 5 %. */
const LEAK_OF_CHARGE_S = 1e-9;

/**
 * One connected part of the site with the whole neutral system beside it, as a dense complex system Y V = J.
 *
 * Parts share nothing but neutral and earth, and no current flows between them there; so each is solved by itself, in
 * its own frame and at its own frequency, and their neutral voltages add.
 */
export class PhasorPart implements PhasorNet {
  readonly buses: readonly WiredBus[];
  readonly devices: readonly PhasorDevice[];
  readonly #wiring: Wiring;
  readonly #poles: readonly Pole[];
  readonly #local: Int32Array;
  readonly size: number;
  readonly #ldl: ComplexLdl;
  readonly #yRe: Float64Array;
  readonly #yIm: Float64Array;
  readonly #factoredRe: Float64Array;
  readonly #factoredIm: Float64Array;
  #factored = false;
  readonly #xRe: Float64Array;
  readonly #xIm: Float64Array;
  /** Only while the largest time constant is looked for: capacitance matrix, F. */
  #capacitance: Float64Array | undefined;
  hasInductor = false;
  kind: 'dead' | 'utility' | 'formed' | 'unformed' | 'decaying' = 'dead';
  frame: Frame;
  w = NOMINAL_rad_per_s;
  h_s = 0;
  now_us = 0;
  #pullWeight = 0;
  #pullSum = 0;
  solves = 0;

  constructor(wiring: Wiring, buses: readonly WiredBus[], devices: readonly PhasorDevice[]) {
    this.#wiring = wiring;
    this.buses = buses;
    this.devices = devices;
    const members = new Set(buses.map((bus) => bus.index));
    this.#poles = wiring.poles.filter((pole) => pole.leg !== 'N' && members.has(pole.busA) && members.has(pole.busB));
    this.#local = new Int32Array(wiring.nodeCount).fill(-2);
    let next = 0;
    for (const bus of buses) {
      for (const node of bus.inner) this.#local[node] = next++;
      this.#local[bus.L1] = next++;
      this.#local[bus.L2] = next++;
    }
    for (const bus of wiring.buses) this.#local[bus.N] = next++;
    this.size = next;
    this.#ldl = new ComplexLdl(next);
    this.#yRe = new Float64Array(next * next);
    this.#yIm = new Float64Array(next * next);
    this.#factoredRe = new Float64Array(next * next);
    this.#factoredIm = new Float64Array(next * next);
    this.#xRe = new Float64Array(next);
    this.#xIm = new Float64Array(next);
    this.frame = new Frame(0, 0, 60);
  }

  /** Stamps everything at the present frequency and solves. */
  solve(): void {
    this.#stampAll();
    const n = this.#yRe.length;
    let same = this.#factored;
    for (let i = 0; same && i < n; i += 1) {
      same = this.#yRe[i] === this.#factoredRe[i] && this.#yIm[i] === this.#factoredIm[i];
    }
    if (!same) {
      assert(
        this.#ldl.factor(this.#yRe, this.#yIm),
        `the network of bus ${this.buses[0]?.id ?? '?'} has a singular matrix`,
      );
      this.#factoredRe.set(this.#yRe);
      this.#factoredIm.set(this.#yIm);
      this.#factored = true;
    }
    this.#ldl.solve(this.#xRe, this.#xIm);
    this.solves += 1;
  }

  /** Zeroes the solution: a part in which nothing makes a voltage and nothing is stored. */
  clear(): void {
    this.#xRe.fill(0);
    this.#xIm.fill(0);
  }

  /** Takes voltages (V) from outside: a decaying part. `scale` multiplies what is given. */
  impose(re: Float64Array, im: Float64Array, scale: number): void {
    for (let node = 0; node < this.#local.length; node += 1) {
      const at = this.#local[node]!;
      if (at < 0) continue;
      this.#xRe[at] = re[node]! * scale;
      this.#xIm[at] = im[node]! * scale;
    }
  }

  /** Writes the voltages of the part's own nodes, those of its buses' neutrals included, by node number. */
  copyTo(re: Float64Array, im: Float64Array): void {
    for (const bus of this.buses) {
      for (const node of bus.inner) this.#copyNode(node, re, im);
      this.#copyNode(bus.L1, re, im);
      this.#copyNode(bus.L2, re, im);
      this.#copyNode(bus.N, re, im);
    }
  }

  #copyNode(node: number, re: Float64Array, im: Float64Array): void {
    re[node] = this.#xRe[this.#local[node]!]!;
    im[node] = this.#xIm[this.#local[node]!]!;
  }

  /** Σ weight·(frequency asked for) / Σ weight - ω under the present solution: zero at the frequency of an unformed part. */
  pullError(): number {
    this.#pullWeight = 0;
    this.#pullSum = 0;
    for (const device of this.devices) device.follow?.(this);
    return this.#pullWeight > 0 ? this.#pullSum / this.#pullWeight - this.w : Number.NaN;
  }

  pull(weight: number, w_rad_per_s: number): void {
    this.#pullWeight += weight;
    this.#pullSum += weight * w_rad_per_s;
  }

  /**
   * Largest time constant of the part as it is connected, s: the largest eigenvalue of G⁻¹C, twice that where an
   * inductor rings with C (envelope 2RC). By power iteration, with a fixed count so that it is the same everywhere.
   */
  largestTimeConstant_s(): number {
    const n = this.size;
    const capacitance = new Float64Array(n * n);
    this.#capacitance = capacitance;
    this.hasInductor = false;
    this.#stampAll();
    this.#capacitance = undefined;
    this.#factored = false;
    this.#yIm.fill(0);
    assert(this.#ldl.factor(this.#yRe, this.#yIm), 'a conductance matrix is singular');
    const x = new Float64Array(n);
    const y = new Float64Array(n);
    const zero = new Float64Array(n);
    for (let i = 0; i < n; i += 1) x[i] = 1 + 0.37 * ((i * 7) % 5);
    let tau_s = 0;
    for (let round = 0; round < 60; round += 1) {
      let norm = 0;
      for (let i = 0; i < n; i += 1) {
        let sum = 0;
        for (let k = 0; k < n; k += 1) sum += capacitance[i * n + k]! * x[k]!;
        y[i] = sum;
      }
      zero.fill(0);
      this.#ldl.solve(y, zero);
      for (let i = 0; i < n; i += 1) norm = Math.max(norm, Math.abs(y[i]!));
      if (norm === 0) return 0;
      tau_s = norm;
      for (let i = 0; i < n; i += 1) x[i] = y[i]! / norm;
    }
    return this.hasInductor ? 2 * tau_s : tau_s;
  }

  #stampAll(): void {
    this.#yRe.fill(0);
    this.#yIm.fill(0);
    this.#xRe.fill(0);
    this.#xIm.fill(0);
    const leak_S = this.#capacitance === undefined ? LEAK_S : LEAK_OF_CHARGE_S;
    for (const bus of this.buses) {
      this.admittance(bus.L1, bus.N, leak_S, 0);
      this.admittance(bus.L2, bus.N, leak_S, 0);
    }
    for (const bus of this.#wiring.buses) this.admittance(bus.N, EARTH, leak_S, 0);
    for (const branch of this.#wiring.neutrals) {
      if (branch.connected) this.series(branch.nodeA, branch.nodeB, branch.r_ohm, branch.x_ohm);
    }
    for (const pole of this.#poles) {
      if (pole.state !== 'open') this.admittance(pole.nodeA, pole.nodeB, POLE_CLOSED_S, 0);
    }
    for (const device of this.devices) device.stamp(this);
  }

  shunt(a: number, b: number, g_S: number, capacitive_S: number, inductive_S: number): void {
    const ratio = this.w / NOMINAL_rad_per_s;
    if (this.#capacitance !== undefined) {
      if (inductive_S > 0) this.hasInductor = true;
      this.#addCapacitance(a, b, capacitive_S / NOMINAL_rad_per_s);
      this.admittance(a, b, g_S, 0);
      return;
    }
    this.admittance(a, b, g_S, capacitive_S * ratio - inductive_S / ratio);
  }

  series(a: number, b: number, r_ohm: number, x_ohm: number): void {
    const x = this.#capacitance === undefined ? (x_ohm * this.w) / NOMINAL_rad_per_s : 0;
    const size2 = r_ohm * r_ohm + x * x;
    if (size2 === 0) this.admittance(a, b, POLE_CLOSED_S, 0);
    else this.admittance(a, b, r_ohm / size2, -x / size2);
  }

  admittance(a: number, b: number, re_S: number, im_S: number): void {
    const i = a === EARTH ? -1 : this.#local[a]!;
    const k = b === EARTH ? -1 : this.#local[b]!;
    assert(i !== -2 && k !== -2, 'a device stamps into a part that its bus does not stand in');
    const n = this.size;
    if (i >= 0) {
      this.#yRe[i * n + i]! += re_S;
      this.#yIm[i * n + i]! += im_S;
    }
    if (k >= 0) {
      this.#yRe[k * n + k]! += re_S;
      this.#yIm[k * n + k]! += im_S;
    }
    if (i >= 0 && k >= 0) {
      const at = i > k ? i * n + k : k * n + i;
      this.#yRe[at]! -= re_S;
      this.#yIm[at]! -= im_S;
    }
  }

  coupled(a: number, ca: number, b: number, cb: number, c: number, cc: number, r_ohm: number, x_ohm: number): void {
    const x = this.#capacitance === undefined ? (x_ohm * this.w) / NOMINAL_rad_per_s : 0;
    const size2 = r_ohm * r_ohm + x * x;
    const re = r_ohm / size2;
    const im = -x / size2;
    const i = this.#local[a]!;
    const j = this.#local[b]!;
    const k = this.#local[c]!;
    this.#addLower(i, i, ca * ca, re, im);
    this.#addLower(j, j, cb * cb, re, im);
    this.#addLower(k, k, cc * cc, re, im);
    this.#addLower(i, j, ca * cb, re, im);
    this.#addLower(i, k, ca * cc, re, im);
    this.#addLower(j, k, cb * cc, re, im);
  }

  #addLower(i: number, k: number, factor: number, re: number, im: number): void {
    const at = i > k ? i * this.size + k : k * this.size + i;
    this.#yRe[at]! += factor * re;
    this.#yIm[at]! += factor * im;
  }

  #addCapacitance(a: number, b: number, value_F: number): void {
    const matrix = this.#capacitance!;
    const n = this.size;
    const i = a === EARTH ? -1 : this.#local[a]!;
    const k = b === EARTH ? -1 : this.#local[b]!;
    if (i >= 0) matrix[i * n + i]! += value_F;
    if (k >= 0) matrix[k * n + k]! += value_F;
    if (i >= 0 && k >= 0) {
      matrix[i * n + k]! -= value_F;
      matrix[k * n + i]! -= value_F;
    }
  }

  inject(a: number, b: number, re_A: number, im_A: number): void {
    if (this.#capacitance !== undefined) return;
    if (a !== EARTH) {
      this.#xRe[this.#local[a]!]! += re_A;
      this.#xIm[this.#local[a]!]! += im_A;
    }
    if (b !== EARTH) {
      this.#xRe[this.#local[b]!]! -= re_A;
      this.#xIm[this.#local[b]!]! -= im_A;
    }
  }

  offset(own: Frame): number {
    return own === this.frame ? 0 : own.angleAt(this.now_us) - this.frame.angleAt(this.now_us);
  }

  re(node: number): number {
    return node === EARTH ? 0 : this.#xRe[this.#local[node]!]!;
  }

  im(node: number): number {
    return node === EARTH ? 0 : this.#xIm[this.#local[node]!]!;
  }
}
