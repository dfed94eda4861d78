import type { SimUs } from '../units.ts';

/**
 * The controller's boundary: one table of int32 channels in fixed units.
 *
 * The TypeScript types, and later the C struct, the JSON line and the register map, are made from it, so that every way
 * to attach a controller sees the same bits. `utility` is the side of the isolation relay towards the street.
 */
export const INPUTS = {
  utilityL1: 'mV',
  utilityL2: 'mV',
  utilityL12: 'mV',
  utilityLegAngle: 'mdeg',
  utilityFrequency: 'mHz',
  backupL1: 'mV',
  backupL2: 'mV',
  backupL12: 'mV',
  backupLegAngle: 'mdeg',
  backupFrequency: 'mHz',
  poleVoltsL1: 'mV',
  poleVoltsL2: 'mV',
  poleAngleL1: 'mdeg',
  poleAngleL2: 'mdeg',
  serviceL1: 'mA',
  serviceL2: 'mA',
  vehicleL1: 'mA',
  vehicleL2: 'mA',
  pvPower: 'W',
  vehiclePower: 'W',
  neutralCurrent: 'mA',
  relayL1Open: 'bit',
  relayL2Open: 'bit',
  relayL1Closed: 'bit',
  relayL2Closed: 'bit',
  mainAux: 'code',
  neutralAux: 'code',
  controlSupply: 'mV',
  supplyContactor: 'code',
  plugged: 'bit',
  plugLocked: 'bit',
  vehicleReady: 'bit',
  vehicleFault: 'code',
  vehicleHeartbeat: 'count',
  stateOfCharge: 'permille',
  commissioning: 'bits',
  request: 'code',
  onSite: 'bit',
} as const;

export const OUTPUTS = {
  relayCoil: 'bit',
  neutralContactor: 'bit',
  pvPermit: 'bit',
  pvContactor: 'bit',
  vehicleCommand: 'code',
  vehicleLimit: 'mA',
  islandVoltage: 'mV',
  islandFrequency: 'mHz',
  shed: 'bits',
  plugLock: 'bit',
  lockout: 'bit',
  reason: 'code',
} as const;

export type InputName = keyof typeof INPUTS;
export type OutputName = keyof typeof OUTPUTS;
export const INPUT_NAMES = Object.keys(INPUTS) as InputName[];
export const OUTPUT_NAMES = Object.keys(OUTPUTS) as OutputName[];

/** Position codes of `mainAux`, `neutralAux`, `supplyContactor`. */
export const POSITION = { unknown: 0, open: 1, closed: 2 } as const;
/** `vehicleCommand`. */
export const VEHICLE_COMMAND = { idle: 0, charge: 1, discharge: 2, testVoltage: 3, form: 4, stop: 5 } as const;
/** `request`: what a person asks of the gateway. */
export const REQUEST = { none: 0, form: 1, return: 2, reset: 3 } as const;
/** Bits of `commissioning`: what the records say has been done. */
export const COMMISSIONING = { supplyCircuit: 1, firmware: 2, breakerSize: 4, gridProfile: 8, records: 16 } as const;
/** `vehicleFault`. */
export const VEHICLE_FAULT = {
  none: 0,
  overload: 1,
  undervoltage: 2,
  notProven: 3,
  earthFault: 4,
  neutralLost: 5,
} as const;

export type ReadingState = 'fresh' | 'stale' | 'not fitted';
/** One input: the value, the instant of its sample, and what it is worth. */
export interface Reading {
  readonly value: number;
  readonly at_us: number;
  readonly state: ReadingState;
}

export type Inputs = { readonly now_us: SimUs; readonly scan: number } & { readonly [K in InputName]: Reading };
export type Outputs = { readonly [K in OutputName]: number };

/** `wake`: the instant at which it must be scanned though nothing has changed. */
export interface ScanResult {
  readonly outputs: Outputs;
  readonly wake: SimUs | 'never' | 'each scan';
}

/**
 * The transfer logic under test.
 *
 * Scans stand on a grid. One is skipped when no reading's value or state has changed (instants and the heartbeat's
 * count do not matter, its state does) and `wake` has not come: a controller must not count scans.
 */
export interface Controller {
  /** At the start of a run, and again after its supply was lost. */
  boot(seed: number): void;
  scan(inputs: Inputs): ScanResult;
  /** Undefined: states cannot be told apart. */
  digestState(): string | undefined;
  /** Names of the states it is in, for coverage. */
  inState?(): readonly string[];
}

/** Every output at rest: relay coil off, permit off, vehicle idle. What the site holds before the first answer. */
export const OUTPUTS_AT_REST: Outputs = {
  relayCoil: 0,
  neutralContactor: 0,
  pvPermit: 0,
  pvContactor: 0,
  vehicleCommand: VEHICLE_COMMAND.idle,
  vehicleLimit: 0,
  islandVoltage: 240_000,
  islandFrequency: 60_000,
  shed: 0,
  plugLock: 0,
  lockout: 0,
  reason: 0,
};

/** Why an answer is no answer, or undefined: every output a whole number of 32 bits, `wake` an instant, never or each scan. */
export function faultOfAnswer(answer: unknown, now_us: number): string | undefined {
  if (typeof answer !== 'object' || answer === null) return `the answer is ${String(answer)}, not an object`;
  const { outputs, wake } = answer as { outputs?: unknown; wake?: unknown };
  if (typeof outputs !== 'object' || outputs === null) return 'the answer has no outputs';
  for (const name of OUTPUT_NAMES) {
    const value = (outputs as Record<string, unknown>)[name];
    if (typeof value !== 'number' || !Number.isInteger(value) || Math.abs(value) > 0x7fff_ffff) {
      return `output ${name} is ${String(value)}; expected a whole number of 32 bits in ${OUTPUTS[name]}`;
    }
    if (OUTPUTS[name] === 'bit' && value !== 0 && value !== 1) return `output ${name} is ${value}; expected 0 or 1`;
  }
  if (wake === 'never' || wake === 'each scan') return undefined;
  if (typeof wake !== 'number' || !Number.isInteger(wake))
    return `wake is ${String(wake)}; expected whole µs, 'never' or 'each scan'`;
  if (wake <= now_us) return `wake is ${wake} µs, not after this scan at ${now_us} µs`;
  return undefined;
}
