import { describe, expect, it } from 'vitest';
import { legVoltage } from '../../../harness/rules/leg-voltage.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_RELAY,
  BUSES,
  CAR_STOPS,
  DARK,
  darkHouse,
  forms,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  outage,
  siteOf,
} from './house.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const END_us = 30_000_000;
const verdictOf = (story: Story, end_us = END_us): ReturnType<typeof judge> => judge(legVoltage, story.end(end_us));

/** Leg L2 of the house at `level_pu` for `for_us`, from 1 s on. */
const swell = (level_pu: number, for_us: number, before = onGrid()): Story =>
  before.frame(1_000_000, { 'house.u2': 120 * level_pu }).frame(1_000_000 + for_us, { 'house.u2': 120 });

describe('legVoltage, upper edge', () => {
  it.each([
    // 20 s at 132 V and 40 s at 120 V: the mean of 124 V is 3 V inside range B, of half-width 10.5 V.
    [1.1, 20_000_000, 'pass', 3 / 10.5],
    [1.15, 480_000, 'pass', 0.04],
    [1.15, 500_000, 'not exercised', 0],
    [1.15, 520_000, 'fail', -0.04],
    [1.3, 11_000, 'not exercised', 0],
    [1.3, 12_000, 'fail', -3],
    [1.6, 12_000, 'fail', -3.8],
  ])('lets U stand at %f pu for %i µs: %s', (level_pu, for_us, is, value) => {
    const { outcome } = verdictOf(swell(level_pu, for_us));
    expect(outcome.is).toBe(is);
    if (outcome.is === 'not exercised') expect(outcome.why).toBe('unresolved');
    else expect(outcome.worst.value).toBeCloseTo(value, 1);
  });

  it('meets 0.5 s exactly and misses it by one µs, to 0.1 ms where waveforms were recorded', () => {
    const at = (for_us: number) => verdictOf(swell(1.15, for_us).wave(900_000, 1_600_000)).outcome;
    expect(at(499_800)).toMatchObject({ is: 'pass' });
    expect(at(500_000)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(at(500_200)).toMatchObject({ is: 'fail', worst: { found: 500_200, limit: 500_000 } });
  });

  it('names the worst level: time over allowed time, and counts one excursion once', () => {
    const { outcome, violations } = verdictOf(
      mainOpened(onGrid(), 1_000_000).frame(1_000_000, { 'house.u2': 205.7 }).frame(1_020_000, { 'house.u2': 0 }),
    );
    // 205.7 V is 1.714 pu: of the grid the level 1.7 pu is the last that it passes, 1.732 ms by 1 ms · 3^(0.3/0.6).
    expect(outcome).toMatchObject({ is: 'fail', worst: { found: 20_000, limit: 1732, value: -10 } });
    expect(outcome).toMatchObject({
      against: 'person',
      worst: { about: 'leg L2 at house above 1.7 pu, one-cycle rms' },
    });
    expect(violations).toMatchObject({ person: 1, controller: 0 });
  });

  it.each(['controller', 'person', 'equipment', 'utility', 'site'] as const)(
    'is held against whoever changed the circuit last: %s',
    (origin: Origin) => {
      const story = onGrid()
        .happening(900_000, 'iso', 'parts L1', origin)
        .happening(950_000, 'roof', 'trips UV2', 'equipment');
      expect(verdictOf(swell(1.5, 30_000, story)).outcome).toMatchObject({ is: 'fail', against: origin });
    },
  );

  it('hands a lost service neutral over from the utility to the controller after 0.21 s', () => {
    const lost = (for_us: number) =>
      verdictOf(swell(1.5, for_us, onGrid().happening(1_000_000, 'grid', 'neutral lost', 'utility')));
    expect(lost(200_000).violations).toMatchObject({ utility: 1, controller: 0 });
    expect(lost(300_000).violations).toMatchObject({ utility: 1, controller: 1 });
  });

  it('looks at legs where loads stand on legs, and at L1-L2 where loads stand across', () => {
    const across = house().pieces.filter(({ id }) => id !== 'kitchen' && id !== 'office');
    const site = siteOf('house', across);
    expect(verdictOf(swell(1.5, 30_000, new Story(site).frame(0, ON_GRID))).outcome.is).toBe('pass');
    const both = onGrid().frame(1_000_000, { 'house.u12': 300 }).frame(1_600_000, { 'house.u12': 240 });
    expect(verdictOf(both).outcome).toMatchObject({
      is: 'fail',
      worst: { about: expect.stringContaining('L1-L2 at house') },
    });
    const elsewhere = onGrid().frame(1_000_000, { 'panel.u1': 200 });
    expect(verdictOf(elsewhere).outcome.is).toBe('pass');
  });

  it('is cut short inside a run that may yet end in time, and broken inside one that has lasted too long', () => {
    const open = (end_us: number) => verdictOf(onGrid().frame(1_000_000, { 'house.u2': 138 }), end_us).outcome;
    expect(open(1_400_000)).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(open(1_520_000)).toMatchObject({ is: 'fail', against: 'site' });
  });

  it('is never armed in a house that stays dark', () => {
    expect(verdictOf(new Story(house()).frame(0))).toMatchObject({ armed: 0 });
  });
});

describe('legVoltage, lower edge', () => {
  const sag = (changes: Values, for_us: number, before: Story, at_us = 4_000_000): Story =>
    before.frame(at_us, changes).frame(at_us + for_us, { 'house.u1': 120, 'service.u1': 120 });

  it.each([
    [0.89, 9_980_000, 'pass'],
    [0.89, 10_020_000, 'fail'],
    [0.75, 480_000, 'pass'],
    [0.75, 520_000, 'fail'],
    [0.5, 10_000, 'pass'],
    [0.5, 29_000, 'fail'],
  ])('lets a sound utility leave the house at %f pu for %i µs: %s', (level_pu, for_us, is) => {
    expect(verdictOf(sag({ 'house.u1': 120 * level_pu }, for_us, onGrid())).outcome.is).toBe(is);
  });

  it('does not answer for a utility that is itself outside 0.88 to 1.10 pu', () => {
    const story = sag({ 'house.u1': 60, 'service.u1': 60 }, 2_000_000, onGrid());
    expect(verdictOf(story).outcome.is).toBe('pass');
  });

  it('is off from the start of an outage until 1 s after supply is back', () => {
    const back = (after_us: number): Story =>
      outage(onGrid(), 1_000_000)
        .frame(1_500_000, each(BEHIND_RELAY, DARK))
        .frame(4_000_000, { ...ON_GRID, 'house.u1': 60 })
        .frame(4_000_000 + after_us, { 'house.u1': 120 });
    expect(verdictOf(back(1_005_000)).outcome.is).toBe('pass');
    expect(verdictOf(back(1_040_000)).outcome).toMatchObject({ is: 'fail', worst: { found: 40_000, limit: 20_000 } });
  });

  it('counts in an island from 1 s after forming to its stop order', () => {
    const island = (): Story => forms(darkHouse(), 2_000_000);
    expect(verdictOf(sag({ 'house.u1': 60 }, 900_000, island(), 2_050_000)).outcome.is).toBe('pass');
    expect(verdictOf(sag({ 'house.u1': 60 }, 1_000_000, island(), 2_050_000)).outcome).toMatchObject({
      is: 'fail',
      worst: { found: 50_000 },
    });
    const stopped = island()
      .frame(4_000_000, { 'gateway.vehicleCommand': 5 })
      .frame(4_000_000, { 'house.u1': 0 })
      .frame(4_500_000, { ...CAR_STOPS, ...each(BUSES, DARK) });
    expect(verdictOf(stopped).outcome.is).toBe('pass');
  });
});
