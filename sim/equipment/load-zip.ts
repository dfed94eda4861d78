import type { PhasorNet } from '../network/device.ts';
import { type Bag, numberOf, type Plain, textOf } from '../site-description.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import { Lag } from './lag.ts';
import { BY_ITSELF, type LoadBody, reactiveShare, share, type Terminals } from './load-body.ts';

/** Shares of constant impedance, constant current and constant power, of P and of Q. */
export interface ZipShares {
  readonly zp: number;
  readonly ip: number;
  readonly pp: number;
  readonly zq: number;
  readonly iq: number;
  readonly pq: number;
}

const row = (zp: number, ip: number, pp: number, zq: number, iq: number, pq: number): ZipShares => ({
  zp,
  ip,
  pp,
  zq,
  iq,
  pq,
});

/**
 * Residential classes, measured from 1.1 pu downwards.
 *
 * Bokhari et al., "Experimental determination of the ZIP coefficients for modern residential, commercial, and industrial
 * loads", IEEE Trans. Power Delivery 29(3), 2014; read at second hand. The letters are the order of its rows.
 */
export const ZIP_CLASSES: Readonly<Record<string, ZipShares>> = {
  A: row(1.5, -2.31, 1.81, 7.41, -11.97, 5.55),
  B: row(1.57, -2.48, 1.91, 9.28, -15.29, 7.01),
  C: row(1.56, -2.49, 1.93, 10.1, -16.75, 7.65),
  D: row(1.31, -1.94, 1.63, 9.2, -15.27, 7.07),
  E: row(0.96, -1.17, 1.21, 6.28, -10.16, 4.88),
  F: row(1.18, -1.64, 1.47, 8.29, -13.67, 6.38),
};

/** Fits are not followed above this: from here on it is an impedance, pu. */
export const ZIP_TOP = 1.1;

export interface ZipSettings {
  readonly shares: ZipShares;
  /** Highest voltage to which the law is followed, pu. */
  readonly top: number;
  readonly lag_s: number;
  readonly cutOut: number;
  readonly restartAbove: number;
  readonly restartDelay_us: number;
  /** Q over P at nominal voltage. */
  readonly reactive: number;
  readonly leading: boolean;
}

const RUNS = 1;
const CUT_OUT = 2;

/**
 * P = P0 (Zp u² + Ip u + Pp), Q alike, u = U/Un: as a fixed conductance Zp P0/Un² and a lagged one that goes towards
 * P0 (Ip u + Pp)/(Un u)².
 *
 * Never a current, so the network stays linear. Below `cutOut` the lagged part is gone at once; it comes back from
 * nothing when the voltage has stood above `restartAbove` for the delay. Above `top` it is an impedance.
 */
export class ZipLoad implements LoadBody {
  readonly states = ['off', 'runs', 'cut out'];
  readonly #at: Terminals;
  readonly #settings: ZipSettings;
  readonly #scale: () => number;
  #power_W: number;
  #connected: boolean;
  #cut = false;
  readonly #g: Lag;
  readonly #b: Lag;
  #stamped_S = 0;
  #cutTimer: number | undefined;
  #restartTimer: number | undefined;

  constructor(at: Terminals, settings: ZipSettings, power_W: number, connected: boolean, scale: () => number) {
    this.#at = at;
    this.#settings = settings;
    this.#power_W = power_W;
    this.#connected = connected;
    this.#scale = scale;
    const base_S = Math.max(power_W, 1) / (at.nominal_V * at.nominal_V);
    this.#g = new Lag(0, settings.lag_s, base_S);
    this.#b = new Lag(0, settings.lag_s, base_S);
    if (connected) this.#fill(1);
  }

