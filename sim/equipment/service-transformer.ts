import { asin, PI } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { NOMINAL_rad_per_s } from '../network/frame.ts';
import { EARTH, type WiredBus } from '../network/wiring.ts';
import { LEG_V, LINE_V } from '../units.ts';
import { Lag } from './lag.ts';

/** Data on its nameplate; shares of 1, not percent. */
export interface TransformerData {
  readonly rated_VA: number;
  readonly resistance: number;
  readonly reactance: number;
  readonly magnetising: number;
  readonly noLoadLoss: number;
  /** Flux at which the iron saturates, pu of V/f, and the reactance beyond, pu. */
  readonly knee: number;
  readonly airCore: number;
  readonly saturationLag_s: number;
}

/**
 * Impedances of the star, ohm at 60 Hz: the high side referred to 240 V, and each 120 V half.
 *
 * High side 0.5 R + j0.8 X on 240²/S, halves R + j0.4 X on 120²/S: interlaced windings (from memory: W. H. Kersting,
 * Distribution System Modeling and Analysis).
 */
export function starOf({ rated_VA, resistance, reactance }: TransformerData): {
  readonly high: readonly [r: number, x: number];
  readonly half: readonly [r: number, x: number];
} {
  const base240_ohm = (LINE_V * LINE_V) / rated_VA;
  const base120_ohm = (LEG_V * LEG_V) / rated_VA;
  return {
    high: [0.5 * resistance * base240_ohm, 0.8 * reactance * base240_ohm],
    half: [resistance * base120_ohm, 0.4 * reactance * base120_ohm],
  };
}

/**
 * Susceptance that saturation adds at flux u, pu: (1 - (2/π)(asin k + k √(1 - k²))) / x_air, k = knee/u; 0 up to the knee.
 *
 * Describing function of a flux curve of two straight pieces: the fundamental of the current alone.
 */
export function saturationSusceptance(flux: number, knee: number, airCore: number): number {
  if (!(flux > knee)) return 0;
  const k = knee / flux;
  return (1 - (2 / PI) * (asin(k) + k * Math.sqrt(1 - k * k))) / airCore;
}

/**
 * Centre-tapped service transformer between an inner node (primary, referred to 240 V, against earth) and t1, xn, t2.
 *
 * Each half pushes y (Vp/2 - its voltage) out at its dotted end, and half of that current is taken from the primary.
 * Inrush, residual flux and ferroresonance are left out; saturation is a lagged susceptance at the primary.
 */
export class ServiceTransformer {
  readonly #data: TransformerData;
  readonly #primary: number;
  readonly #at: WiredBus;
  readonly #high: readonly [number, number];
  readonly #half: readonly [number, number];
  readonly #base_S: number;
  /** Added susceptance, pu of its rating. */
  readonly saturation: Lag;

  constructor(data: TransformerData, primary: number, secondary: WiredBus) {
    this.#data = data;
    this.#primary = primary;
    this.#at = secondary;
    const { high, half } = starOf(data);
    this.#high = high;
    this.#half = half;
    this.#base_S = data.rated_VA / (LINE_V * LINE_V);
    this.saturation = new Lag(0, data.saturationLag_s, 1);
  }

  stamp(net: PhasorNet): void {
    const { L1, L2, N } = this.#at;
    const [r_ohm, x_ohm] = this.#half;
    net.coupled(this.#primary, 0.5, L1, -1, N, 1, r_ohm, x_ohm);
    net.coupled(this.#primary, 0.5, N, -1, L2, 1, r_ohm, x_ohm);
    const loss_S = this.#data.noLoadLoss * this.#base_S;
    const inductive_S = (this.#data.magnetising + this.saturation.value) * this.#base_S;
    net.shunt(this.#primary, EARTH, loss_S, 0, inductive_S);
  }

  /** The medium-voltage source behind the high side's impedance, as a Norton pair: E rms on the part's own angle. */
  stampSource(net: PhasorNet, source_V: number): void {
    const [r_ohm, x60_ohm] = this.#high;
    net.series(this.#primary, EARTH, r_ohm, x60_ohm);
    const x_ohm = (x60_ohm * net.w) / NOMINAL_rad_per_s;
    const size2 = r_ohm * r_ohm + x_ohm * x_ohm;
    net.inject(this.#primary, EARTH, (source_V * r_ohm) / size2, (-source_V * x_ohm) / size2);
  }

  /** Moves the saturation by h; true when it changed. */
  advance(net: PhasorNet, h_s: number, saturates: boolean): boolean {
    const { knee, airCore } = this.#data;
    const re = net.re(this.#primary);
    const im = net.im(this.#primary);
    const flux = (Math.sqrt(re * re + im * im) / LINE_V) * (NOMINAL_rad_per_s / net.w);
    return this.saturation.step(saturates ? saturationSusceptance(flux, knee, airCore) : 0, h_s);
  }
}
