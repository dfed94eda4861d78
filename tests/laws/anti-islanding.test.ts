import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Bag } from '../../sim/site-description.ts';
import { type IslandLoad, IslandRig } from '../sim/equipment/island-rig.ts';

/** Mean gain at which the law begins: twice the critical gain at Qf 1, 4/(π 60 Hz) = 0.02122 per Hz. */
const GAIN_min = 2 * (4 / (Math.PI * 60));
const SECOND_us = 1_000_000;

interface Case {
  readonly ratings_W: readonly number[];
  /** Each unit's gain over the least of the law. */
  readonly gains: readonly number[];
  /** The last of several units has no feedback; the others make up for it, so that the mean holds. */
  readonly diluted: boolean;
  readonly nudges: readonly number[];
  readonly upwards: boolean;
  readonly category: string;
  readonly irradiance: number;
  readonly loadOverPower: number;
  readonly qf: number;
  /** A number: share of the widest distance from 60 Hz. */
  readonly resonance: 'balanced' | number;
  readonly open_us: number;
  readonly seed: number;
}

const unit = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const three = (of: fc.Arbitrary<number>): fc.Arbitrary<number[]> => fc.array(of, { minLength: 3, maxLength: 3 });

const cases: fc.Arbitrary<Case> = fc.record({
  ratings_W: fc.array(fc.integer({ min: 1000, max: 10_000 }), { minLength: 1, maxLength: 3 }),
  gains: three(fc.oneof(fc.constant(1), unit(1, 2))),
  diluted: fc.boolean(),
  nudges: three(unit(0.005, 0.05)),
  upwards: fc.boolean(),
  category: fc.constantFrom('I', 'II', 'III', '2003', '2014'),
  irradiance: fc.oneof(fc.constant(1), unit(0.1, 1)),
  loadOverPower: fc.oneof(fc.constant(1), unit(0.7, 1.5)),
  qf: fc.oneof(fc.constant(1), unit(0, 1)),
  // Balanced: the load takes the nudge itself at 60 Hz, so that nothing but noise starts the run-away.
  resonance: fc.oneof(fc.constant('balanced' as const), unit(-1, 1)),
  open_us: fc.integer({ min: 1000, max: 60_000 }),
  seed: fc.nat(0xffff_ffff),
});

/**
 * Site, load and sign of one case, brought into the domain of the law.
 *
 * The mean gain must hold for what remains when one unit has left, else the rest is not owed anything. Where each unit has
 * the least gain of the law by itself any order of leaving will do. A diluted site must leave as one: its passive unit is
 * at most half of it, and its load lies so near that voltage trips nobody and frequency runs well past its limit.
 */
function siteOf(one: Case): { readonly units: readonly Bag[]; readonly load: IslandLoad } {
  const ratings = one.ratings_W.slice();
  const last = ratings.length - 1;
  const diluted = one.diluted && last > 0;
  const others_W = ratings.slice(0, last).reduce((sum, rated) => sum + rated, 0);
  if (diluted) ratings[last] = Math.min(ratings[last]!, others_W);
  const total_W = ratings.reduce((sum, rated) => sum + rated, 0);
  const sign = one.upwards ? 1 : -1;
  const units = ratings.map((rated, i) => ({
    rated,
    category: one.category,
    detection: 'SFS',
    cf0: sign * one.nudges[i]!,
    sfsGain: diluted ? (i === last ? 0 : (one.gains[i]! * GAIN_min * total_W) / others_W) : one.gains[i]! * GAIN_min,
    filter: rated * 2e-9,
  }));
  const nudge = units.reduce((sum, { rated, cf0 }) => sum + (rated * cf0) / total_W, 0);
  const share = diluted ? Math.max(0.9, Math.min(1.2, one.loadOverPower)) : one.loadOverPower;
  const apart_Hz = diluted ? 1 : 3;
  return {
    units,
    load: {
      power_W: total_W * one.irradiance * share,
      qf: one.qf,
      f0_Hz: one.resonance === 'balanced' ? balanced_Hz(nudge, one.qf) : 60 + apart_Hz * one.resonance,
    },
  };
}

/** Resonance at which the load's angle at 60 Hz is the mean nudge π cf/2. */
function balanced_Hz(nudge: number, qf: number): number {
  const a = Math.tan((Math.PI * nudge) / 2) / Math.max(qf, 0.05);
  return Math.max(45, Math.min(75, 30 * (-a + Math.sqrt(a * a + 4))));
}

/** Ids of units that still energise 2 s after the separation. */
function stillOn(one: Case): readonly string[] {
  const { units, load } = siteOf(one);
  const made = new IslandRig({ units, start: { irradiance: one.irradiance }, load, seed: one.seed });
  const on = (): string[] => units.map((_, i) => `pv${i + 1}`).filter((id) => made.rig.value(`${id}.energises`) === 1);
  made.rig.run(one.open_us);
  expect(on().length).toBe(units.length);
  made.open();
  made.rig.run(one.open_us + 2 * SECOND_us);
  return on();
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
