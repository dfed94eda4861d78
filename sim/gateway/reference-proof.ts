import { LEG_V } from '../units.ts';
import type { Inputs, Reading } from './boundary.ts';

/** House leg under test: at least this share of what the test should give it. */
const COMES_UP = 0.4;
/** Utility leg: at most this share of the house leg. */
const STAYS_DOWN = 0.1;
/** A house leg above this, pu, is not under test but fed. */
const FED_pu = 0.1;

/**
 * Whether the test voltage proves both poles open.
 *
 * Per pole: the house leg comes up (one that does not is not proven: a street with load behind a weld holds it down), and
 * the utility leg stays down. Where the utility is alive its leg stands above the house leg for a reason of its own: then
 * the voltage across the pole itself must say that it does not conduct. A far side that lies between the two is no proof.
 */
export function polesProved(inputs: Inputs, testVoltage_mV: number): boolean {
  const expected_mV = testVoltage_mV / 2;
  const { backupL1, backupL2, utilityL1, utilityL2, poleVoltsL1, poleVoltsL2 } = inputs;
  return (
    isProved(backupL1, utilityL1, poleVoltsL1, expected_mV) && isProved(backupL2, utilityL2, poleVoltsL2, expected_mV)
  );
}

function isProved(house: Reading, utility: Reading, across: Reading, expected_mV: number): boolean {
  if (house.state !== 'fresh' || utility.state !== 'fresh') return false;
  const isUnderTest = house.value >= COMES_UP * expected_mV && house.value <= FED_pu * LEG_V * 1000;
  if (!isUnderTest) return false;
  if (utility.value <= STAYS_DOWN * house.value) return true;
  return utility.value > house.value && across.state === 'fresh' && across.value >= utility.value / 2;
}

export interface SyncSettings {
  /** From the scan that orders to the touch, µs: scan, latency of the readings, travel of the relay. */
  readonly lead_us: number;
  /** Largest predicted angle, mdeg. */
  readonly angle_mdeg: number;
}

/**
 * Differences of voltage, pu of a leg, and of frequency up to which the poles may meet: inside the limits, for what is not
 * measured. Where no neutral holds the middle, the second pole meets twice the difference of the first, angle and all.
 */
const VOLTS_APART_pu = 0.035;
/** The legs of a side and its line to line may differ by so much, pu of a leg; by more, and one of the readings is wrong. */
const CONTRADICT_pu = 0.04;
const HERTZ_APART_mHz = 250;
const TURN_mdeg = 360_000;

/** Whether both poles would touch in step: by the angle predicted for the touch, not by the one of the scan. */
export function isInStep(inputs: Inputs, { lead_us, angle_mdeg }: SyncSettings): boolean {
  const { utilityFrequency, backupFrequency, poleAngleL1, poleAngleL2 } = inputs;
  const { utilityL1, utilityL2, utilityL12, backupL1, backupL2, backupL12 } = inputs;
  const pairs = [
    [utilityL1, backupL1],
    [utilityL2, backupL2],
  ] as const;
  const sides = [
    [utilityL1, utilityL2, utilityL12],
    [backupL1, backupL2, backupL12],
  ] as const;
  const readings = [utilityFrequency, backupFrequency, poleAngleL1, poleAngleL2, ...sides.flat()];
  if (readings.some(({ state }) => state !== 'fresh')) return false;
  const slip_mHz = utilityFrequency.value - backupFrequency.value;
  const apart = pairs.some(([a, b]) => Math.abs(a.value - b.value) > VOLTS_APART_pu * LEG_V * 1000);
  const contradict = sides.some(([a, b, ab]) => Math.abs(a.value + b.value - ab.value) > CONTRADICT_pu * LEG_V * 1000);
  if (apart || contradict || Math.abs(slip_mHz) > HERTZ_APART_mHz) return false;
  const turned_mdeg = (TURN_mdeg * slip_mHz * lead_us) / 1e9;
  return [poleAngleL1, poleAngleL2].every(({ value }) => {
    const angle = value + turned_mdeg;
    return Math.abs(angle - TURN_mdeg * Math.round(angle / TURN_mdeg)) <= angle_mdeg;
  });
}
