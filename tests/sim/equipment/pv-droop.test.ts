import { describe, expect, it } from 'vitest';
import { Droop, droopTarget } from '../../../sim/equipment/pv-droop.ts';
import { createKernel } from '../../../sim/time/kernel.ts';
import type { SimUs } from '../../../sim/units.ts';

const SETTINGS = { deadBand_Hz: 0.036, slope: 0.05, response_s: 5 };

function driven(): { droop: Droop; stairs: [number, number][]; run: (until_s: number) => void } {
  const kernel = createKernel({ seed: 1 });
  const stairs: [number, number][] = [];
  const droop = new Droop(kernel, 'pv', SETTINGS, (drop) => stairs.push([kernel.now_us / 1e6, drop]));
  return { droop, stairs, run: (until_s) => kernel.runUntil(Math.round(until_s * 1e6) as SimUs) };
}

// IEEE 1547-2018, 6.5.2.7: 0.1547 pu at 60.5 Hz, 0.3880 pu at 61.2 Hz with db 0.036 Hz, k 0.05.
describe('droopTarget', () => {
  it('is 0.1547 pu at 60.5 Hz, 0.3880 pu at 61.2 Hz, nothing at and below 60.036 Hz', () => {
    expect(droopTarget(60.5, 0.036, 0.05)).toBeCloseTo(0.1547, 4);
    expect(droopTarget(61.2, 0.036, 0.05)).toBeCloseTo(0.388, 4);
    expect(droopTarget(60.036, 0.036, 0.05)).toBeCloseTo(0, 12);
    expect(droopTarget(58, 0.036, 0.05)).toBe(0);
  });
});

describe('Droop', () => {
  // Open-loop response: 90 % of a step within 5 s, so x(t) = d (1 - 10^(-t/5)); a stair of y is passed at -5 lg(1 - y/d).
  it('climbs by stairs of 0.05 pu at the instants of d (1 - 10^(-t / 5 s)) and ends on the target', () => {
    const { droop, stairs, run } = driven();
    droop.drive(61.2);
    run(60);
    expect(stairs).toHaveLength(8);
    for (let k = 1; k <= 7; k += 1) {
      expect(stairs[k - 1]![1]).toBeCloseTo(0.05 * k, 9);
      expect(stairs[k - 1]![0]).toBeCloseTo(-5 * Math.log10(1 - (0.05 * k) / 0.388), 5);
    }
    expect(stairs[7]![1]).toBeCloseTo(0.388, 9);
  });

  it('goes back to exactly zero, and turns round midway without a jump', () => {
    const { droop, stairs, run } = driven();
    droop.drive(61.2);
    run(2);
    const before = droop.shown;
    droop.drive(60);
    run(2.01);
    expect(Math.abs(droop.shown - before)).toBeLessThan(0.0501);
    run(60);
    expect(droop.shown).toBe(0);
    for (let i = 1; i < stairs.length; i += 1) expect(Math.abs(stairs[i]![1] - stairs[i - 1]![1])).toBeLessThan(0.0501);
  });

  it('does not move for noise of 1 mHz once it has arrived', () => {
    const { droop, stairs, run } = driven();
    droop.drive(60.8);
    run(60);
    const count = stairs.length;
    for (let k = 0; k < 200; k += 1) {
      droop.drive(60.8 + (k % 2 === 0 ? 0.001 : -0.001));
      run(60 + k / 100);
    }
    expect(stairs).toHaveLength(count);
  });

  it('costs nothing while the frequency stays the same to the bit', () => {
    const { droop, stairs, run } = driven();
    droop.drive(61);
    run(1);
    for (let k = 0; k < 50; k += 1) droop.drive(61);
    run(60);
    const { droop: once, stairs: alone, run: go } = driven();
    once.drive(61);
    go(60);
    expect(stairs).toEqual(alone);
  });
});
