import { INPUT_NAMES, type InputName, type Inputs, type ReadingState } from '../../../sim/gateway/boundary.ts';
import type { SimUs } from '../../../sim/units.ts';

const SOUND: Partial<Record<InputName, number>> = {
  utilityL1: 120_000,
  utilityL2: 120_000,
  utilityL12: 240_000,
  utilityLegAngle: 180_000,
  utilityFrequency: 60_000,
  backupL1: 120_000,
  backupL2: 120_000,
  backupL12: 240_000,
  backupLegAngle: 180_000,
  backupFrequency: 60_000,
};

/** Readings of a house on a sound utility, all fresh, with some of them other. */
export function inputsOf(
  values: Partial<Record<InputName, number>>,
  states: Partial<Record<InputName, ReadingState>> = {},
): Inputs {
  const readings = INPUT_NAMES.map((name) => [
    name,
    { value: values[name] ?? SOUND[name] ?? 0, at_us: 0, state: states[name] ?? 'fresh' },
  ]);
  return { now_us: 0 as SimUs, scan: 1, ...Object.fromEntries(readings) } as Inputs;
}
