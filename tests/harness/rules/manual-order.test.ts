import { describe, expect, it } from 'vitest';
import { manualOrder } from '../../../harness/rules/manual-order.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_MAIN,
  BUSES,
  darkHouse,
  forms,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  PV_STOPS,
  paths,
  piece,
  poles,
  siteOf,
} from './house.ts';
import { each, judge, Story } from './telemetry-builder.ts';

const END_us = 6_000_000;
const verdictOf = (story: Story): ReturnType<typeof judge> => judge(manualOrder, story.end(END_us));
const calm = { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0 };

describe('manualOrder, taking a reference', () => {
  it.each([
    [50, 0, 'pass'],
    [51, 0, 'fail'],
    [0, 1, 'fail'],
  ])('wants %f W or less of a 5 kW inverter and its permit off (%i): %s', (power_W, permit, is) => {
    const story = new Story(house()).frame(0, { ...calm, 'roof.p': power_W, 'roof.permit': permit });
    const { outcome, grade } = verdictOf(mainOpened(story, 2_000_000));
    expect(outcome.is).toBe(is);
    expect(grade).toBe('memory');
    if (outcome.is === 'fail') expect(outcome.against).toBe('person');
  });

  it('is not armed for PV tapped ahead of the main, which keeps the utility', () => {
    const base = house();
    const moved = base.pieces.map((one) => (one.id === 'roof' ? piece('roof', 'pv', ['service'], one.params) : one));
    const story = new Story(siteOf('tapped', [...moved, piece('tap', 'conductor', ['service', 'tap-bus'])])).frame(
      0,
      ON_GRID,
    );
    const parts = mainOpened(story, 2_000_000, paths('roof', 1));
    // The idle vehicle loses its reference too, with nothing to hold against anybody.
    expect(verdictOf(parts)).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { value: 1 } } });
  });

  it.each([
    [50, 'pass'],
    [51, 'fail'],
  ])('asks for no permit where the inverter’s own breaker is what opens: %f W is a %s', (power_W, is) => {
    const base = house();
    const moved = base.pieces.map((one) => (one.id === 'roof' ? piece('roof', 'pv', ['pv-bus'], one.params) : one));
    const own = piece('pv-breaker', 'breaker', ['house', 'pv-bus'], { role: 'branch' });
    const story = new Story(siteOf('own-breaker', [...moved, own]))
      .frame(0, {
        ...ON_GRID,
        'roof.p': power_W,
        ...poles('pv-breaker', 1),
        ...each(['pv-bus'], { present1: 1, present2: 1, part: 1 }),
      })
      .happening(1_000_000, 'pv-breaker', 'parts L1', 'person')
      .frame(1_000_000, {
        ...poles('pv-breaker', 0),
        ...each(['pv-bus'], { present1: 0, present2: 0, part: 2 }),
        ...paths('roof', 0),
      });
    expect(verdictOf(story).outcome.is).toBe(is);
  });

  it('is not armed by a main opened over an island behind the open relay', () => {
    const story = forms(darkHouse(), 2_000_000)
      .happening(3_000_000, 'main', 'parts L1', 'person')
      .frame(3_000_000, poles('main', 0));
    expect(verdictOf(story).armed).toBe(0);
  });

  it('takes poles that part a millisecond apart for one loss of reference', () => {
    const story = onGrid()
      .happening(1_000_000, 'main', 'parts L1', 'person')
      .frame(1_000_000, { 'main.L1': 0, ...each(BEHIND_MAIN, { present1: 0 }), 'roof.path1': 0, 'car.path1': 0 });
    expect(verdictOf(mainOpened(story, 1_001_000)).violations.person).toBe(1);
  });

  it.each(['controller', 'equipment', 'utility'] as const)(
    'leaves what is not a person’s alone: %s',
    (origin: Origin) => {
      const story = onGrid()
        .happening(1_000_000, 'main', 'parts L2', origin)
        .frame(1_000_000, { ...poles('main', 0), ...each(BEHIND_MAIN, { present1: 0, present2: 0, part: 2 }) });
      expect(verdictOf(story).armed).toBe(0);
    },
  );
});

describe('manualOrder, joining', () => {
  /** Main closed again at 2 s onto what PV still holds up. */
  const closes = (origin: Origin, island: Readonly<Record<string, number>>): Story =>
    mainOpened(new Story(house()).frame(0, calm), 1_000_000, island)
      .happening(2_000_000, 'main', 'touches L1', origin)
      .frame(2_000_000, { 'main.L1': 1, ...each(BUSES, { part: 1 }) });

  it('never lets a hand close a live section onto an unformed island', () => {
    const { outcome, grade } = verdictOf(closes('person', {}));
    expect(outcome).toMatchObject({ is: 'fail', against: 'person', worst: { value: -1, at_us: 2_000_000 } });
    expect(grade).toBe('common practice');
  });

  it('takes two poles that touch one after the other for one joining, though the street lacks a leg', () => {
    const story = closes('person', {})
      .happening(2_003_000, 'main', 'touches L2', 'person')
      .frame(2_003_000, { 'main.L2': 1 });
    expect(verdictOf(story).violations.person).toBe(1);
  });

  it('has nothing against a dead house, or a controller that closes', () => {
    expect(verdictOf(closes('person', each(BEHIND_MAIN, { following: 0 }))).outcome.is).toBe('pass');
    expect(verdictOf(closes('controller', {})).violations.controller).toBe(0);
  });
});

describe('manualOrder, breaking charge or discharge', () => {
  const charging = (current_A: number): Story =>
    new Story(house()).frame(0, { ...calm, 'car.p': -240 * current_A, 'car.i': current_A });
  const unplugs = (story: Story, origin: Origin): Story =>
    story
      .happening(2_000_000, 'ev-breaker', 'parts L1', origin)
      .frame(2_000_000, { 'ev-breaker.L1': 0, 'car.i': 0, 'car.p': 0 })
      .happening(2_002_000, 'ev-breaker', 'parts L2', origin)
      .frame(2_002_000, {
        'ev-breaker.L2': 0,
        ...each(['garage'], { present1: 0, present2: 0, part: 3 }),
        ...paths('car', 0),
      });

  it('takes the current before the first pole, at the vehicle’s own breaker: above 1 A never, 1 A is not armed', () => {
    const broken = verdictOf(unplugs(charging(1.01), 'person'));
    expect(broken.outcome).toMatchObject({
      is: 'fail',
      against: 'person',
      worst: { found: 1.01, unit: 'A', value: -1 },
    });
    expect(verdictOf(unplugs(charging(40), 'person')).outcome).toMatchObject({
      is: 'fail',
      worst: { value: -1, found: 40 },
    });
    expect(verdictOf(unplugs(charging(1), 'person'))).toMatchObject({ violations: { person: 0 } });
    expect(verdictOf(unplugs(charging(40), 'controller')).violations).toMatchObject({ person: 0, controller: 0 });
  });

  it('counts a main opened over a charging vehicle', () => {
    expect(verdictOf(mainOpened(charging(40), 2_000_000)).violations.person).toBe(1);
  });

  it('does not count a load breaker beside a vehicle that forms', () => {
    const story = forms(darkHouse(), 2_000_000).frame(2_500_000, { 'car.i': 30, 'car.p': 7200 });
    story.happening(3_000_000, 'iso', 'parts L1', 'person').frame(3_000_000, {});
    expect(verdictOf(story).armed).toBe(0);
  });
});
