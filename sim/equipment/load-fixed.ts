import type { PhasorNet } from '../network/device.ts';
import { type Bag, numberOf, textOf } from '../site-description.ts';
import { NOMINAL_HZ } from '../units.ts';
import { type LoadBody, reactiveShare, share, type Terminals } from './load-body.ts';

/** Conductance, capacitive and inductive susceptance at nominal frequency, S. */
export interface FixedAdmittance {
  readonly g_S: number;
  readonly capacitive_S: number;
  readonly inductive_S: number;
}

/** Admittance of a load of power and power factor: g = P/U², b = g tan(acos pf), an inductor or a capacitor beside it. */
export function impedanceAdmittance(
  power_W: number,
  nominal_V: number,
  powerFactor: number,
  leading: boolean,
): FixedAdmittance {
  const g_S = power_W / (nominal_V * nominal_V);
  const b_S = g_S * reactiveShare(powerFactor);
  return { g_S, capacitive_S: leading ? b_S : 0, inductive_S: leading ? 0 : b_S };
}

/**
 * Parallel R, L and C: R = U²/P, Qf = R √(C/L), f0 = 1/(2π √(LC)).
 *
 * At f0 both susceptances are Qf/R; at 60 Hz the capacitive one is that times 60/f0, the inductive one times f0/60.
 * The test load of IEEE 1547.1 and IEC 62116 (arrangement from memory).
 */
export function resonantAdmittance(
  power_W: number,
  nominal_V: number,
  quality: number,
  resonance_Hz: number,
): FixedAdmittance {
  const g_S = power_W / (nominal_V * nominal_V);
  const detuning = resonance_Hz / NOMINAL_HZ;
  return { g_S, capacitive_S: (quality * g_S) / detuning, inductive_S: quality * g_S * detuning };
}

/** A load that is nothing but a constant admittance. */
class FixedLoad implements LoadBody {
  readonly states = ['off', 'on'];
  readonly #at: Terminals;
  readonly #of: (power_W: number) => FixedAdmittance;
  readonly #scale: () => number;
  #power_W: number;
  #connected: boolean;
  #stamped_S = 0;

  constructor(
    at: Terminals,
    power_W: number,
    connected: boolean,
    scale: () => number,
    of: (power_W: number) => FixedAdmittance,
  ) {
    this.#at = at;
    this.#power_W = power_W;
    this.#connected = connected;
    this.#scale = scale;
    this.#of = of;
  }

  stamp(net: PhasorNet): void {
    const { g_S, capacitive_S, inductive_S } = this.#of(this.#power_W * this.#scale());
    this.#stamped_S = g_S;
    net.shunt(this.#at.a, this.#at.b, g_S, capacitive_S, inductive_S);
  }

  state(): number {
    return this.#connected ? 1 : 0;
  }

  settle(): void {}

  switched(connected: boolean): void {
    this.#connected = connected;
    if (!connected) this.#stamped_S = 0;
  }

  setPower(power_W: number): void {
    this.#power_W = power_W;
  }

  power_W(net: PhasorNet): number {
    const volts_V = share(net, this.#at) * this.#at.nominal_V;
    return this.#stamped_S * volts_V * volts_V;
  }

  nominal_S(): number {
    return this.#of(this.#power_W * this.#scale()).g_S;
  }

  digest(): readonly number[] {
    return [this.#power_W];
  }
}

export function impedanceLoad(
  at: Terminals,
  params: Bag,
  power_W: number,
  connected: boolean,
  scale: () => number,
): LoadBody {
  const powerFactor = numberOf(params, 'powerFactor');
  const leading = textOf(params, 'reactive') === 'leading';
  return new FixedLoad(at, power_W, connected, scale, (power) =>
    impedanceAdmittance(power, at.nominal_V, powerFactor, leading),
  );
}

export function resonantLoad(
  at: Terminals,
  params: Bag,
  power_W: number,
  connected: boolean,
  scale: () => number,
): LoadBody {
  const quality = numberOf(params, 'quality');
  const resonance_Hz = numberOf(params, 'resonance');
  return new FixedLoad(at, power_W, connected, scale, (power) =>
    resonantAdmittance(power, at.nominal_V, quality, resonance_Hz),
  );
}
