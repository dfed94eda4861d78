import type { PhasorDevice, PhasorNet } from '../../sim/network/device.ts';
import type { PhasorPart } from '../../sim/network/phasor-part.ts';
import type { Wiring } from '../../sim/network/wiring.ts';

type Complex = readonly [re: number, im: number];
const W0 = 2 * Math.PI * 60;

/**
 * Currents of every branch, worked out from the node voltages one by one: nothing of the network's matrix is used.
 *
 * `out` is what leaves each node through branches and devices, A; Kirchhoff asks that it be nothing at every node.
 */
export class Ledger implements PhasorNet {
  readonly #part: PhasorPart;
  readonly out = new Map<number, [number, number]>();
  /** Sizes of all currents met, A. */
  throughput_A = 0;
  /** Active power into the device that is just being looked at, W. */
  power_W = 0;

  constructor(part: PhasorPart) {
    this.#part = part;
  }

  get w(): number {
    return this.#part.w;
  }

  get h_s(): number {
    return this.#part.h_s;
  }

  get now_us(): number {
    return this.#part.now_us;
  }

  re(node: number): number {
    return this.#part.re(node);
  }

  im(node: number): number {
    return this.#part.im(node);
  }

  offset(own: Parameters<PhasorPart['offset']>[0]): number {
    return this.#part.offset(own);
  }

  pull(): void {}

  shunt(a: number, b: number, g_S: number, capacitive_S: number, inductive_S: number): void {
    this.#branch(a, b, [g_S, (capacitive_S * this.w) / W0 - (inductive_S * W0) / this.w]);
  }

  series(a: number, b: number, r_ohm: number, x_ohm: number): void {
    this.#branch(a, b, inverse(r_ohm, (x_ohm * this.w) / W0));
  }

  admittance(a: number, b: number, re_S: number, im_S: number): void {
    this.#branch(a, b, [re_S, im_S]);
  }

  coupled(a: number, ca: number, b: number, cb: number, c: number, cc: number, r_ohm: number, x_ohm: number): void {
    const u: Complex = [
      ca * this.re(a) + cb * this.re(b) + cc * this.re(c),
      ca * this.im(a) + cb * this.im(b) + cc * this.im(c),
    ];
    const i = times(inverse(r_ohm, (x_ohm * this.w) / W0), u);
    for (const [node, ratio] of [
      [a, ca],
      [b, cb],
      [c, cc],
    ] as const) {
      this.#leaves(node, [ratio * i[0], ratio * i[1]]);
    }
  }

  inject(a: number, b: number, re_A: number, im_A: number): void {
    this.#leaves(a, [-re_A, -im_A]);
    this.#leaves(b, [re_A, im_A]);
  }

  #branch(a: number, b: number, y: Complex): void {
    const i = times(y, [this.re(a) - this.re(b), this.im(a) - this.im(b)]);
    this.#leaves(a, i);
    this.#leaves(b, [-i[0], -i[1]]);
  }

  #leaves(node: number, i: Complex): void {
    this.throughput_A += Math.hypot(...i);
    this.power_W += this.re(node) * i[0] + this.im(node) * i[1];
    const sum = this.out.get(node) ?? [0, 0];
    this.out.set(node, [sum[0] + i[0], sum[1] + i[1]]);
  }
}

const inverse = (r: number, x: number): Complex => [r / (r * r + x * x), -x / (r * r + x * x)];
const times = ([a, b]: Complex, [c, d]: Complex): Complex => [a * c - b * d, a * d + b * c];

/** What one part's books say. */
export interface Books {
  /** Largest current that is missing at a node of the part or of the neutral system, A; the earth is left out. */
  readonly missing_A: number;
  readonly throughput_A: number;
  /** Active power into each device, W: negative from a source. */
  readonly devices: ReadonlyMap<PhasorDevice, number>;
  /** Into poles, neutral branches and leaks, W. */
  readonly wires_W: number;
}

export function booksOf(wiring: Wiring, part: PhasorPart): Books {
  const ledger = new Ledger(part);
  const members = new Set(part.buses.map(({ index }) => index));
  for (const { L1, L2, N } of part.buses) {
    ledger.admittance(L1, N, 1e-6, 0);
    ledger.admittance(L2, N, 1e-6, 0);
  }
  for (const { N } of wiring.buses) ledger.admittance(N, -1, 1e-6, 0);
  for (const branch of wiring.neutrals) {
    if (branch.connected) ledger.series(branch.nodeA, branch.nodeB, branch.r_ohm, branch.x_ohm);
  }
  for (const pole of wiring.poles) {
    const inside = members.has(pole.busA) && members.has(pole.busB);
    if (inside && pole.leg !== 'N' && pole.state !== 'open') ledger.admittance(pole.nodeA, pole.nodeB, 1e3, 0);
  }
  const wires_W = ledger.power_W;
  const devices = new Map<PhasorDevice, number>();
  for (const device of part.devices) {
    ledger.power_W = 0;
    device.stamp(ledger);
    devices.set(device, ledger.power_W);
  }
  let missing_A = 0;
  for (const [node, i] of ledger.out) if (node >= 0) missing_A = Math.max(missing_A, Math.hypot(...i));
  return { missing_A, throughput_A: ledger.throughput_A, devices, wires_W };
}