  stamp(net: PhasorNet): void {
    const { zp, zq } = this.#settings.shares;
    const g_S = zp * this.#base_S() + this.#g.value;
    const b_S = zq * this.#reactiveBase_S() + this.#b.value;
    this.#stamped_S = g_S;
    const { leading } = this.#settings;
    net.shunt(this.#at.a, this.#at.b, g_S, leading ? b_S : 0, leading ? 0 : b_S);
  }

  advance(net: PhasorNet, h_s: number): boolean {
    if (this.#cut) return false;
    const u = share(net, this.#at);
    const movedG = this.#g.step(this.#target(u, 'p'), h_s);
    const movedB = this.#b.step(this.#target(u, 'q'), h_s);
    return movedG || movedB;
  }

  accept(net: PhasorNet): boolean {
    if (!this.#connected) return false;
    const u = share(net, this.#at);
    const { kernel } = this.#at.around;
    if (!this.#cut) {
      const low = u < this.#settings.cutOut;
      if (low && this.#cutTimer === undefined) {
        this.#cutTimer = kernel.at(kernel.now_us, 'protection', this.#at.id, 'cut out', () => this.#cutOut());
      }
      return false;
    }
    if (u > this.#settings.restartAbove) {
      const due_us = (kernel.now_us + this.#settings.restartDelay_us) as SimUs;
      this.#restartTimer ??= kernel.at(due_us, 'protection', this.#at.id, 'restart', () => this.#restart());
    } else {
      this.#forget();
    }
    return false;
  }

  settle(net: PhasorNet): void {
    const u = share(net, this.#at);
    this.#cut = u < this.#settings.cutOut;
    if (this.#cut || !this.#connected) this.#empty();
    else this.#fill(u);
  }

  switched(connected: boolean): void {
    this.#connected = connected;
    this.#forget();
    this.#cut = false;
    if (connected) this.#fill(1);
    else this.#empty();
    if (!connected) this.#stamped_S = 0;
  }

  setPower(power_W: number): void {
    const ratio = this.#power_W > 0 ? power_W / this.#power_W : 0;
    this.#power_W = power_W;
    this.#g.value *= ratio;
    this.#b.value *= ratio;
    if (ratio === 0 && this.#connected && !this.#cut) this.#fill(1);
  }

  power_W(net: PhasorNet): number {
    const volts_V = share(net, this.#at) * this.#at.nominal_V;
    return this.#stamped_S * volts_V * volts_V;
  }

  nominal_S(): number {
    const { zp, ip, pp } = this.#settings.shares;
    return this.#base_S() * (this.#cut ? zp : zp + ip + pp);
  }

  state(): number {
    if (!this.#connected) return 0;
    return this.#cut ? CUT_OUT : RUNS;
  }

  digest(): readonly Plain[] {
    return [this.#power_W, this.#cut, this.#g.value, this.#b.value];
  }

  #cutOut(): void {
    this.#cutTimer = undefined;
    const { around, id } = this.#at;
    around.change(() => {
      around.happened(id, 'cuts out', BY_ITSELF);
      this.#cut = true;
      this.#empty();
    });
  }

  #restart(): void {
    this.#restartTimer = undefined;
    const { around, id } = this.#at;
    around.change(() => {
      around.happened(id, 'cuts in', BY_ITSELF);
      this.#cut = false;
    });
  }

  /** Timers of a state that is left. */
  #forget(): void {
    const { kernel } = this.#at.around;
    if (this.#cutTimer !== undefined) kernel.cancel(this.#cutTimer);
    if (this.#restartTimer !== undefined) kernel.cancel(this.#restartTimer);
    this.#cutTimer = undefined;
    this.#restartTimer = undefined;
  }

  #fill(u: number): void {
    this.#g.value = this.#target(u, 'p');
    this.#b.value = this.#target(u, 'q');
  }

  #empty(): void {
    this.#g.value = 0;
    this.#b.value = 0;
  }

  /** Where the lagged part goes at voltage u, S. */
  #target(u: number, of: 'p' | 'q'): number {
    const { shares, cutOut, top } = this.#settings;
    const held = Math.min(top, Math.max(u, cutOut));
    const base_S = of === 'p' ? this.#base_S() : this.#reactiveBase_S();
    const [i, p] = of === 'p' ? [shares.ip, shares.pp] : [shares.iq, shares.pq];
    return (base_S * (i * held + p)) / (held * held);
  }

  #base_S(): number {
    return (this.#power_W * this.#scale()) / (this.#at.nominal_V * this.#at.nominal_V);
  }

  #reactiveBase_S(): number {
    return this.#base_S() * this.#settings.reactive;
  }
}

function lowVoltage(
  params: Bag,
): Pick<ZipSettings, 'lag_s' | 'cutOut' | 'restartAbove' | 'restartDelay_us' | 'reactive' | 'leading'> {
  return {
    lag_s: numberOf(params, 'lag') / US_PER_S,
    cutOut: numberOf(params, 'cutOut'),
    restartAbove: numberOf(params, 'restartAbove'),
    restartDelay_us: numberOf(params, 'restartDelay'),
    reactive: reactiveShare(numberOf(params, 'powerFactor')),
    leading: textOf(params, 'reactive') === 'leading',
  };
}

export function zipSettings(params: Bag): ZipSettings {
  const named = ZIP_CLASSES[textOf(params, 'zipClass')];
  const own = (name: string): number => numberOf(params, name);
  const shares = named ?? row(own('zp'), own('ip'), own('pp'), own('zq'), own('iq'), own('pq'));
  return { ...lowVoltage(params), shares, top: ZIP_TOP };
}

/** Electronics hold their power at any voltage above their cut-out. */
export function electronicSettings(params: Bag): ZipSettings {
  return { ...lowVoltage(params), shares: row(0, 0, 1, 0, 0, 1), top: Number.POSITIVE_INFINITY };
}
