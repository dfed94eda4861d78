import { cos, sin } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { type Frame, NOMINAL_rad_per_s } from '../network/frame.ts';
import type { WiredBus } from '../network/wiring.ts';
import { LINE_V } from '../units.ts';

/** A current this little above the limit is not worth two more solutions. */
const LIMIT_SLACK = 1e-9;
/** Another device may change what it stamps between our two solutions: then both are taken again, so many times at most. */
const ROUNDS_max = 3;

interface Phasor {
  readonly re: number;
  readonly im: number;
}

/** One half of a three-terminal source, or the whole of a two-terminal one. */
interface Winding {
  readonly a: number;
  readonly b: number;
}

/**
 * A source that makes a voltage: q E e^{jθ} behind Z_v = r + jx, its current held to a limit.
 *
 * The network is linear, so the current is I(q) = b + q a; two solutions (q = 1, q = 0) give both. Above the limit it
 * takes the larger q in [0, 1] with |I| = I_lim; where there is none, others push more than that into it, and it becomes
 * a current I_lim in the direction of b + a with its voltage free. A three-terminal source is two halves of E/2 behind
 * Z_v/2 that share q; the fuller half rules. Crests and anything within a cycle are left out.
 */
export class FormingCore {
  readonly frame: Frame;
  readonly #windings: readonly Winding[];
  readonly #r_ohm: number;
  readonly #x_ohm: number;
  /** Output contact. */
  connected = false;
  /** Voltage behind the impedance, line to line, V rms. */
  voltage_V = 0;
  /** Current limit, A rms. */
  limit_A = Number.POSITIVE_INFINITY;
  /** True when the last solution needed the limit. */
  limited = false;
  #q = 1;
  #phase: 'full' | 'empty' | 'held' | 'current' = 'full';
  #rounds = 0;
  #full: Phasor[] = [];
  #pushed: Phasor[] = [];

  /** @param rated_W - what 1 pu of the impedance is counted in, with 240 V. @param r_pu, x_pu - at nominal frequency. */
  constructor(bus: WiredBus, frame: Frame, rated_W: number, r_pu: number, x_pu: number, neutral: boolean) {
    this.frame = frame;
    this.#windings = neutral
      ? [
          { a: bus.L1, b: bus.N },
          { a: bus.N, b: bus.L2 },
        ]
      : [{ a: bus.L1, b: bus.L2 }];
    const base_ohm = (LINE_V * LINE_V) / rated_W;
    this.#r_ohm = (r_pu * base_ohm) / this.#windings.length;
    this.#x_ohm = (x_pu * base_ohm) / this.#windings.length;
  }

  get active(): boolean {
    return this.connected && this.voltage_V > 0;
  }

  begin(): void {
    this.limited = false;
    this.#q = 1;
    this.#phase = 'full';
    this.#rounds = 0;
  }

  stamp(net: PhasorNet): void {
    if (!this.active) return;
    if (this.#phase === 'current') {
      this.#windings.forEach(({ a, b }, i) => {
        const pushed = this.#pushed[i]!;
        net.inject(a, b, pushed.re, pushed.im);
      });
      return;
    }
    const { re: yRe, im: yIm } = this.#admittance(net);
    const e = this.#inner(net);
    for (const { a, b } of this.#windings) {
      net.series(a, b, this.#r_ohm, this.#x_ohm);
      net.inject(a, b, yRe * e.re - yIm * e.im, yRe * e.im + yIm * e.re);
    }
  }

  /** The two solutions of the limit, then one at the q found. */
  limit(net: PhasorNet): boolean {
    if (!this.active) return false;
    const now = this.currents(net);
    const above = (slack: number): boolean => now.some((i) => sizeOf(i) > this.limit_A * (1 + slack));
    if (this.#phase === 'full') {
      if (!above(LIMIT_SLACK)) return false;
      this.limited = true;
      this.#full = now;
      this.#q = 0;
      this.#phase = 'empty';
      return true;
    }
    if (this.#phase === 'empty') {
      this.#hold(now);
      return true;
    }
    if (this.#phase === 'held' && this.#rounds < ROUNDS_max && above(1e-6)) {
      this.#rounds += 1;
      this.#q = 1;
      this.#phase = 'full';
      return true;
    }
    return false;
  }

  #hold(b: readonly Phasor[]): void {
    let q: number | undefined = 1;
    for (let i = 0; i < b.length && q !== undefined; i += 1) {
      if (sizeOf(this.#full[i]!) <= this.limit_A) continue;
      const found = shareAtLimit(this.#full[i]!, b[i]!, this.limit_A);
      q = found === undefined ? undefined : Math.min(q, found);
    }
    if (q !== undefined) {
      this.#q = q;
      this.#phase = 'held';
      return;
    }
    this.#pushed = this.#full.map((full) => {
      const size = sizeOf(full);
      const scale = size > this.limit_A ? this.limit_A / size : 1;
      return { re: full.re * scale, im: full.im * scale };
    });
    this.#phase = 'current';
  }

  /** Current out of each half under the present solution, A. */
  currents(net: PhasorNet): Phasor[] {
    if (!this.active) return this.#windings.map(() => ({ re: 0, im: 0 }));
    if (this.#phase === 'current') return [...this.#pushed];
    const { re: yRe, im: yIm } = this.#admittance(net);
    const e = this.#inner(net);
    return this.#windings.map(({ a, b }) => {
      const re = e.re - (net.re(a) - net.re(b));
      const im = e.im - (net.im(a) - net.im(b));
      return { re: yRe * re - yIm * im, im: yRe * im + yIm * re };
    });
  }

  /** Power into the site, W and var, and the current of each leg, A. */
  output(net: PhasorNet): { p_W: number; q_var: number; i1_A: number; i2_A: number } {
    let p_W = 0;
    let q_var = 0;
    const currents = this.currents(net);
    this.#windings.forEach(({ a, b }, k) => {
      const uRe = net.re(a) - net.re(b);
      const uIm = net.im(a) - net.im(b);
      const i = currents[k]!;
      p_W += uRe * i.re + uIm * i.im;
      q_var += uIm * i.re - uRe * i.im;
    });
    return { p_W, q_var, i1_A: sizeOf(currents[0]!), i2_A: sizeOf(currents[currents.length - 1]!) };
  }

  #admittance(net: PhasorNet): Phasor {
    const x_ohm = (this.#x_ohm * net.w) / NOMINAL_rad_per_s;
    const size2 = this.#r_ohm * this.#r_ohm + x_ohm * x_ohm;
    return { re: this.#r_ohm / size2, im: -x_ohm / size2 };
  }

  #inner(net: PhasorNet): Phasor {
    const size_V = (this.#q * this.voltage_V) / this.#windings.length;
    const angle_rad = net.offset(this.frame);
    return { re: size_V * cos(angle_rad), im: size_V * sin(angle_rad) };
  }
}

/** Larger q in [0, 1] with |b + q (full - b)| = limit; undefined where there is none. */
function shareAtLimit(full: Phasor, b: Phasor, limit_A: number): number | undefined {
  const aRe = full.re - b.re;
  const aIm = full.im - b.im;
  const square = aRe * aRe + aIm * aIm;
  const half = aRe * b.re + aIm * b.im;
  const rest = b.re * b.re + b.im * b.im - limit_A * limit_A;
  const under = half * half - square * rest;
  if (!(square > 0) || under < 0) return undefined;
  const q = (-half + Math.sqrt(under)) / square;
  return q >= 0 && q <= 1 ? q : undefined;
}

function sizeOf({ re, im }: Phasor): number {
  return Math.sqrt(re * re + im * im);
}
