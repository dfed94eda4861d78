import { describe, expect, it } from 'vitest';
import { returnToUtility } from '../../../harness/rules/return-to-utility.ts';
import type { Bag, SiteDescription } from '../../../sim/site-description.ts';
import { SUPPLY } from '../../../sim/telemetry.ts';
import { CAR_STOPS, HOUSE_DARK, house, ON_GRID, piece, poles, STREET_DARK, STREET_SOUND, siteOf } from './house.ts';
import { besideGoodGrid, besideLiveGrid, relayCloses } from './stories.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const BACK_us = 10_000_000;
const GOOD_us = 300_000_000;
const HALF_CYCLE_us = 8_340;
const verdictOf = (story: Story, end_us = 2_000_000_000): ReturnType<typeof judge> =>
  judge(returnToUtility, story.end(end_us));

/** The house dark behind its open relay, the street dead until 10 s and sound from then on. */
function backAt10s(settings: Bag = {}, changes: Values = {}): Story {
  return new Story(house(settings))
    .frame(0, { ...ON_GRID, ...HOUSE_DARK, ...STREET_DARK })
    .happening(BACK_us, 'grid', 'supply back', 'utility')
    .frame(BACK_us, { ...STREET_SOUND, ...changes });
}
const closesAfter = (after_us: number, settings: Bag = {}): Story =>
  relayCloses(backAt10s(settings), BACK_us + after_us);

/** The same house with one more load of each of those types. */
function houseWith(...types: readonly string[]): SiteDescription {
  const more = types.map((type) => piece(`more-${type}`, 'load', ['house'], { type }));
  return siteOf('house', [...house().pieces, ...more]);
}

