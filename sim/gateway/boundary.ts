import type { Unit } from '../telemetry.ts';
import type { SimUs } from '../units.ts';

/** Position codes of `mainAux`, `neutralAux`, `supplyContactor`. */
export const POSITION = { unknown: 0, open: 1, closed: 2 } as const;
/** `vehicleCommand`. */
export const VEHICLE_COMMAND = { idle: 0, charge: 1, discharge: 2, testVoltage: 3, form: 4, stop: 5 } as const;
/** `request`: what a person asks of the gateway. */
export const REQUEST = { none: 0, form: 1, return: 2, reset: 3 } as const;
/** Bits of `commissioning`: what the records say has been done. */
export const COMMISSIONING = { supplyCircuit: 1, firmware: 2, breakerSize: 4, gridProfile: 8, records: 16 } as const;
/** `vehicleFault`: the vehicle's own table says the same, and a test holds the two together. */
export const VEHICLE_FAULT = {
  none: 0,
  overload: 1,
  undervoltage: 2,
  notProven: 3,
  earthFault: 4,
  neutralLost: 5,
  overcharge: 6,
  link: 7,
  internal: 8,
  empty: 9,
} as const;

/** One channel of the boundary: its unit and what it may hold, both ends allowed. */
export interface BoundaryChannel {
  readonly unit: Unit;
  readonly min: number;
  readonly max: number;
  /** Names of the only values there are; a mask lists its bits. */
  readonly codes?: Readonly<Record<string, number>>;
  /** A value outside the range that may stand there while the vehicle is asked for no voltage. */
  readonly atRest?: number;
}

/** Largest int32; its negative is the smallest that is used. */
export const INT32_max = 0x7fff_ffff;

const bit: BoundaryChannel = { unit: 'bit', min: 0, max: 1 };
const size = (unit: Unit): BoundaryChannel => ({ unit, min: 0, max: INT32_max });
const signed = (unit: Unit): BoundaryChannel => ({ unit, min: -INT32_max, max: INT32_max });
const angle: BoundaryChannel = { unit: 'mdeg', min: -180_000, max: 180_000 };
const code = (codes: Readonly<Record<string, number>>): BoundaryChannel => ({
  unit: 'code',
  min: 0,
  max: Math.max(...Object.values(codes)),
  codes,
});
const commissioning: BoundaryChannel = { unit: 'bits', min: 0, max: 31, codes: COMMISSIONING };

/**
 * The controller's boundary: one table of int32 channels, each with its fixed unit and what it may hold.
 *
 * The TypeScript types, and later the C struct, the JSON line and the register map, are made from it, so that every way
 * to attach a controller sees the same bits. `utility` is the side of the isolation relay towards the street.
 */
export const INPUTS = {
  utilityL1: size('mV'),
  utilityL2: size('mV'),
  utilityL12: size('mV'),
  utilityLegAngle: angle,
  utilityFrequency: size('mHz'),
  backupL1: size('mV'),
  backupL2: size('mV'),
  backupL12: size('mV'),
  backupLegAngle: angle,
  backupFrequency: size('mHz'),
  poleVoltsL1: size('mV'),
  poleVoltsL2: size('mV'),
  poleAngleL1: angle,
  poleAngleL2: angle,
  serviceL1: signed('mA'),
  serviceL2: signed('mA'),
  vehicleL1: signed('mA'),
  vehicleL2: signed('mA'),
  pvPower: signed('W'),
  vehiclePower: signed('W'),
  neutralCurrent: size('mA'),
  relayL1Open: bit,
  relayL2Open: bit,
  relayL1Closed: bit,
  relayL2Closed: bit,
  mainAux: code(POSITION),
  neutralAux: code(POSITION),
  controlSupply: size('mV'),
  supplyContactor: code(POSITION),
  plugged: bit,
  plugLocked: bit,
  vehicleReady: bit,
  vehicleFault: code(VEHICLE_FAULT),
  vehicleHeartbeat: size('count'),
  stateOfCharge: { unit: 'permille', min: 0, max: 1000 },
  commissioning,
  request: code(REQUEST),
  onSite: bit,
} as const satisfies Readonly<Record<string, BoundaryChannel>>;

