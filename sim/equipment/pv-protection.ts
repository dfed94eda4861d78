import { PI, sin } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { History } from '../network/window.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, type Id, numberOf, textOf } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { LEG_V, LINE_V, type SimUs, US_PER_S } from '../units.ts';
import { type Category, type TripSetting, TripWatch, tripSettings } from './pv-trips.ts';

/** Rows of frequency rest below this voltage, pu: IEEE 1547-2018, 6.5.1 (from memory). */
const FREQUENCY_FLOOR = 0.3;
const HALF_CYCLE_s = 1 / 120;

/** What the protection has found; each is told by a timer, never inside a solution. */
export interface Findings {
  trips(row: string): void;
  ceases(): void;
  recovers(): void;
  window(inside: boolean): void;
}

/**
 * rms level that a sine must pass to stay above `level` of nominal crest for `time_s` in each half wave:
 * level / sin(π/2 (1 - 120 t)).
 */
export function instantaneousLevel(level: number, time_s: number): number {
  return level / sin((PI / 2) * (1 - time_s / HALF_CYCLE_s));
}

/** Whether a choice of yes, no and "by category" says yes. The editions before 2018 know neither cessation, droop nor ramp. */
export function categorySays(params: Bag, name: string, categories: readonly string[]): boolean {
  const said = textOf(params, name);
  return said === 'yes' || (said === 'by category' && categories.includes(textOf(params, 'category')));
}

/** The voltage and frequency that a following source goes by, PV or a vehicle, and every window and trip row on them. */
export class PvProtection {
  readonly #kernel: Kernel;
  readonly #id: Id;
  readonly #bus: WiredBus;
  readonly #findings: Findings;
  readonly #voltageRows: TripWatch[];
  readonly #frequencyRows: TripWatch[];
  readonly #cessation: TripWatch[];
  readonly #instant: TripWatch;
  readonly #openPhase: TripWatch | undefined;
  readonly #recovery: readonly [number, number];
  readonly #enter: { readonly low: number; readonly high: number; readonly lowHz: number; readonly highHz: number };
  #history = new History(0);
  #size = 0;
  #U = 0;
  #f_Hz = 60;
  #imbalance = 0;
  #recovers = false;
  #inside = false;

