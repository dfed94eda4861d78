import { describe, expect, it } from 'vitest';
import type { InputName } from '../../../sim/gateway/boundary.ts';
import { isInStep, polesProved } from '../../../sim/gateway/reference-proof.ts';
import { inputsOf } from './inputs.ts';

const V = 1000;
/** House legs, utility legs and volts across the poles, under a test of 4.8 V. */
function proved(house: [number, number], utility: [number, number], across: [number, number]): boolean {
  const [backupL1, backupL2] = [house[0] * V, house[1] * V];
  const [utilityL1, utilityL2] = [utility[0] * V, utility[1] * V];
  const [poleVoltsL1, poleVoltsL2] = [across[0] * V, across[1] * V];
  return polesProved(inputsOf({ backupL1, backupL2, utilityL1, utilityL2, poleVoltsL1, poleVoltsL2 }), 4.8 * V);
}

describe('polesProved at 4.8 V', () => {
  it('both poles open on a dead street', () => {
    expect(proved([2.39, 2.39], [0, 0], [2.39, 2.39])).toBe(true);
  });

  it('one welded pole, either one: both sides of it read the same', () => {
    expect(proved([2.39, 2.39], [2.39, 0], [0, 2.39])).toBe(false);
    expect(proved([2.39, 2.39], [0, 2.39], [2.39, 0])).toBe(false);
  });

  it('a house leg that does not come up, below 40 % of 2.4 V, is not proven though the street is dark', () => {
    expect(proved([0.95, 2.39], [0, 0], [0.95, 2.39])).toBe(false);
    expect(proved([0.97, 2.39], [0, 0], [0.97, 2.39])).toBe(true);
  });

  it('a utility leg up to 10 % of the house leg', () => {
    expect(proved([2.4, 2.4], [0.24, 0], [2.2, 2.4])).toBe(true);
    expect(proved([2.4, 2.4], [0.25, 0], [2.2, 2.4])).toBe(false);
  });

  it('a living street, or one leg of it, proves by the voltage across the pole', () => {
    expect(proved([2.4, 2.4], [120, 120], [118, 122])).toBe(true);
    expect(proved([2.4, 2.4], [120, 0], [118, 2.4])).toBe(true);
    expect(proved([2.4, 2.4], [120, 120], [118, 0])).toBe(false);
  });

  it('a house leg above 12 V is fed by something else', () => {
    expect(proved([12.1, 2.4], [0, 0], [12.1, 2.4])).toBe(false);
  });

  it('nothing is proven by a reading that is stale', () => {
    const values: Partial<Record<InputName, number>> = { backupL1: 2400, backupL2: 2400, utilityL1: 0, utilityL2: 0 };
    expect(polesProved(inputsOf(values), 4800)).toBe(true);
    expect(polesProved(inputsOf(values, { utilityL1: 'stale' }), 4800)).toBe(false);
  });
});

describe('isInStep', () => {
  const settings = { lead_us: 50_000, angle_mdeg: 10_000 };
  const at = (angle_deg: number, f_Hz = 60, u_V = 120, u12_V = 2 * u_V): boolean =>
    isInStep(
      inputsOf({
        backupL2: u_V * 1000,
        backupL12: u12_V * 1000,
        poleAngleL1: angle_deg * 1000,
        poleAngleL2: angle_deg * 1000,
        backupFrequency: f_Hz * 1000,
        backupL1: u_V * 1000,
      }),
      settings,
    );

  it('by the angle at the touch: 0.2 Hz turn 3.6 degrees in 50 ms', () => {
    expect([at(9.9), at(10.1), at(-9.9), at(350.1)]).toEqual([true, false, true, true]);
    expect([at(13.5, 60.2), at(13.7, 60.2), at(-6.3, 60.2), at(-6.5, 60.2)]).toEqual([true, false, true, false]);
  });

  it('not where the legs and line to line of a side differ by more than 4.8 V: one of the readings is wrong', () => {
    expect([at(0, 60, 120, 235.2), at(0, 60, 120, 244.8)]).toEqual([true, true]);
    expect([at(0, 60, 120, 235.1), at(0, 60, 120, 244.9)]).toEqual([false, false]);
  });

  it('not with more than 0.25 Hz or 4.2 V between the sides', () => {
    expect([at(0, 60.25), at(0, 60.26)]).toEqual([true, false]);
    expect([at(0, 60, 115.9), at(0, 60, 115.7)]).toEqual([true, false]);
  });
});
