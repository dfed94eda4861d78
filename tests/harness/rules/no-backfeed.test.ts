import { describe, expect, it } from 'vitest';
import { noBackfeed } from '../../../harness/rules/no-backfeed.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_RELAY,
  CAR_STOPS,
  DARK,
  darkHouse,
  forms,
  house,
  ON_GRID,
  onGrid,
  outage,
  PV_RUNS,
  PV_STOPS,
  paths,
  poles,
  STREET_DARK,
} from './house.ts';
import { relayOpens } from './stories.ts';
import { each, judge, Story } from './telemetry-builder.ts';

const END_us = 6_000_000;
const quiet = { ...PV_STOPS, ...STREET_DARK };

/** The relay parts the PV from the street `after_us` after the outage began at 1 s. */
const partedAfter = (after_us: number): Story =>
  relayOpens(outage(onGrid(), 1_000_000), 1_000_000 + after_us, PV_RUNS).end(END_us);

describe('noBackfeed, following sources', () => {
  it('takes the contact that parts exactly 2 s after the outage, with nothing left, and fails one µs later against the utility', () => {
    const exact = judge(noBackfeed, partedAfter(2_000_000));
    expect(exact.outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 2_000_000, limit: 2_000_000 } });
    expect(exact.grade).toBe('confirmed');
    const late = judge(noBackfeed, partedAfter(2_000_001));
    expect(late.outcome).toMatchObject({ is: 'fail', against: 'utility', worst: { value: -0.5e-6, unit: 'µs' } });
    expect(late.violations.utility).toBe(1);
  });

  it('counts as ceased from the start of the first whole quiet cycle: 0.5 s, margin 0.75', () => {
    const story = outage(onGrid(), 1_000_000)
      .frame(1_200_000, { 'roof.p': 0 })
      .frame(1_216_666, { 'roof.p': 3000 }) // One µs short of a cycle: not ceased.
      .frame(1_500_000, quiet)
      .end(1_516_667);
    expect(judge(noBackfeed, story).outcome).toMatchObject({
      is: 'pass',
      worst: { value: 0.75, found: 500_000, at_us: 1_500_000 },
    });
  });

  it('does not call it ceased at 1.1 % of active or 11 % of apparent power', () => {
    for (const rest of [
      { 'roof.p': 55, 'roof.q': 0 },
      { 'roof.p': 0, 'roof.q': 550 },
    ]) {
      const story = outage(onGrid(), 1_000_000)
        .frame(1_500_000, { ...quiet, ...rest })
        .end(END_us);
      expect(judge(noBackfeed, story).outcome.is).toBe('fail');
    }
    const atLimit = outage(onGrid(), 1_000_000)
      .frame(1_500_000, { ...quiet, 'roof.p': 50, 'roof.q': 490 })
      .end(END_us);
    expect(judge(noBackfeed, atLimit).outcome.is).toBe('pass');
  });

  it.each([
    [1_800_000, 'pass'],
    [1_819_000, 'not exercised'],
    [2_200_000, 'not exercised'],
    [2_223_000, 'fail'],
  ])('takes a detection after %i µs as known to a tenth of itself: %s', (after_us, is) => {
    const story = outage(onGrid(), 1_000_000)
      .frame(1_000_000 + after_us, quiet)
      .end(END_us);
    const { outcome } = judge(noBackfeed, story);
    expect(outcome.is).toBe(is);
    if (is === 'not exercised') expect(outcome).toEqual({ is, why: 'unresolved' });
  });

  it('resolves the same detection to 0.1 ms where waveforms were recorded', () => {
    const at_us = 1_000_000 + 1_900_000;
    const story = outage(onGrid(), 1_000_000)
      .frame(at_us, quiet)
      .wave(at_us - 50_000, at_us + 50_000)
      .end(END_us);
    expect(judge(noBackfeed, story).outcome).toMatchObject({ is: 'pass', worst: { found: 1_900_000 } });
  });

  it('knows a source that was told to stop to half a cycle: 1.99 s passes', () => {
    const story = outage(onGrid(), 1_000_000)
      .frame(2_900_000, { 'roof.permit': 0 })
      .frame(2_990_000, quiet)
      .end(END_us);
    expect(judge(noBackfeed, story).outcome).toMatchObject({ is: 'pass', worst: { found: 1_990_000 } });
  });

  it('is cut short where the run ends before the 2 s are over, and broken where they are', () => {
    const open = (end_us: number) => judge(noBackfeed, outage(onGrid(), 1_000_000).end(end_us)).outcome;
    expect(open(3_000_000)).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(open(3_000_001)).toMatchObject({ is: 'fail', against: 'utility' });
  });

  it('allows up to 5 s where that was agreed with the utility', () => {
    const late = (agreedClearing: number) => {
      const story = outage(new Story(house({ agreedClearing })).frame(0, ON_GRID), 1_000_000);
      return judge(noBackfeed, relayOpens(story, 4_000_000, PV_RUNS).end(8_000_000));
    };
    expect(late(5_000_000)).toMatchObject({ outcome: { is: 'pass' }, grade: 'memory' });
    expect(late(2_500_000).outcome.is).toBe('fail');
    expect(late(60_000_000).outcome).toMatchObject({ is: 'pass', worst: { limit: 5_000_000 } });
  });

  it('clears its timer when a recloser is back after 0.3 s, and starts a new 2 s with the next absence', () => {
    const back = { ...each(['service', 'panel', 'house', 'garage'], { present1: 1, present2: 1, supply: 1 }) };
    const story = outage(onGrid(), 1_000_000)
      .happening(1_300_000, 'grid', 'supply back', 'utility')
      .frame(1_300_000, back);
    const second = outage(story, 2_900_000).frame(4_000_000, quiet).end(END_us);
    expect(judge(noBackfeed, second).outcome).toMatchObject({ is: 'pass', worst: { found: 1_100_000 } });
    expect(judge(noBackfeed, second).armed).toBe(6); // Twice each for the PV, the vehicle that follows and the vehicle that forms.
  });

  it.each(['controller', 'person', 'equipment'] as const)(
    'counts a path made while energising against whom closed it: %s',
    (origin: Origin) => {
      const story = darkHouse()
        .frame(2_000_000, { ...PV_RUNS, ...each(BEHIND_RELAY, { supply: 2, forming: 0, following: 1 }) })
        .happening(3_000_000, 'iso', 'touches L1', origin)
        .frame(3_000_000, { 'iso.L1': 1, 'roof.path1': 1 })
        .end(END_us);
      const { outcome, violations } = judge(noBackfeed, story);
      expect(outcome).toMatchObject({ is: 'fail', against: origin, worst: { value: -1 } });
      expect(violations[origin]).toBe(1);
    },
  );

  it('counts a later start in the same absence against whoever started it', () => {
    const story = outage(onGrid(), 1_000_000)
      .frame(1_500_000, quiet)
      .happening(4_000_000, 'roof', 'starts', 'equipment')
      .frame(4_000_000, PV_RUNS)
      .end(END_us);
    expect(judge(noBackfeed, story).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { value: -1, at_us: 4_000_000 },
    });
  });

  it('is not armed for PV without a path: a main opened by hand, the street sound', () => {
    const story = onGrid()
      .frame(1_000_000, { ...poles('main', 0), ...paths('roof', 0), ...paths('car', 0) })
      .end(END_us);
    expect(judge(noBackfeed, story)).toMatchObject({ armed: 0, outcome: { is: 'not exercised', why: 'never armed' } });
  });

  it('is armed by one lost leg, and says the site where nobody is on record', () => {
    const story = onGrid()
      .frame(1_000_000, each(['service', 'panel', 'house', 'garage'], { present2: 0 }))
      .end(END_us);
    expect(judge(noBackfeed, story).outcome).toMatchObject({ is: 'fail', against: 'site' });
  });
});

