import { describe, expect, it } from 'vitest';
import type { InputName } from '../../../sim/gateway/boundary.ts';
import { halfTurn_mdeg, noisy } from '../../../sim/gateway/sensor-noise.ts';
import { createChance } from '../../../sim/time/chance.ts';
import { sensorRig } from './sensor-rig.ts';

const chance = createChance(7);
const draws = (name: InputName, sigma: number, value: number, count = 4_000): number[] =>
  Array.from({ length: count }, (_, sample) => noisy(chance, name, sigma, value, sample));
const mean = (values: readonly number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;

describe('noisy', () => {
  it('has the asked mean and deviation within 5 %, and never more than three deviations', () => {
    const errors = draws('utilityL1', 200, 120_000).map((value) => value - 120_000);
    const deviation = Math.sqrt(mean(errors.map((error) => error * error)));
    // 4000 samples: the mean is good to 200/√4000 = 3.2 mV, the deviation to about 1 %.
    expect(Math.abs(mean(errors))).toBeLessThan(13);
    expect(Math.abs(deviation / 200 - 1)).toBeLessThan(0.05);
    expect(Math.max(...errors.map(Math.abs))).toBeLessThanOrEqual(600);
    // Two in three draws of a bell lie within one deviation; of a flat one only 58 %.
    expect(errors.filter((error) => Math.abs(error) <= 200).length / errors.length).toBeGreaterThan(0.63);
  });

  it('does not tie neighbouring samples or inputs to each other', () => {
    const one = draws('utilityL1', 1, 1_000).map((value) => value - 1_000);
    const other = draws('utilityL2', 1, 1_000).map((value) => value - 1_000);
    expect(Math.abs(mean(one.map((value, i) => value * other[i]!)))).toBeLessThan(0.07);
    expect(Math.abs(mean(one.slice(1).map((value, i) => value * one[i]!)))).toBeLessThan(0.07);
  });

  it('keeps magnitudes at 0 or above and lets currents change sign', () => {
    expect(Math.min(...draws('backupL1', 500, 100))).toBe(0);
    expect(Math.min(...draws('neutralCurrent', 500, 100))).toBe(0);
    expect(Math.min(...draws('serviceL1', 500, 100))).toBeLessThan(-500);
  });

  it('keeps the legs within 180° and the poles within ±180°', () => {
    const legs = draws('utilityLegAngle', 1_000, 180_000);
    expect(Math.max(...legs)).toBeLessThanOrEqual(180_000);
    expect(Math.min(...legs)).toBeLessThan(178_000);
    const poles = draws('poleAngleL1', 1_000, 179_900);
    expect(Math.max(...poles)).toBeLessThanOrEqual(180_000);
    expect(Math.min(...poles)).toBeLessThan(-178_000);
  });

  it('leaves alone what is not measured: contacts, and an angle or a frequency where nothing turns', () => {
    expect(noisy(chance, 'relayL1Open', 5, 1, 3)).toBe(1);
    expect(noisy(chance, 'utilityFrequency', 5, 0, 3)).toBe(0);
    expect(noisy(chance, 'utilityLegAngle', 5, 0, 3)).toBe(0);
    expect(noisy(chance, 'utilityL1', 0, 120_000, 3)).toBe(120_000);
  });
});

describe('halfTurn_mdeg', () => {
  it('brings an angle into (-180°, 180°]', () => {
    expect([180_000, 180_001, -180_000, -170_000, 350_000].map(halfTurn_mdeg)).toEqual([
      180_000, -179_999, 180_000, -170_000, -10_000,
    ]);
  });
});

describe('Sensors under noise', () => {
  const settings = { sensorSampling: 100_000, noiseVoltage: 0.2, noisePower: 10 };
  const signals = { utilityL1: () => 120_000, pvPower: () => 3_000, serviceL1: () => 5_000 };
  const rig = (seed: number) => sensorRig({ signals, settings, seed });

  it('hold one draw a sample and draw anew for the next', () => {
    const { value } = rig(1);
    expect(value('utilityL1', 799_999)).toBe(value('utilityL1', 700_000));
    expect(value('utilityL1', 800_000)).not.toBe(value('utilityL1', 700_000));
  });

  it('give the same sample whatever was looked at before, and another for another seed', () => {
    const looked = rig(1);
    for (let at_us = 0; at_us < 900_000; at_us += 10_000) looked.value('utilityL1', at_us);
    expect(looked.value('utilityL1', 900_000)).toBe(rig(1).value('utilityL1', 900_000));
    expect(looked.value('utilityL1', 900_000)).not.toBe(rig(2).value('utilityL1', 900_000));
  });

  it('disturb each class by its own setting: 200 mV, 10 W, and no current', () => {
    const { value } = rig(1);
    const most = (name: InputName, mean_: number): number =>
      Math.max(...Array.from({ length: 100 }, (_, k) => Math.abs(value(name, k * 100_000) - mean_)));
    expect(most('utilityL1', 120_000)).toBeGreaterThan(200);
    expect(most('utilityL1', 120_000)).toBeLessThanOrEqual(600);
    expect(most('pvPower', 3_000)).toBeGreaterThan(10);
    expect(most('pvPower', 3_000)).toBeLessThanOrEqual(30);
    expect(most('serviceL1', 5_000)).toBe(0);
  });
});
