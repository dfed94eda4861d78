import { assert } from '../check.ts';
import type { EquipmentPiece } from '../equipment/piece.ts';
import type { PoleSet } from '../equipment/poles.ts';
import { INPUT_NAMES, type InputName } from '../gateway/boundary.ts';
import type { Tap } from '../gateway/sensors.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import { History } from '../network/window.ts';
import type { Id } from '../site-description.ts';
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
  readonly latency_us: number;
}

/** A signal that has no past of its own: the taps keep it, from solution to solution. */
class Traced {
  readonly history: History;
  readonly #read: () => number;

  constructor(read: () => number, latency_us: number) {
    this.#read = read;
    this.history = new History(0, latency_us);
  }

  take(now_us: number): void {
    this.history.set(now_us, this.#read());
  }
}

/** Every input of the boundary table, wired to the site. Measured values are one-cycle values, late by the latency. */
export class Taps {
  readonly table: Readonly<Record<InputName, Tap>>;
  readonly #traced: Traced[] = [];

  constructor(sources: TapSources) {
    const table = new Map<InputName, Tap>();
    const { truth, sides, latency_us, relay } = sources;
    const put = (name: InputName, fitted: boolean, at: (t_us: number) => number, late_us = 0): void => {
      table.set(name, { at, fitted, latency_us: late_us });
    };
    const signal = (name: InputName, piece: EquipmentPiece | undefined, key: string, scale = 1): void => {
      put(name, piece?.signal !== undefined, () => (piece?.signal?.(key) ?? 0) * scale);
    };
    const trace = (read: () => number): History => {
      const traced = new Traced(read, latency_us);
      this.#traced.push(traced);
      return traced.history;
    };
    const measured = (name: InputName, fitted: boolean, read: () => number, scale: number): void => {
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
    const acrossPole = (
      leg: 'L1' | 'L2',
      t_us: number,
    ): { volts_V: number; angle_deg: number; current_A: number; power_W: number } => {
      const pole = relay?.poleSet.pole(leg);
      if (relay === undefined || pole === undefined) return { volts_V: 0, angle_deg: 0, current_A: 0, power_W: 0 };
      return relay.poleSet.read(sources.level(), pole, t_us);
    };
    put('poleVoltsL1', relay !== undefined, (t_us) => acrossPole('L1', t_us).volts_V * 1000, latency_us);
    put('poleVoltsL2', relay !== undefined, (t_us) => acrossPole('L2', t_us).volts_V * 1000, latency_us);
    put('poleAngleL1', relay !== undefined, (t_us) => acrossPole('L1', t_us).angle_deg * 1000, latency_us);
    put('poleAngleL2', relay !== undefined, (t_us) => acrossPole('L2', t_us).angle_deg * 1000, latency_us);
    const serviceAmps = (leg: 'L1' | 'L2') => (): number => {
      const { current_A, power_W } = acrossPole(leg, 0);
      return power_W < 0 ? -current_A : current_A;
    };
    measured('serviceL1', relay !== undefined, serviceAmps('L1'), 1000);
    measured('serviceL2', relay !== undefined, serviceAmps('L2'), 1000);
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

  /** After each solution: signals that are measured late get their past. */
  take(now_us: number): void {
    for (const traced of this.#traced) traced.take(now_us);
  }
}