describe('noBackfeed, forming sources', () => {
  it.each([
    [50_000, { is: 'pass', worst: { value: 0 } }],
    [49_999, { is: 'fail', against: 'controller', worst: { value: -1 / 50_000 } }],
  ])('wants 50 ms from the last pole open to forming: %i µs', (after_us, expected) => {
    const story = forms(darkHouse(), 1_500_000 + after_us).end(END_us);
    const { outcome, grade } = judge(noBackfeed, story);
    expect(outcome).toMatchObject(expected);
    expect(grade).toBe('site setting');
  });

  const welded = (changes: Readonly<Record<string, number>>): Story =>
    darkHouse()
      .happening(1_600_000, 'iso', 'welds L1', 'equipment')
      .frame(1_600_000, { 'iso.L1': 2, 'car.path1': 1, 'iso.openProved1': 0, ...changes });

  it('fails at once when the service carries more than 0.02 pu over one pole, against the last link', () => {
    const story = forms(welded({}), 3_000_000, { 'service.u1': 2.5 })
      .frame(3_001_000, { 'service.u1': 60, ...CAR_STOPS })
      .end(END_us);
    const { outcome, violations } = judge(noBackfeed, story);
    expect(outcome).toMatchObject({ is: 'fail', against: 'controller' });
    expect(violations.controller).toBe(2); // No separation, and 0.0208 pu on the street.
    const afterwards = forms(darkHouse(), 2_000_000)
      .happening(3_000_000, 'iso', 'welds L2', 'equipment')
      .frame(3_000_000, { 'iso.L2': 2, 'car.path2': 1, 'iso.openProved2': 0, 'service.u2': 118 })
      .end(END_us);
    expect(judge(noBackfeed, afterwards).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { value: -10 },
    });
  });

  it('lets open poles leak: 3 V on the service without a path is nobody’s', () => {
    const story = forms(darkHouse(), 3_000_000, { 'service.u1': 3 }).end(END_us);
    expect(judge(noBackfeed, story).outcome.is).toBe('pass');
  });

  const hidden = (level_V: number, for_us: number, again = false): Story => {
    const story = welded({ 'iso.openProved1': 1 })
      .happening(3_000_000, 'car', 'forms', 'controller')
      .frame(3_000_000, { 'car.forms': 1, 'car.energises': 1, 'service.u1': level_V })
      .frame(3_000_000 + for_us, { ...CAR_STOPS, 'service.u1': 0 });
    if (!again) return story.end(END_us);
    return story
      .happening(4_000_000, 'car', 'forms', 'controller')
      .frame(4_000_000, { 'car.forms': 1, 'car.energises': 1, 'car.path1': 1, 'service.u1': level_V })
      .frame(4_010_000, { ...CAR_STOPS, 'service.u1': 0 })
      .end(END_us);
  };

  it('holds a weld whose contact lies to 0.05 pu, 100 ms and one attempt, against the equipment', () => {
    expect(judge(noBackfeed, hidden(5.9, 80_000)).outcome).toMatchObject({ is: 'pass' });
    expect(judge(noBackfeed, hidden(6.1, 80_000)).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    expect(judge(noBackfeed, hidden(5.9, 100_000)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(judge(noBackfeed, hidden(5.9, 109_000)).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    expect(judge(noBackfeed, hidden(5.9, 20_000, true)).violations.equipment).toBeGreaterThan(0);
  });

  it('judges no hidden weld by the time since the last pole parted, but the sound pole beside it', () => {
    const hiddenAt = (at_us: number) =>
      darkHouse().happening(at_us, 'iso', 'welds L1', 'equipment').frame(at_us, { 'iso.L1': 2, 'car.path1': 1 });
    const quiet = { 'service.u1': 0 };
    const sound = judge(noBackfeed, forms(hiddenAt(1_600_000), 3_000_000, quiet).end(END_us));
    expect(sound.violations).toEqual({ controller: 0, person: 0, equipment: 0, utility: 0, site: 0 });
    const both = hiddenAt(1_600_000).frame(1_700_000, { 'iso.L2': 1, 'car.path2': 1, 'iso.openProved2': 0 });
    expect(judge(noBackfeed, forms(both, 3_000_000, quiet).end(END_us)).violations.controller).toBe(1);
  });

  it('is armed by an outage alone where the site has a forming source', () => {
    const story = outage(new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS }), 1_000_000)
      .frame(1_100_000, each(BEHIND_RELAY, DARK))
      .end(END_us);
    expect(judge(noBackfeed, story)).toMatchObject({ outcome: { is: 'pass', worst: { value: 1 } }, armed: 3 });
  });
});
