import { assert } from '../check.ts';
import type { EquipmentPiece } from '../equipment/piece.ts';
import type { PoleReading, PoleSet } from '../equipment/poles.ts';
import { INPUT_NAMES, type InputName } from '../gateway/boundary.ts';
import type { Tap } from '../gateway/sensors.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import { History } from '../network/window.ts';
import type { Id } from '../site-description.ts';
import { PoleHistory } from './pole-history.ts';
import type { Truth } from './truth.ts';

/** A piece with line poles between two buses. */
export interface Poled extends EquipmentPiece {
  readonly poleSet: PoleSet;
}

export interface TapSources {
  readonly truth: Truth;
  readonly level: () => PhasorLevel;
  readonly pieces: readonly EquipmentPiece[];
  readonly relay: Poled | undefined;
  readonly main: EquipmentPiece | undefined;
  readonly former: EquipmentPiece | undefined;
  readonly vehicle: EquipmentPiece | undefined;
  /** Buses on both sides of the isolation relay, street first. */
  readonly sides: readonly [Id, Id] | undefined;
  readonly person: () => { readonly request: number; readonly onSite: number };
  /** Age of a measured value when it arrives, and time between two samples; 0: one at each scan. */
  readonly latency_us: number;
  readonly sampling_us: number;
}

const NO_POLE: PoleReading = { volts_V: 0, angle_deg: 0, slip_Hz: 0, current_A: 0, power_W: 0 };

/** Wires one input. */
type Put = (name: InputName, fitted: boolean, at: (t_us: number) => number, late_us?: number) => void;
/** Wires one input to a signal without a past of its own; `scale` makes its unit of the signal's. */
type Measured = (name: InputName, fitted: boolean, read: () => number, scale: number) => void;

/** A signal that has no past of its own: the taps keep it, from solution to solution. */
class Traced {
  readonly history: History;
  readonly #read: () => number;

  constructor(read: () => number, lookBack_us: number) {
    this.#read = read;
    this.history = new History(0, lookBack_us);
  }

  take(now_us: number): void {
    this.history.set(now_us, this.#read());
  }
}

/** Every input of the boundary table, wired to the site. Measured values are one-cycle values, late by the latency. */
export class Taps {
  readonly table: Readonly<Record<InputName, Tap>>;
  /** How far a sensor may look back beyond its window, µs. */
  readonly lookBack_us: number;
  readonly #traced: { take(now_us: number): void }[] = [];

