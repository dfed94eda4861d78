import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Bag } from '../../sim/site-description.ts';
import { IslandRig } from '../sim/equipment/island-rig.ts';

/** Mean gain at which the law begins: twice the critical gain at Qf 1, 4/(π 60 Hz) = 0.02122 per Hz. */
const GAIN_min = 2 * (4 / (Math.PI * 60));
const SECOND_us = 1_000_000;

interface Case {
  readonly ratings_W: readonly number[];
  /** Weight of each unit in the mean gain, and which way all of them nudge. */
  readonly gainShares: readonly number[];
  readonly gainOverLeast: number;
  readonly nudges: readonly number[];
  readonly upwards: boolean;
  readonly category: string;
  readonly irradiance: number;
  readonly loadOverPower: number;
  readonly qf: number;
  readonly resonance: 'balanced' | number;
  readonly open_us: number;
  readonly seed: number;
}

const unit = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const three = (of: fc.Arbitrary<number>): fc.Arbitrary<number[]> => fc.array(of, { minLength: 3, maxLength: 3 });

const cases: fc.Arbitrary<Case> = fc.record({
  ratings_W: fc.array(fc.integer({ min: 1000, max: 10_000 }), { minLength: 1, maxLength: 3 }),
  // A share of 0 is a unit without feedback: the others make up for it, so that the mean stays.
  gainShares: fc.oneof(fc.constant([1, 1, 1]), three(fc.oneof(fc.constant(0), unit(0.1, 1)))),
  gainOverLeast: unit(1, 2),
  nudges: three(unit(0.005, 0.05)),
  upwards: fc.boolean(),
  category: fc.constantFrom('I', 'II', 'III', '2003', '2014'),
  irradiance: fc.oneof(fc.constant(1), unit(0.1, 1)),
  loadOverPower: fc.oneof(fc.constant(1), unit(0.7, 1.5)),
  qf: fc.oneof(fc.constant(1), unit(0, 1)),
  // Balanced: the load takes the nudge itself at 60 Hz, so that nothing but noise starts the run-away.
  resonance: fc.oneof(fc.constant('balanced' as const), unit(57, 63)),
  open_us: fc.integer({ min: 1000, max: 60_000 }),
  seed: fc.nat(0xffff_ffff),
});

/** Units of one method and one sign whose mean gain, weighted by power, is `gainOverLeast` × the least of the law. */
function unitsOf(one: Case): { readonly units: readonly Bag[]; readonly nudge: number } {
  const total_W = one.ratings_W.reduce((sum, rated) => sum + rated, 0);
  const shares = one.ratings_W.map((_, i) => one.gainShares[i]!);
  if (shares.every((share) => share === 0)) shares[0] = 1;
  const mean = one.ratings_W.reduce((sum, rated, i) => sum + rated * shares[i]!, 0) / total_W;
  const sign = one.upwards ? 1 : -1;
  const units = one.ratings_W.map((rated, i) => ({
    rated,
    category: one.category,
    detection: 'SFS',
    cf0: sign * one.nudges[i]!,
    sfsGain: (one.gainOverLeast * GAIN_min * shares[i]!) / mean,
    filter: rated * 2e-9,
  }));
  const nudge = units.reduce((sum, { rated, cf0 }) => sum + (rated * cf0) / total_W, 0);
  return { units: units as readonly Bag[], nudge };
}

/**
 * Load over power. Where units differ in gain it stays so near to 1 that voltage trips nobody: else a sensitive unit may
 * leave first, by its self-protection, and what remains has another mean gain than the site had.
 */
function loadShare(one: Case, units: readonly Bag[]): number {
  const equal = new Set(units.map(({ sfsGain }) => sfsGain)).size === 1;
  return equal ? one.loadOverPower : Math.max(0.85, Math.min(1.25, one.loadOverPower));
}

/** Resonance at which the load's angle at 60 Hz is the mean nudge π cf/2. */
function balanced_Hz(nudge: number, qf: number): number {
  const a = Math.tan((Math.PI * nudge) / 2) / Math.max(qf, 0.05);
  return Math.max(45, Math.min(75, 30 * (-a + Math.sqrt(a * a + 4))));
}

/** Ids of units that still energise 2 s after the separation. */
function stillOn(one: Case): readonly string[] {
  const { units, nudge } = unitsOf(one);
  const total_W = one.ratings_W.reduce((sum, rated) => sum + rated, 0);
  const made = new IslandRig({
    units,
    start: { irradiance: one.irradiance },
    load: {
      power_W: total_W * one.irradiance * loadShare(one, units),
      qf: one.qf,
      f0_Hz: one.resonance === 'balanced' ? balanced_Hz(nudge, one.qf) : one.resonance,
    },
    seed: one.seed,
  });
  made.rig.run(one.open_us);
  made.open();
  made.rig.run(one.open_us + 2 * SECOND_us);
  return units.map((_, i) => `pv${i + 1}`).filter((id) => made.rig.value(`${id}.energises`) === 1);
}

describe('anti-islanding', () => {
  it('has every inverter ceased 2 s after the separation, wherever all nudge one way with twice the critical gain', () => {
    fc.assert(
      fc.property(cases, (one) => {
        expect(stillOn(one)).toEqual([]);
      }),
      { numRuns: 1000 },
    );
  });

  it('is not owed outside that domain: four AFD units that drift by pairs against each other go on for 5 s', () => {
    const unit = (cf0: number): Bag => ({ detection: 'AFD', cf0, filter: 0 });
    for (const seed of [1, 2, 3]) {
      const made = new IslandRig({
        units: [unit(0.05), unit(-0.05), unit(0.05), unit(-0.05)],
        load: { power_W: 20_000, qf: 1 },
        seed,
      });
      made.rig.run(50_000);
      made.open();
      made.rig.run(50_000 + 5 * SECOND_us);
      for (const id of ['pv1', 'pv2', 'pv3', 'pv4']) expect(made.rig.value(`${id}.energises`)).toBe(1);
      expect(Math.abs(made.f_Hz - 60)).toBeLessThan(0.05);
    }
  });
});
