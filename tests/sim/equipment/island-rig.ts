import { pv } from '../../../sim/equipment/pv.ts';
import { PV_MODES } from '../../../sim/equipment/pv-chart.ts';
import type { PhasorDevice, PhasorNet } from '../../../sim/network/device.ts';
import { NOMINAL_rad_per_s } from '../../../sim/network/frame.ts';
import type { Pole, Wiring } from '../../../sim/network/wiring.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { stiffSource } from './rig-devices.ts';

/** Parallel load across the legs at nominal: power, quality factor, resonance. */
export interface IslandLoad {
  readonly power_W: number;
  readonly qf?: number;
  readonly f0_Hz?: number;
}

export interface IslandOptions {
  readonly units: readonly Bag[];
  readonly load: IslandLoad;
  readonly start?: Bag;
  readonly seed?: number;
}

/** What checks of an island leave out of the way: switching allowance, filter, droop, noise where a closed form is met. */
export const PLAIN: Bag = { switching: 0, filter: 0, droop: 'no', noise: 0, ceiling: 100, instantLevel: 100 };

/** Levels no island reaches: every trip row off. */
export const NO_TRIPS: Bag = { ov1: 99, ov2: 99, uv1: 1e-6, uv2: 1e-6, of1: 999, of2: 999, uf1: 1e-6, uf2: 1e-6 };

/** Inverters and one parallel R, L and C on a bus, joined to a stiff utility by two poles until `open`. */
export class IslandRig {
  readonly rig: Rig;
  readonly count: number;
  #utility: ReturnType<typeof stiffSource> | undefined;
  #poles: Pole[] = [];
  #openedAt_us = 0;

  constructor(options: IslandOptions) {
    const { load } = options;
    this.count = options.units.length;
    this.rig = new Rig({
      buses: ['street', 'house'],
      pieces: options.units.map((params, i) => ({
        kind: pv,
        id: `pv${i + 1}`,
        at: ['house'],
        params,
        ...(options.start === undefined ? {} : { start: options.start }),
      })),
      devices: (wiring) => this.#wire(wiring, load),
      ...(options.seed === undefined ? {} : { seed: options.seed }),
    });
  }

  /** Both poles part, now. */
  open(): void {
    this.#openedAt_us = this.rig.kernel.now_us;
    this.#set('open');
  }

  close(): void {
    this.#set('closed');
  }

  /** The utility's voltage, pu, and frequency, Hz, from now on. */
  supply(volts_pu: number, f_Hz = 60): void {
    this.rig.change(() => {
      this.#utility!.volts_V = 240 * volts_pu;
      this.#utility!.lead!()!.frame.setFrequency((NOMINAL_rad_per_s * f_Hz) / 60, this.rig.kernel.now_us);
    });
  }

  /** Frequency of the house, Hz. */
  get f_Hz(): number {
    const { w } = this.rig.level.partAt(this.rig.wiring.busIndex('house'));
    return (60 * w) / NOMINAL_rad_per_s;
  }

  get volts_V(): number {
    return this.rig.volts('house', 'L1', 'L2');
  }

  /** Whether every inverter has ceased for good. */
  get ceased(): boolean {
    for (let i = 1; i <= this.count; i += 1) if (this.rig.value(`pv${i}.tripped`) === 0) return false;
    return true;
  }

  /** First trip after the opening, [row, ms]. */
  trip(id = 'pv1'): readonly [string, number] | undefined {
    const found = this.rig.happenings.find(({ piece, did }) => piece === id && did.startsWith('trips'));
    return found === undefined ? undefined : [found.did, (found.at_us - this.#openedAt_us) / 1000];
  }

  #set(state: 'open' | 'closed'): void {
    this.rig.change(() => {
      for (const pole of this.#poles) pole.state = state;
    });
  }

  #wire(wiring: Wiring, load: IslandLoad): PhasorDevice[] {
    const street = wiring.bus('street');
    const house = wiring.bus('house');
    wiring.addNeutral(street.N, house.N, 0.01, 0);
    this.#poles = (['L1', 'L2'] as const).map((leg) => wiring.addPole('main', leg, street, house, 'closed'));
    const { index, L1, L2 } = street;
    this.#utility = stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-4, x_ohm: 1e-4 });
    return [this.#utility, rlc(house.index, house.L1, house.L2, load)];
  }
}

/** Parallel load by its quality factor: B_C = Qf G ω/ω_r at resonance, so that Qf = R sqrt(C/L) at any resonance. */
function rlc(bus: number, a: number, b: number, load: IslandLoad): PhasorDevice {
  const g_S = load.power_W / (240 * 240);
  const qf = load.qf ?? 0;
  const ratio = (load.f0_Hz ?? 60) / 60;
  return { bus, stamp: (net: PhasorNet) => net.shunt(a, b, g_S, (qf * g_S) / ratio, qf * g_S * ratio) };
}

/** One second and one millisecond, µs. */
export const S = 1_000_000;
export const MS = 1000;

/** Units without a method on a stiff utility: the current stands in phase and the power is that of the array. */
export function onGrid(params: Bag = {}, start: Bag = {}, units = 1): IslandRig {
  const each = { detection: 'none', ...params };
  return new IslandRig({ units: Array.from({ length: units }, () => each), load: { power_W: 3000, qf: 0.1 }, start });
}

export const modeOfUnit = (made: IslandRig, id = 'pv1'): string => PV_MODES[made.rig.value(`${id}.mode`)]!;

/** What a unit did, in order. */
export const didOf = (made: IslandRig, id = 'pv1'): string[] =>
  made.rig.happenings.filter(({ piece }) => piece === id).map((one) => one.did);
