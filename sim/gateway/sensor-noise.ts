import type { Chance } from '../time/time.ts';
import { INPUTS, type InputName } from './boundary.ts';
import { MEASURES, type MeasuredClass } from './sensor-inputs.ts';

const TURN_mdeg = 360_000;
const HALF_TURN_mdeg = 180_000;

/**
 * Adds noise to the value of one input, in its unit: σ · (n₁ + n₂ + n₃), each nᵢ uniform in [-1, 1).
 *
 * Three such draws have together a standard deviation of 1 and are near enough to a bell, bounded at 3σ. The noise is a
 * function of seed, input and sample number, so a sample that nobody looks at shifts no other. What cannot be negative
 * stays at 0 or above, an angle stays in its range. A frequency or an angle of 0 says that there is nothing to measure
 * and stays 0.
 *
 * @param value - true value in the unit of the input
 * @param sample - number of the sample, whole, 0 to 2^51
 */
export function noisy(chance: Chance, name: InputName, sigma: number, value: number, sample: number): number {
  const measures = MEASURES[name];
  if (sigma === 0 || measures === undefined) return value;
  if (value === 0 && (measures === 'angle' || measures === 'frequency')) return 0;
  const key = `gateway.in.${name}`;
  const first = 3 * sample;
  const draws = chance.noise(key, first) + chance.noise(key, first + 1) + chance.noise(key, first + 2);
  return within(name, measures, value + sigma * draws);
}

/** Into the range that such a reading has: magnitudes from 0 up, legs apart 0° to 180°, poles apart -180° to 180°. */
function within(name: InputName, measures: MeasuredClass, value: number): number {
  if (measures === 'voltage' || measures === 'frequency' || name === 'neutralCurrent') return Math.max(0, value);
  if (measures !== 'angle') return value;
  if (name === 'utilityLegAngle' || name === 'backupLegAngle') {
    const size = Math.abs(value);
    return size > HALF_TURN_mdeg ? Math.max(0, TURN_mdeg - size) : size;
  }
  return halfTurn_mdeg(value);
}

/** The same angle in (-180°, 180°], mdeg; for angles less than two turns away. */
export function halfTurn_mdeg(angle_mdeg: number): number {
  if (angle_mdeg > HALF_TURN_mdeg) return angle_mdeg - TURN_mdeg;
  return angle_mdeg <= -HALF_TURN_mdeg ? angle_mdeg + TURN_mdeg : angle_mdeg;
}

/** σ of each class in the unit of its readings, from settings in SI units. */
export type NoiseSigmas = Readonly<Record<MeasuredClass, number>>;

/** How many of the input's counts make one SI unit. */
export const countsPerUnit = (name: InputName): number => (INPUTS[name].unit.startsWith('m') ? 1000 : 1);
