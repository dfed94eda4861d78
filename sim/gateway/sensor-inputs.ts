import { INPUT_NAMES, type InputName } from './boundary.ts';

/** What a measured input measures; an input that is not here is a contact, a code or a message. */
export const MEASURES: { readonly [K in InputName]?: MeasuredClass } = {
  utilityL1: 'voltage',
  utilityL2: 'voltage',
  utilityL12: 'voltage',
  utilityLegAngle: 'angle',
  utilityFrequency: 'frequency',
  backupL1: 'voltage',
  backupL2: 'voltage',
  backupL12: 'voltage',
  backupLegAngle: 'angle',
  backupFrequency: 'frequency',
  poleVoltsL1: 'voltage',
  poleVoltsL2: 'voltage',
  poleAngleL1: 'angle',
  poleAngleL2: 'angle',
  serviceL1: 'current',
  serviceL2: 'current',
  vehicleL1: 'current',
  vehicleL2: 'current',
  pvPower: 'power',
  vehiclePower: 'power',
  neutralCurrent: 'current',
};

export type MeasuredClass = 'voltage' | 'angle' | 'frequency' | 'current' | 'power';

/** Inputs that can be sampled, noisy, off and out of scale, in the order of the boundary table. */
export const MEASURED_INPUTS: readonly InputName[] = INPUT_NAMES.filter((name) => MEASURES[name] !== undefined);

/** Inputs whose current transformer can be turned round: those with a sign. */
export const TRANSFORMER_INPUTS = ['serviceL1', 'serviceL2', 'vehicleL1', 'vehicleL2', 'pvPower'] as const;

/** Pairs of current transformers that can be exchanged. */
export const TRANSFORMER_PAIRS = {
  service: ['serviceL1', 'serviceL2'],
  vehicle: ['vehicleL1', 'vehicleL2'],
} as const satisfies Readonly<Record<string, readonly [InputName, InputName]>>;

/** Sides whose sense leads of L1 and L2 can be exchanged. */
export const SIDES = ['utility', 'backup'] as const;

export type TransformerPair = keyof typeof TRANSFORMER_PAIRS;
export type Side = (typeof SIDES)[number];