  constructor(sources: TapSources) {
    const table = new Map<InputName, Tap>();
    const { truth, sides, latency_us, sampling_us, relay } = sources;
    this.lookBack_us = sampling_us === 0 ? latency_us : latency_us + sampling_us + 1;
    const put: Put = (name, fitted, at, late_us = 0) => {
      table.set(name, { at, fitted, latency_us: late_us });
    };
    const signal = (name: InputName, piece: EquipmentPiece | undefined, key: string, scale = 1): void => {
      put(name, piece?.signal !== undefined, () => (piece?.signal?.(key) ?? 0) * scale);
    };
    const trace = (read: () => number): History => {
      const traced = new Traced(read, this.lookBack_us);
      this.#traced.push(traced);
      return traced.history;
    };
    const measured: Measured = (name, fitted, read, scale) => {
      const history = trace(read);
      put(name, fitted, (t_us) => history.valueAt(t_us) * scale, latency_us);
    };
    const side = (index: 0 | 1, names: readonly [InputName, InputName, InputName, InputName, InputName]): void => {
      const bus = sides?.[index];
      const fitted = bus !== undefined;
      for (const k of [0, 1, 2] as const) {
        put(names[k], fitted, (t_us) => (bus === undefined ? 0 : truth.history(bus)[k].rmsAt(t_us) * 1000), latency_us);
      }
      measured(names[3], fitted, () => (bus === undefined ? 0 : truth.legAngle_deg(bus)), 1000);
      measured(names[4], fitted, () => (bus === undefined ? 0 : truth.f_Hz(bus)), 1000);
    };
    side(0, ['utilityL1', 'utilityL2', 'utilityL12', 'utilityLegAngle', 'utilityFrequency']);
    side(1, ['backupL1', 'backupL2', 'backupL12', 'backupLegAngle', 'backupFrequency']);
    this.#wirePoles(sources, put, measured);
    const { vehicle, former, main, pieces } = sources;
    measured('vehicleL1', vehicle !== undefined, () => vehicle?.signal?.('current1') ?? 0, 1000);
    measured('vehicleL2', vehicle !== undefined, () => vehicle?.signal?.('current2') ?? 0, 1000);
    const inverters = pieces.filter((piece) => piece.kind === 'pv');
    const pvPower = (): number => inverters.reduce((sum, pv) => sum + (pv.signal?.('power') ?? 0), 0);
    measured('pvPower', inverters.length > 0, pvPower, 1);
    measured('vehiclePower', vehicle !== undefined, () => vehicle?.signal?.('power') ?? 0, 1);
    measured('neutralCurrent', former !== undefined, () => former?.signal?.('neutralCurrent') ?? 0, 1000);
    signal('relayL1Open', relay, 'openProved1');
    signal('relayL2Open', relay, 'openProved2');
    signal('relayL1Closed', relay, 'closedProved1');
    signal('relayL2Closed', relay, 'closedProved2');
    const auxFitted = main?.signal !== undefined && main.signal('aux') !== 0;
    put('mainAux', auxFitted, () => main?.signal?.('aux') ?? 0);
    signal('neutralAux', former, 'aux');
    signal('controlSupply', relay, 'controlSupply', 1000);
    signal('supplyContactor', vehicle, 'supplyContactor');
    signal('plugged', vehicle, 'plugged');
    signal('plugLocked', vehicle, 'plugLocked');
    signal('vehicleReady', vehicle, 'ready');
    signal('vehicleFault', vehicle, 'fault');
    signal('vehicleHeartbeat', vehicle, 'heartbeat');
    signal('stateOfCharge', vehicle, 'soc', 1000);
    signal('commissioning', vehicle, 'commissioning');
    put('request', true, () => sources.person().request);
    put('onSite', true, () => sources.person().onSite);
    for (const name of INPUT_NAMES) assert(table.has(name), `input ${name} is wired to nothing`);
    this.table = Object.fromEntries(table) as Record<InputName, Tap>;
  }

  /** What stands across the poles of the relay, and the current through them, minus where it flows to the street. */
  #wirePoles(sources: TapSources, put: Put, measured: Measured): void {
    const { relay, latency_us } = sources;
    const fitted = relay !== undefined;
    const across = (leg: 'L1' | 'L2', t_us: number): PoleReading => {
      const pole = relay?.poleSet.pole(leg);
      return relay === undefined || pole === undefined ? NO_POLE : relay.poleSet.read(sources.level(), pole, t_us);
    };
    for (const [k, leg] of (['L1', 'L2'] as const).entries()) {
      const past =
        this.lookBack_us === 0 ? undefined : this.#tracePole(sources, k as 0 | 1, (t_us) => across(leg, t_us));
      const volts_V = (t_us: number): number => past?.volts_V(t_us) ?? across(leg, t_us).volts_V;
      const angle_deg = (t_us: number): number => past?.angle_deg(t_us) ?? across(leg, t_us).angle_deg;
      put(`poleVolts${leg}`, fitted, (t_us) => volts_V(t_us) * 1000, latency_us);
      put(`poleAngle${leg}`, fitted, (t_us) => angle_deg(t_us) * 1000, latency_us);
      const current_A = (): number => {
        const { current_A, power_W } = across(leg, 0);
        return power_W < 0 ? -current_A : current_A;
      };
      measured(`service${leg}`, fitted, current_A, 1000);
    }
  }

  #tracePole({ truth, sides }: TapSources, leg: 0 | 1, read: (t_us: number) => PoleReading): PoleHistory {
    const history = new PoleHistory(this.lookBack_us);
    const size_V = (bus: Id | undefined, now_us: number): number =>
      bus === undefined ? 0 : truth.history(bus)[leg].valueAt(now_us);
    this.#traced.push({
      take: (now_us) => history.take(now_us, read(now_us), size_V(sides?.[0], now_us), size_V(sides?.[1], now_us)),
    });
    return history;
  }

  /** After each solution: signals that are measured late get their past. */
  take(now_us: number): void {
    for (const traced of this.#traced) traced.take(now_us);
  }
}