describe('returnToUtility', () => {
  it('is not armed by a relay that closes on a dead street', () => {
    const story = relayCloses(new Story(house()).frame(0, { ...ON_GRID, ...HOUSE_DARK, ...STREET_DARK }), 5_000_000);
    expect(verdictOf(story)).toMatchObject({ armed: 0, outcome: { is: 'not exercised', why: 'never armed' } });
  });

  it('wants the utility good for 300 s, known to half a cycle', () => {
    expect(verdictOf(closesAfter(GOOD_us + HALF_CYCLE_us)).outcome).toMatchObject({
      is: 'pass',
      worst: { found: GOOD_us + HALF_CYCLE_us, limit: GOOD_us, scale: GOOD_us },
    });
    expect(verdictOf(closesAfter(GOOD_us)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(closesAfter(GOOD_us - HALF_CYCLE_us - 1)).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
    });
    expect(verdictOf(closesAfter(30_000_000)).outcome).toMatchObject({ worst: { value: -0.9 } });
  });

  it('takes T_return from the site, between 60 s and 600 s', () => {
    const limitOf = (returnGood: number): number => {
      const { outcome } = verdictOf(closesAfter(1_000_000, { returnGood }));
      return outcome.is === 'fail' ? outcome.worst.limit : Number.NaN;
    };
    expect([1_000_000, 120_000_000, 3_600_000_000].map(limitOf)).toEqual([60_000_000, 120_000_000, 600_000_000]);
  });

  it.each([
    [{ 'panel.u1': 107.9 }, 'fail'],
    [{ 'panel.u1': 108 }, 'pass'],
    [{ 'panel.u2': 127.3 }, 'fail'],
    [{ 'panel.u2': 127.2 }, 'pass'],
    [{ 'panel.u12': 215 }, 'fail'],
    [{ 'panel.legAngle': 159 }, 'fail'],
    [{ 'panel.legAngle': 160 }, 'pass'],
    [{ 'panel.f': 59.49 }, 'fail'],
    [{ 'panel.f': 60.51 }, 'fail'],
    [{ 'panel.f': 60.5 }, 'pass'],
  ] as const)('counts anew after %o: %s', (changes, is) => {
    const sound = { 'panel.u1': 120, 'panel.u2': 120, 'panel.u12': 240, 'panel.legAngle': 180, 'panel.f': 60 };
    const story = backAt10s().frame(200_000_000, changes).frame(201_000_000, sound);
    expect(verdictOf(relayCloses(story, 400_000_000)).outcome.is).toBe(is);
  });

  it('takes no street that others hold up for a utility, however sound it is', () => {
    const held = backAt10s({}, each(['service', 'panel'], { present1: 0, present2: 0 }));
    const story = held.frame(300_000_000, each(['service', 'panel'], { present1: 1, present2: 1 }));
    expect(verdictOf(relayCloses(story, 400_000_000)).outcome).toMatchObject({
      is: 'fail',
      worst: { found: 100_000_000 },
    });
  });

  it.each(['present1', 'present2'])('is armed by a utility on one leg alone, which is not good: without %s', (leg) => {
    const story = backAt10s({}, each(['service', 'panel'], { [leg]: 0 }));
    expect(verdictOf(relayCloses(story, 400_000_000)).outcome).toMatchObject({ is: 'fail', worst: { found: 0 } });
  });

  it('counts a bounce as the same touch', () => {
    const story = closesAfter(400_000_000)
      .frame(410_005_000, { ...poles('iso', 0), ...each(['house', 'garage'], { part: 2 }) })
      .frame(410_008_000, { ...poles('iso', 1), ...each(['house', 'garage'], { part: 1 }) });
    expect(verdictOf(story).armed).toBe(1);
  });

  it('wants nobody to form as the relay closes, break before make', () => {
    const story = besideLiveGrid({}).frame(400_000_000);
    const { outcome, violations } = verdictOf(relayCloses(story, 400_000_001));
    expect(outcome).toMatchObject({ is: 'fail', against: 'controller' });
    // It forms, and the house is live because of it: one thing, and one violation.
    expect(violations.controller).toBe(1);
  });

  it.each([
    [{ 'roof.permit': 1, 'roof.tripped': 1 }, 'pass'],
    [{ 'roof.permit': 0, 'roof.tripped': 0 }, 'pass'],
    [{ 'roof.permit': 1, 'roof.tripped': 0 }, 'fail'],
    [{ 'roof.permit': 1, 'roof.tripped': 0, 'roof.part': 0 }, 'fail'],
  ] as const)('wants inverters behind the relay tripped or without permit: %o is a %s', (changes, is) => {
    const { 'roof.part': apart, ...own } = changes as Values;
    const story = besideGoodGrid({}, { ...own, ...(apart !== undefined && { 'garage.part': 7 }) });
    expect(verdictOf(relayCloses(story, 400_000_000)).outcome.is).toBe(is);
  });

  it.each([
    [{ 'house.u1': 12 }, 'pass', 0],
    [{ 'house.v2': 12.6 }, 'fail', -0.02],
    [{ 'house.u12': 36 }, 'fail', -0.2],
    [{ 'house.u12': 36, 'house.supply': SUPPLY.indexOf('decaying') }, 'fail', -0.2],
  ] as const)('wants a dead house, 0.10 pu over 0.25: %o is a %s', (changes, is, value) => {
    const { outcome } = verdictOf(relayCloses(besideGoodGrid({}, changes), 400_000_000));
    expect(outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('looks back 100 ms, and does not know within half a cycle of that', () => {
    const lived = (until_us: number): Story => {
      const story = besideGoodGrid({}, { 'house.u1': 60 }).frame(until_us, { 'house.u1': 0 });
      return relayCloses(story, 400_000_000);
    };
    expect(verdictOf(lived(399_890_000)).outcome.is).toBe('pass');
    expect(verdictOf(lived(399_900_000)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(lived(399_910_000)).outcome).toMatchObject({ is: 'fail', worst: { found: 0.5 } });
  });

  it.each([
    ['motor', 30, 'pass', 0],
    ['motor', 31.2, 'fail', -0.04],
    ['resonant', 30, 'fail', -0.6],
    ['impedance', 30, 'fail', -0.6],
  ] as const)('lets motors run down at 0.25 pu, charged capacitors not: %s at %f V is a %s', (type, v, is, value) => {
    const decaying = { 'house.supply': SUPPLY.indexOf('decaying'), 'house.v1': v };
    const story = new Story(houseWith(type)).frame(0, { ...ON_GRID, ...HOUSE_DARK, ...decaying });
    const { outcome } = verdictOf(relayCloses(story, 400_000_000));
    expect(outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('takes a machine that still turns for one that runs down, but not beside a capacitor or a source that runs', () => {
    const left = (site: SiteDescription, supply: (typeof SUPPLY)[number]): Story =>
      new Story(site).frame(0, { ...ON_GRID, ...HOUSE_DARK, 'house.supply': SUPPLY.indexOf(supply), 'house.v1': 30 });
    const both = relayCloses(left(houseWith('motor', 'resonant'), 'decaying'), 400_000_000);
    expect(verdictOf(both).outcome).toMatchObject({ is: 'fail', worst: { limit: 0.1 } });
    const turning = left(houseWith('motor'), 'unformed');
    expect(verdictOf(relayCloses(turning, 400_000_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0 } });
    const driven = left(houseWith('motor'), 'unformed').frame(300_000_000, { 'roof.energises': 1 });
    expect(verdictOf(relayCloses(driven, 400_000_000)).outcome).toMatchObject({ is: 'fail', worst: { limit: 0.1 } });
  });

  it('holds a live house that reads dead against the equipment, and a relay that closes by itself', () => {
    const live = { 'house.u1': 60, 'house.v1': 60 };
    expect(verdictOf(relayCloses(besideGoodGrid({}, live), 400_000_000)).outcome).toMatchObject({
      against: 'equipment',
    });
    const read = { ...live, 'gateway.in.backupL1': 60_000 };
    expect(verdictOf(relayCloses(besideGoodGrid({}, read), 400_000_000)).outcome).toMatchObject({
      against: 'controller',
    });
    const byItself = backAt10s().happening(20_000_000, 'iso', 'touches L1', 'equipment');
    const closed = byItself.frame(20_000_000, { ...poles('iso', 1), ...each(['house', 'garage'], { part: 1 }) });
    expect(verdictOf(closed).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  describe('with a closed transition', () => {
    const SETTINGS = { transition: 'closed', returnGood: 60_000_000 };
    const overlapping = (): Story => relayCloses(besideLiveGrid(SETTINGS).frame(400_000_000), 400_000_001);

    it('lets a source form on for 100 ms: exactly passes, one µs late fails', () => {
      const off = (after_us: number): Story =>
        overlapping().frame(400_000_001 + after_us, { ...CAR_STOPS, ...each(['house', 'garage'], { forming: 0 }) });
      expect(verdictOf(off(100_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0, limit: 100_000 } });
      expect(verdictOf(off(100_001)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    });

    it('ends with the relay open again', () => {
      const open = { ...poles('iso', 0), ...each(['house', 'garage'], { part: 2, present1: 0, present2: 0 }) };
      expect(verdictOf(overlapping().frame(400_050_001, open)).outcome).toMatchObject({ worst: { found: 50_000 } });
    });

    it('is cut short where the run ends inside the overlap', () => {
      expect(verdictOf(overlapping(), 400_100_001).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
      expect(verdictOf(overlapping(), 400_100_002).outcome).toMatchObject({ is: 'fail' });
    });

    it('wants a dead house all the same where nobody forms', () => {
      const story = besideGoodGrid(SETTINGS, { 'house.u1': 60 });
      expect(verdictOf(relayCloses(story, 400_000_000)).outcome.is).toBe('fail');
    });
  });
});
