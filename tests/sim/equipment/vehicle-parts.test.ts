import { describe, expect, it } from 'vitest';
import { Battery } from '../../../sim/equipment/battery.ts';
import { asksForDigital, currentOfDuty, dutyOfCurrent } from '../../../sim/equipment/control-pilot.ts';
import { isVersionAtLeast } from '../../../sim/equipment/firmware.ts';
import { Ramp } from '../../../sim/equipment/ramp.ts';
import { createKernel } from '../../../sim/time/kernel.ts';
import type { SimUs } from '../../../sim/units.ts';

describe('Ramp', () => {
  it('ends exactly at its end and reaches 0.02 pu at 20 ms of 1 s', () => {
    const ramp = new Ramp(0, 1, 500, 1_000_000);
    expect(ramp.at(1_000_500)).toBe(1);
    expect(ramp.at(1_000_499)).toBeLessThan(1);
    expect(ramp.reaches_us(0.02)).toBe(20_500);
    expect(ramp.at(ramp.reaches_us(0.3))).toBeGreaterThanOrEqual(0.3);
    expect(new Ramp(2, 3, 7, 0).at(7)).toBe(3);
  });
});

describe('isVersionAtLeast', () => {
  it('compares numbers as numbers, and trusts neither a pre-release nor an unreadable one', () => {
    const good = ['4.2', '4.10', '4.2.0', '5'];
    const bad = ['4.1.9', '4', '4.2-b1', '', 'v4.2', '4..2'];
    expect(good.map((version) => isVersionAtLeast(version, '4.2'))).toEqual(good.map(() => true));
    expect(bad.map((version) => isVersionAtLeast(version, '4.2'))).toEqual(bad.map(() => false));
  });
});

describe('control pilot', () => {
  it('says nothing below 6 A or above 80 A, and refuses a duty beyond 100 %', () => {
    expect(() => dutyOfCurrent(5.9)).toThrow(RangeError);
    expect(() => dutyOfCurrent(80.1)).toThrow(RangeError);
    expect(() => dutyOfCurrent(Number.NaN)).toThrow(RangeError);
    expect(() => currentOfDuty(101)).toThrow(RangeError);
    expect(asksForDigital(5)).toBe(true);
    expect(asksForDigital(7.5)).toBe(false);
  });

  it('goes there and back from 6 to 51 A and from 52.75 to 80 A', () => {
    for (let current_A = 6; current_A <= 80; current_A += 0.25) {
      if (current_A > 51 && current_A <= 52.5) continue; // The curve jumps at 85 %.
      expect(currentOfDuty(dutyOfCurrent(current_A))).toBeCloseTo(current_A, 9);
    }
  });
});

describe('Battery', () => {
  const battery = (soc: number, seen: [number, number][] = []) => {
    const kernel = createKernel({ seed: 1 });
    const settings = { capacity_Wh: 1000, efficiency: 0.5, levels: [0.4, 0.6] };
    const made = new Battery(kernel, 'car', soc, settings, (level) => seen.push([kernel.now_us, level]));
    return { kernel, made };
  };

  it('tells each level at the instant it is reached, in both directions, and stops at the ends', () => {
    const seen: [number, number][] = [];
    const { kernel, made } = battery(0.5, seen);
    made.gives(500); // 1 kW out of the cells: 0.1 in 360 s.
    kernel.runUntil(360_000_000 as SimUs);
    made.gives(-2000); // 1 kW into them.
    kernel.runUntil(7_200_000_000 as SimUs);
    expect(seen).toEqual([
      [360_000_000, 0.4],
      [1_080_000_000, 0.6],
      [2_520_000_000, 1],
    ]);
    expect(made.socAt(kernel.now_us)).toBe(1);
  });

  it('is where it would be at any instant, however often the power is told', () => {
    const one = battery(0.5);
    const many = battery(0.5);
    one.made.gives(100);
    for (let i = 1; i <= 50; i += 1) {
      many.made.gives(100);
      many.kernel.runUntil((i * 1_000_000) as SimUs);
    }
    expect(many.made.socAt(50_000_000)).toBe(one.made.socAt(50_000_000));
  });
});
