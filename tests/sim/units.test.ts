import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { quantityText, timeText, US_PER_MS, US_PER_S } from '../../sim/units.ts';

describe('timeText', () => {
  it.each([
    [0, '0 µs'],
    [-0, '0 µs'],
    [1, '1 µs'],
    [999, '999 µs'],
    [1000, '1 ms'],
    [8500, '8.5 ms'],
    [-8500, '-8.5 ms'],
    [20_001, '20.001 ms'],
    [999_999, '999.999 ms'],
    [1_000_000, '1 s'],
    [1_000_001, '1.000001 s'],
    [300_000_000, '300 s'],
    [599_999_999, '599.999999 s'],
    [600_000_000, '10 min 0 s'],
    [659_999_600, '10 min 59.9996 s'],
    [725_000_000, '12 min 5 s'],
    [-725_000_000, '-12 min 5 s'],
    [3_600_000_000, '1 h 0 min 0 s'],
    [259_200_000_001, '72 h 0 min 0.000001 s'],
    [Infinity, 'Infinity µs'],
    [Number.NaN, 'NaN µs'],
  ])('prints %d µs as %s', (time_us, text) => {
    expect(timeText(time_us)).toBe(text);
  });

  it('keeps every microsecond up to 30 days, so that no two instants print alike', () => {
    const size_us = { h: 3600 * US_PER_S, min: 60 * US_PER_S, s: US_PER_S, ms: US_PER_MS, µs: 1 };
    const read = (text: string): number => {
      let sum_us = 0;
      for (const [, digits, unit] of text.matchAll(/([\d.]+) (h|min|s|ms|µs)/g)) {
        sum_us += Number(digits) * size_us[unit as keyof typeof size_us];
      }
      return Math.round(sum_us);
    };
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 30 * 24 * 3600 * US_PER_S }), (time_us) => {
        expect(read(timeText(time_us))).toBe(time_us);
      }),
      { numRuns: 500 },
    );
  });

  it('prints seconds below 60 where minutes are printed, fractions of a microsecond included', () => {
    expect(timeText(659_999_999.9)).toBe('11 min 0 s');
  });
});

describe('quantityText', () => {
  it.each([
    [120, 'V', '120 V'],
    [119.96, 'V', '120 V'],
    [123.456, 'V', '123.5 V'],
    [12.3456, 'A', '12.35 A'],
    [1.23456, 'A', '1.235 A'],
    [0.123456, 'A', '0.1235 A'],
    [0.00123456, 'A', '0.001235 A'],
    [1e-9, 'A', '0 A'],
    [-1e-9, 'A', '0 A'],
    [-0, 'V', '0 V'],
    [60.5264, 'Hz', '60.526 Hz'],
    [59.9994, 'Hz', '59.999 Hz'],
    [999, 'W', '999 W'],
    [1000, 'W', '1 kW'],
    [-7600, 'W', '-7.6 kW'],
    [11_500, 'VA', '11.5 kVA'],
    [2500, 'var', '2.5 kvar'],
    [10_000, 'A', '10000 A'],
    [8500, 'µs', '8.5 ms'],
    [0.12345, '1', '0.1235'],
    [1, 'state', '1'],
    [0, 'bit', '0'],
  ])('prints %d %s as %s', (value, unit, text) => {
    expect(quantityText(value, unit)).toBe(text);
  });
});