/** The other way. Ranges of voltage and frequency are those that a forming source can be set to. */
export const OUTPUTS = {
  relayCoil: bit,
  neutralContactor: bit,
  pvPermit: bit,
  pvContactor: bit,
  vehicleCommand: code(VEHICLE_COMMAND),
  vehicleLimit: { unit: 'mA', min: 0, max: 1_000_000 },
  islandVoltage: { unit: 'mV', min: 100_000, max: 300_000, atRest: 0 },
  islandFrequency: { unit: 'mHz', min: 50_000, max: 66_000, atRest: 0 },
  shed: { unit: 'bits', min: 0, max: 0xffff },
  plugLock: bit,
  lockout: bit,
  /** Its own table of states: any number that is not negative. */
  reason: size('code'),
} as const satisfies Readonly<Record<string, BoundaryChannel>>;

export type InputName = keyof typeof INPUTS;
export type OutputName = keyof typeof OUTPUTS;
export const INPUT_NAMES = Object.keys(INPUTS) as InputName[];
export const OUTPUT_NAMES = Object.keys(OUTPUTS) as OutputName[];

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

/** Commands under which the vehicle makes a voltage, so that it must be told which. */
const MAKES_VOLTAGE: readonly unknown[] = [VEHICLE_COMMAND.testVoltage, VEHICLE_COMMAND.form];

/** Why an answer is no answer, or undefined: every output what its channel may hold, `wake` an instant, never or each scan. */
export function faultOfAnswer(answer: unknown, now_us: number): string | undefined {
  if (typeof answer !== 'object' || answer === null) return `the answer is ${String(answer)}, not an object`;
  if (typeof (answer as { then?: unknown }).then === 'function')
    return 'the answer is a promise; a scan answers at once';
  const { outputs, wake } = answer as { outputs?: unknown; wake?: unknown };
  if (typeof outputs !== 'object' || outputs === null) return 'the answer has no outputs';
  const values = outputs as Record<string, unknown>;
  const makes = MAKES_VOLTAGE.includes(values['vehicleCommand']);
  for (const name of OUTPUT_NAMES) {
    const expected = faultOfValue(values[name], OUTPUTS[name], makes);
    if (expected !== undefined) return `output ${name} is ${String(values[name])}; expected ${expected}`;
  }
  return faultOfWake(wake, now_us);
}

/** What a channel expects, where the value is none of it. */
function faultOfValue(value: unknown, channel: BoundaryChannel, makesVoltage: boolean): string | undefined {
  const { unit, min, max, codes, atRest } = channel;
  if (typeof value !== 'number' || !Number.isInteger(value) || Math.abs(value) > INT32_max) {
    return unit === 'bit' ? '0 or 1' : `a whole number of 32 bits in ${unit}`;
  }
  if (value === atRest && !makesVoltage) return undefined;
  if (value >= min && value <= max && (codes === undefined || Object.values(codes).includes(value))) return undefined;
  if (unit === 'bit') return '0 or 1';
  if (codes !== undefined) {
    return Object.entries(codes)
      .map(([word, number]) => `${number} ${word}`)
      .join(', ');
  }
  const rest = atRest === undefined ? '' : `, or ${atRest} while the vehicle is to make no voltage`;
  return `${min} to ${max} ${unit}${rest}`;
}

function faultOfWake(wake: unknown, now_us: number): string | undefined {
  if (wake === 'never' || wake === 'each scan') return undefined;
  if (typeof wake !== 'number' || !Number.isSafeInteger(wake))
    return `wake is ${String(wake)}; expected whole µs, 'never' or 'each scan'`;
  return wake > now_us ? undefined : `wake is ${wake} µs, not after this scan at ${now_us} µs`;
}
