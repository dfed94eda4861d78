import { describe, expect, it } from 'vitest';
import { rideThrough } from '../../../harness/rules/ride-through.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Bag } from '../../../sim/site-description.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import { BUSES, HOUSE_DARK, house, legLost, ON_GRID, outage, PV_RUNS, PV_STOPS, trips, voltage } from './house.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const S = 1_000_000;
const END_us = 400 * S;
const verdictOf = (story: Story, end_us = END_us): Verdict => judge(rideThrough, story.end(end_us));
const grid = (roof: Bag = {}, changes: Values = {}): Story =>
  new Story(house({}, roof)).frame(0, { ...ON_GRID, ...changes }).wave(0, END_us);
const tripsAfter = (level_pu: number, after_us: number, category = 'II', row = 'UV1'): Verdict =>
  verdictOf(trips(voltage(grid({ category }), S, level_pu), S + after_us, row));
/** The controller opens the relay under a running inverter. */
const relayOpens = (story: Story, at_us: number, origin: Origin = 'controller'): Story =>
  story.happening(at_us, 'iso', 'parts L1', origin).frame(at_us, { ...HOUSE_DARK, ...PV_RUNS, 'roof.tripped': 0 });

describe('rideThrough, trips', () => {
  // The value moved outwards by 0.01 pu, two cycles or 1 % off the time: what is certain.
  it.each([
    ['I', 0.8, 700_000 + 360_000 - 33_333],
    ['I', 0.6, 126_667],
    ['I', 1.12, 1_000_000 - 33_333],
    ['I', 1.16, 500_000 - 33_333],
    ['I', 1.18, 200_000 - 33_333],
    ['II', 0.8, 4_218_000 - 33_333],
    ['II', 0.87, 4_827_000 - 33_333],
    ['II', 0.66, 3_000_000 - 33_333],
    ['II', 0.655, 320_000 - 33_333],
    ['II', 0.4, 126_667],
    ['III', 0.8, 19_800_000],
    ['III', 0.6, 9_900_000],
    ['III', 0.4, 966_667],
    ['III', 1.15, 11_880_000],
  ])('lets category %s not trip at %f pu before %i µs', (category, level_pu, least_us) => {
    const edge_us = Math.max(200, Math.ceil(least_us / 1e4));
    expect(tripsAfter(level_pu, least_us + edge_us, category).outcome.is).toBe('pass');
    const { outcome } = tripsAfter(level_pu, least_us - edge_us, category);
    expect(outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { limit: least_us } });
  });

  it('does not know at a margin below half a cycle', () => {
    const story = new Story(house()).frame(0, ON_GRID);
    expect(verdictOf(trips(voltage(story, S, 0.6), S + 290_000)).outcome).toEqual({
      is: 'not exercised',
      why: 'unresolved',
    });
  });

  it('counts the time below an edge from the first crossing of it, at the mildest value since', () => {
    // Below 0.65 pu for 0.3 s inside a longer, milder sag: 0.32 s less two cycles allow it.
    const story = voltage(voltage(grid(), S, 0.8), 2 * S, 0.5);
    expect(verdictOf(trips(story, 2 * S + 300_000)).outcome.is).toBe('pass');
    const early = voltage(voltage(grid(), S, 0.8), 2 * S, 0.5);
    expect(verdictOf(trips(early, 2 * S + 200_000)).outcome).toMatchObject({ is: 'fail', worst: { found: 200_000 } });
    // And a sag that gets milder owes the milder time from its start.
    const milder = voltage(voltage(grid(), S, 0.5), 1_200_000, 0.8);
    expect(verdictOf(trips(milder, 3 * S)).outcome).toMatchObject({ is: 'fail', worst: { found: 2 * S } });
  });

  it('bears what comes back in time, and asks nothing where the table asks nothing', () => {
    expect(verdictOf(voltage(voltage(grid(), S, 0.8), 3 * S, 1))).toMatchObject({
      armed: 1,
      outcome: { is: 'pass', worst: { value: 1 } },
    });
    expect(tripsAfter(0.2, 1000).outcome.is).toBe('pass');
    expect(tripsAfter(1.3, 1000).outcome.is).toBe('pass');
    expect(verdictOf(voltage(grid(), S, 0.88)).armed).toBe(0);
  });

  it('asks the same of frequency: 299 s', () => {
    const at = (f_Hz: number, after_us: number) =>
      verdictOf(trips(grid().frame(S, { 'house.f': f_Hz }), S + after_us, 'OF1')).outcome.is;
    expect([at(61.5, 290 * S), at(61.5, 297 * S)]).toEqual(['fail', 'pass']);
    expect([at(58, 290 * S), at(58, 297 * S)]).toEqual(['fail', 'pass']);
    expect([at(62, S), at(56.9, S)]).toEqual(['pass', 'pass']);
  });

  it('does not call a sunset or a test of somebody a trip', () => {
    const dark = voltage(grid(), S, 0.8).frame(2 * S, { ...PV_STOPS, 'roof.tripped': 1, 'roof.irradiance': 0 });
    expect(verdictOf(dark).outcome.is).toBe('pass');
    expect(tripsAfter(0.8, S, 'II', 'TEST').outcome.is).toBe('pass');
  });

  it('is not armed without the utility, for an older edition, or while nothing runs', () => {
    expect(verdictOf(trips(voltage(outage(grid(), S), S, 0.8), 2 * S)).armed).toBe(0);
    expect(verdictOf(legLost(grid(), S, { 'house.u12': 200 })).armed).toBe(0);
    expect(tripsAfter(0.8, S, '2014').armed).toBe(0);
    expect(verdictOf(voltage(grid({}, PV_STOPS), S, 0.8)).armed).toBe(0);
  });

  it('is over when the utility is gone', () => {
    const story = outage(voltage(grid(), S, 0.8), 2 * S);
    expect(verdictOf(trips(story, 2_200_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 1 } });
  });

  it('is cut short inside a disturbance', () => {
    expect(verdictOf(voltage(grid(), S, 0.8), 3 * S).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
  });
});

