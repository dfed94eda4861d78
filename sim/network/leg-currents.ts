import type { PhasorDevice, PhasorNet } from './device.ts';
import type { Frame } from './frame.ts';
import { NOMINAL_rad_per_s } from './frame.ts';
import type { PhasorPart } from './phasor-part.ts';

/**
 * What one device takes out of each node under the solution that stands, A: it stamps once more, into this book instead of
 * the matrix.
 *
 * After the solution has been accepted a device stamps for a step of no length: its memory is what it is by then.
 */
export class LegCurrents implements PhasorNet {
  readonly #part: PhasorPart;
  readonly #byNode = new Map<number, readonly [re: number, im: number]>();
  readonly h_s = 0;

  constructor(part: PhasorPart, device: PhasorDevice) {
    this.#part = part;
    device.stamp(this);
  }

  /** Out of a node into the device, A rms; nothing where it touches nothing. */
  into(node: number): readonly [re: number, im: number] | undefined {
    return this.#byNode.get(node);
  }

  get w(): number {
    return this.#part.w;
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

  offset(own: Frame): number {
    return this.#part.offset(own);
  }

  pull(): void {}

  shunt(a: number, b: number, g_S: number, capacitive_S: number, inductive_S: number): void {
    const ratio = this.w / NOMINAL_rad_per_s;
    this.admittance(a, b, g_S, capacitive_S * ratio - inductive_S / ratio);
  }

  series(a: number, b: number, r_ohm: number, x_ohm: number): void {
    const [re_S, im_S] = this.#inverse(r_ohm, x_ohm);
    this.admittance(a, b, re_S, im_S);
  }

  admittance(a: number, b: number, re_S: number, im_S: number): void {
    const uRe = this.re(a) - this.re(b);
    const uIm = this.im(a) - this.im(b);
    const re = re_S * uRe - im_S * uIm;
    const im = re_S * uIm + im_S * uRe;
    this.#add(a, re, im);
    this.#add(b, -re, -im);
  }

  coupled(a: number, ca: number, b: number, cb: number, c: number, cc: number, r_ohm: number, x_ohm: number): void {
    const uRe = ca * this.re(a) + cb * this.re(b) + cc * this.re(c);
    const uIm = ca * this.im(a) + cb * this.im(b) + cc * this.im(c);
    const [re_S, im_S] = this.#inverse(r_ohm, x_ohm);
    const re = re_S * uRe - im_S * uIm;
    const im = re_S * uIm + im_S * uRe;
    this.#add(a, ca * re, ca * im);
    this.#add(b, cb * re, cb * im);
    this.#add(c, cc * re, cc * im);
  }

  inject(a: number, b: number, re_A: number, im_A: number): void {
    this.#add(a, -re_A, -im_A);
    this.#add(b, re_A, im_A);
  }

  #inverse(r_ohm: number, x_ohm: number): readonly [re: number, im: number] {
    const x = (x_ohm * this.w) / NOMINAL_rad_per_s;
    const size2 = r_ohm * r_ohm + x * x;
    return [r_ohm / size2, -x / size2];
  }

  #add(node: number, re: number, im: number): void {
    const sum = this.#byNode.get(node);
    this.#byNode.set(node, sum === undefined ? [re, im] : [sum[0] + re, sum[1] + im]);
  }
}