  constructor(kernel: Kernel, id: Id, bus: WiredBus, params: Bag, findings: Findings) {
    this.#kernel = kernel;
    this.#id = id;
    this.#bus = bus;
    this.#findings = findings;
    const switching_us = numberOf(params, 'switching');
    const watch = (setting: Omit<TripSetting, 'of'>, kept_us = switching_us, act = () => findings.trips(setting.row)) =>
      new TripWatch(kernel, id, setting, kept_us, act);
    const settings = tripSettings(textOf(params, 'category') as Category, (row) => ({
      level: numberOf(params, row.toLowerCase()),
      time_us: numberOf(params, `${row.toLowerCase()}Time`),
    }));
    this.#voltageRows = settings.filter(({ of }) => of === 'voltage').map((setting) => watch(setting));
    this.#frequencyRows = settings.filter(({ of }) => of === 'frequency').map((setting) => watch(setting));
    const limit = (name: string, side: 'over' | 'under') =>
      watch(
        { row: 'cessation', side, level: numberOf(params, name), time_us: numberOf(params, 'cessationTime') },
        switching_us,
        () => findings.ceases(),
      );
    const ceases = categorySays(params, 'cessation', ['III']);
    this.#cessation = ceases ? [limit('cessationLow', 'under'), limit('cessationHigh', 'over')] : [];
    this.#recovery = [numberOf(params, 'recoveryLow'), numberOf(params, 'recoveryHigh')];
    // The crest that passes the level comes within half a cycle: at this level it is taken to come after a quarter of one.
    const instant_s = numberOf(params, 'instantTime') / US_PER_S;
    const level = instantaneousLevel(numberOf(params, 'instantLevel'), instant_s);
    const time_us = Math.round((HALF_CYCLE_s / 2 + instant_s / 2) * US_PER_S);
    this.#instant = watch({ row: 'INST', side: 'over', level, time_us }, 0);
    const senses = textOf(params, 'openPhase');
    if (senses === 'yes' || (senses === 'by leads' && textOf(params, 'leads') === '3')) {
      const legs = numberOf(params, 'openPhaseLevel');
      this.#openPhase = watch({
        row: 'OPEN PHASE',
        side: 'over',
        level: legs,
        time_us: numberOf(params, 'openPhaseTime'),
      });
    }
    this.#enter = enterWindow(params);
  }

  /** One-cycle rms of the voltage across its legs, pu. */
  get U(): number {
    return this.#U;
  }

  /** The past is as the present. */
  settle(size_V: number, f_Hz: number, net: PhasorNet): void {
    this.#history = new History(size_V);
    this.#size = size_V / LINE_V;
    this.#U = this.#size;
    this.#f_Hz = f_Hz;
    this.#imbalance = this.#legImbalance(net);
  }

  /** Looks at a new solution. `mode` says which windows are open. True while the one-cycle value still moves. */
  look(net: PhasorNet, h_s: number, size_V: number, f_Hz: number, mode: 'serving' | 'ceased' | 'out'): boolean {
    const now_us = net.now_us;
    const from_us = now_us - Math.round(h_s * US_PER_S);
    this.#history.set(now_us, size_V);
    const U = this.#history.rmsAt(now_us) / LINE_V;
    const size = size_V / LINE_V;
    const imbalance = this.#openPhase === undefined ? 0 : this.#legImbalance(net);
    if (mode === 'out') {
      this.#lookAtWindow(U, f_Hz);
    } else {
      for (const row of this.#voltageRows) row.look(this.#U, U, from_us, now_us);
      for (const row of this.#frequencyRows) row.look(this.#f_Hz, f_Hz, from_us, now_us, U < FREQUENCY_FLOOR);
      this.#instant.look(this.#size, size, from_us, now_us);
      this.#openPhase?.look(this.#imbalance, imbalance, from_us, now_us);
      if (mode === 'serving') for (const limit of this.#cessation) limit.look(this.#U, U, from_us, now_us);
      else this.#lookForRecovery(U);
    }
    this.#size = size;
    this.#U = U;
    this.#f_Hz = f_Hz;
    this.#imbalance = imbalance;
    return this.#history.settledFrom_us > now_us;
  }

  /** Every timer off: it has ceased for good, or begins anew. The window for entering service counts as left. */
  clear(): void {
    this.#inside = false;
    const watches = [...this.#voltageRows, ...this.#frequencyRows, ...this.#cessation, this.#instant];
    for (const watch of watches) watch.clear();
    this.#openPhase?.clear();
  }

  /** The cessation timers alone: it has ceased for the moment, and the trip rows run on. */
  clearCessation(): void {
    for (const limit of this.#cessation) limit.clear();
  }

  digest(now_us: number): readonly number[] {
    const rows = [...this.#voltageRows, ...this.#frequencyRows, ...this.#cessation, this.#instant];
    return [this.#U, ...rows.map((row) => row.left_us(now_us))];
  }

  #lookAtWindow(U: number, f_Hz: number): void {
    const { low, high, lowHz, highHz } = this.#enter;
    const inside = U >= low && U <= high && f_Hz >= lowHz && f_Hz <= highHz;
    if (inside === this.#inside) return;
    this.#inside = inside;
    this.#findings.window(inside);
  }

  #lookForRecovery(U: number): void {
    if (this.#recovers || U < this.#recovery[0] || U > this.#recovery[1]) return;
    this.#recovers = true;
    this.#kernel.at(this.#kernel.now_us as SimUs, 'protection', this.#id, 'recovers', () => {
      this.#recovers = false;
      this.#findings.recovers();
    });
  }

  /** Difference of the two leg voltages, pu of 120 V. */
  #legImbalance(net: PhasorNet): number {
    const size = (a: number, b: number): number => {
      const re = net.re(a) - net.re(b);
      const im = net.im(a) - net.im(b);
      return Math.sqrt(re * re + im * im);
    };
    return Math.abs(size(this.#bus.L1, this.#bus.N) - size(this.#bus.N, this.#bus.L2)) / LEG_V;
  }
}

/** Window for entering service: IEEE 1547-2018, Table 4; before that ANSI C84.1 range B and 59.3 to 60.5 Hz (from memory). */
export function enterWindow(params: Bag): { low: number; high: number; lowHz: number; highHz: number } {
  const old = textOf(params, 'category').startsWith('20');
  const pick = (name: string, standard: number): number => {
    const given = numberOf(params, name);
    return given > 0 ? given : standard;
  };
  return {
    low: pick('enterLow', old ? 0.88 : 0.917),
    high: pick('enterHigh', old ? 1.058 : 1.05),
    lowHz: pick('enterLowF', old ? 59.3 : 59.5),
    highHz: pick('enterHighF', old ? 60.5 : 60.1),
  };
}