describe('rideThrough, taken away', () => {
  it('holds the controller to the same times on a house that exported', () => {
    const opens = (after_us: number) => verdictOf(relayOpens(voltage(grid(), S, 0.8), S + after_us)).outcome;
    expect(opens(4_190_000)).toMatchObject({ is: 'pass' });
    expect(opens(4_180_000)).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { about: 'iso takes roof away, time out of the continuous range' },
    });
  });

  it('exempts a house that gave at most a tenth of the rating before', () => {
    const opens = (load_W: number) =>
      verdictOf(relayOpens(voltage(grid({}, { 'kitchen.p': load_W - 1000, 'heater.p': 1000 }), S, 0.8), 2 * S)).outcome
        .is;
    expect([opens(4499), opens(4500)]).toEqual(['fail', 'pass']);
  });

  it('counts a permit that the controller takes away, with the same exemption', () => {
    const taken = (load_W: number) =>
      verdictOf(trips(voltage(grid({}, { 'kitchen.p': load_W }), S, 0.8), 2 * S, 'PERMIT', 'controller')).outcome;
    expect(taken(0)).toMatchObject({ is: 'fail', against: 'controller' });
    expect(taken(4500)).toMatchObject({ is: 'pass' });
  });

  it('does not ask it of a relay that somebody else opened', () => {
    expect(verdictOf(relayOpens(voltage(grid(), S, 0.8), 2 * S, 'equipment')).outcome.is).toBe('pass');
  });
});

describe('rideThrough, recovery', () => {
  /** Momentary cessation at 0.4 pu, back inside at 1.5 s, `current_A` from `after_us` later. */
  const back = (after_us: number, current_A: number, changes: Values = {}): Verdict => {
    const paused = voltage(grid({ category: 'III' }), S, 0.4).frame(1_083_000, PV_STOPS);
    const again = voltage(paused, 1_500_000, 1, changes);
    return verdictOf(again.frame(1_500_000 + after_us, { 'roof.i': current_A, 'roof.p': current_A * 240 }), 3 * S);
  };

  it('wants 80 % of the earlier current after 0.4 s', () => {
    expect(back(399_800, 16.7).outcome).toMatchObject({ is: 'pass', worst: { found: 399_800, limit: 400_000 } });
    expect(back(400_200, 16.7).outcome).toMatchObject({ is: 'fail', against: 'site' });
    expect(back(300_000, 16.6).outcome).toMatchObject({ is: 'fail' });
  });

  it('excuses less sun, a lost permit and a frequency that asks for less', () => {
    expect(back(900_000, 20, { 'roof.irradiance': 0.5 }).outcome.is).toBe('pass');
    expect(back(900_000, 20, { 'roof.permit': 0 }).outcome.is).toBe('pass');
    expect(back(900_000, 20, { 'house.f': 60.04 }).outcome.is).toBe('pass');
    expect(back(900_000, 20, { 'house.f': 60.03 }).outcome.is).toBe('fail');
  });

  it('forgets it when the utility goes', () => {
    const paused = voltage(grid({ category: 'III' }), S, 0.4).frame(1_083_000, PV_STOPS);
    const gone = voltage(paused, 1_500_000, 1).frame(1_600_000, each(BUSES, { present1: 0, present2: 0 }));
    expect(verdictOf(gone).outcome.is).toBe('pass');
  });

  it('is cut short where the run ends before it is owed', () => {
    const paused = voltage(grid({ category: 'III' }), S, 0.4).frame(1_083_000, PV_STOPS);
    const open = (end_us: number) => judge(rideThrough, voltage(paused, 1_500_000, 1).end(end_us)).outcome;
    expect(open(1_900_000)).toEqual({ is: 'not exercised', why: 'cut short' });
  });
});
