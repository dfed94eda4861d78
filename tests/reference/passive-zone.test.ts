import { describe, expect, it } from 'vitest';
import type { Bag } from '../../sim/site-description.ts';
import { IslandRig, PLAIN } from '../sim/equipment/island-rig.ts';
import { powerMismatch, reactiveMismatch, resonanceAt, resonanceOfMismatch } from './island-theory.ts';

/** A passive 5 kW unit on a load that is off by dP/P and dQ/P; true when it has tripped within `for_s`. */
function trips(params: Bag, power: number, reactive: number, qf: number, for_s: number): boolean {
  const f0_Hz = resonanceOfMismatch(reactive, qf);
  return tripsAt(params, { power_W: 5000 * (1 + power), qf, f0_Hz }, for_s);
}

function tripsAt(params: Bag, load: { power_W: number; qf: number; f0_Hz: number }, for_s: number): boolean {
  const made = new IslandRig({ units: [{ ...PLAIN, detection: 'none', ...params }], load });
  made.rig.run(100_000);
  made.open();
  made.rig.run(100_000 + for_s * 1e6);
  return made.ceased;
}

// Ye, Kolwalkar, Zhang, Du, Walling, IEEE Trans. Power Electronics 19(5), 2004 (from memory): the printed zone for
// 0.88/1.10 pu, 59.3/60.5 Hz, Qf 2.5 is -17.36 .. 29.13 % and, by Qf (1 - (60/f)²), -5.94 .. 4.11 %.
describe('passive zone in closed form', () => {
  it('has the printed bounds of 0.88/1.10 pu: -17.36 .. 29.13 %; at constant current -9.09 .. 13.64 %', () => {
    expect(100 * powerMismatch(1.1, 'power')).toBeCloseTo(-17.36, 2);
    expect(100 * powerMismatch(0.88, 'power')).toBeCloseTo(29.13, 2);
    expect(100 * powerMismatch(1.1, 'current')).toBeCloseTo(-9.09, 2);
    expect(100 * powerMismatch(0.88, 'current')).toBeCloseTo(13.64, 2);
  });

  it('has the printed reactive bounds at Qf 2.5, -5.94 .. 4.11 %, where the exact ones are -5.868 .. 4.149 %', () => {
    const printed = (f_Hz: number): number => 250 * (1 - (60 / f_Hz) ** 2);
    // The print cuts 4.115 off to 4.11.
    expect(Math.abs(printed(59.3) + 5.94)).toBeLessThan(0.006);
    expect(Math.abs(printed(60.5) - 4.11)).toBeLessThan(0.006);
    expect(100 * reactiveMismatch(59.3, 2.5)).toBeCloseTo(-5.868, 3);
    expect(100 * reactiveMismatch(60.5, 2.5)).toBeCloseTo(4.149, 3);
  });

  it('widens with the settings of 2018 to -12.03 .. 6.56 % of reactive power at Qf 1', () => {
    expect(100 * reactiveMismatch(56.5, 1)).toBeCloseTo(-12.03, 2);
    expect(100 * reactiveMismatch(62, 1)).toBeCloseTo(6.56, 2);
  });
});

describe('passive zone by running islands just inside and just outside', () => {
  const old = { category: '2003' };
  for (const [what, bound, inwards, seconds] of [
    ['OV1 1.10 pu', powerMismatch(1.1, 'power'), 0.003, 3],
    ['UV1 0.88 pu', powerMismatch(0.88, 'power'), -0.003, 4],
  ] as const) {
    it(`of 2003 ends at dP/P ${(100 * bound).toFixed(2)} % (${what}) within 0.3 %`, () => {
      expect(trips(old, bound + inwards, 0, 2.5, seconds)).toBe(false);
      expect(trips(old, bound - inwards, 0, 2.5, seconds)).toBe(true);
    });
  }

  for (const [what, f_Hz, inwards] of [
    ['UF1', 59.3, 0.0005],
    ['OF1', 60.5, -0.0005],
  ] as const) {
    for (const qf of [1, 2.5]) {
      const bound = reactiveMismatch(f_Hz, qf);
      it(`of 2003 ends at dQ/P ${(100 * bound).toFixed(3)} % (${what} ${f_Hz} Hz, Qf ${qf}) within 0.05 %`, () => {
        expect(trips(old, 0, bound + inwards, qf, 2)).toBe(false);
        expect(trips(old, 0, bound - inwards, qf, 2)).toBe(true);
      });
    }
  }

  it('of category I ends at 104.1 % (UV1 0.70 pu, 2 s), of II at the same only after 10 s', () => {
    const free = { currentLimit: 2 };
    const bound = powerMismatch(0.7, 'power');
    expect(100 * bound).toBeCloseTo(104.1, 1);
    expect(trips({ ...free, category: 'I' }, bound - 0.01, 0, 1, 3)).toBe(false);
    expect(trips({ ...free, category: 'I' }, bound + 0.01, 0, 1, 3)).toBe(true);
    expect(trips({ ...free, category: 'II' }, bound + 0.01, 0, 1, 9)).toBe(false);
    expect(trips({ ...free, category: 'II' }, bound + 0.01, 0, 1, 11)).toBe(true);
  });

  for (const [what, f_Hz, inwards] of [
    ['UF2', 56.5, 0.0005],
    ['OF2', 62, -0.0005],
  ] as const) {
    const bound = reactiveMismatch(f_Hz, 1);
    it(`of 2018 ends at dQ/P ${(100 * bound).toFixed(2)} % (${what} ${f_Hz} Hz, Qf 1) within 0.05 %`, () => {
      expect(trips({ category: 'II' }, 0, bound + inwards, 1, 2)).toBe(false);
      expect(trips({ category: 'II' }, 0, bound - inwards, 1, 2)).toBe(true);
    });
  }
});

// Load-parameter space, f0 = f/2 (-a + √(a² + 4)), a = tan θ(f)/Qf: Lopes & Sun 2006 (from memory).
describe('zone of an active method in the space of loads', () => {
  for (const [qf, low, high] of [
    [1, 57.012, 58.166],
    [2.5, 58.374, 59.555],
    [5, 58.835, 60.026],
  ] as const) {
    it(`of AFD 0.05 with 59.3/60.5 Hz at Qf ${qf} is f0 ${low} .. ${high} Hz`, () => {
      const theta = (Math.PI * 0.05) / 2;
      expect(resonanceAt(59.3, theta, qf)).toBeCloseTo(low, 3);
      expect(resonanceAt(60.5, theta, qf)).toBeCloseTo(high, 3);
      const run = (f0_Hz: number): boolean =>
        tripsAt({ category: '2003', detection: 'AFD', cf0: 0.05 }, { power_W: 5000, qf, f0_Hz }, 2);
      expect([run(low - 0.02), run(low + 0.02), run(high - 0.02), run(high + 0.02)]).toEqual([
        true,
        false,
        false,
        true,
      ]);
    });
  }
});
