import { describe, expect, it } from 'vitest';
import { abnormalVoltage } from '../../../harness/rules/abnormal-voltage.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { CAR_FORMS, house, ON_GRID, PV_RUNS, PV_STOPS, trips, voltage } from './house.ts';
import { judge, Story } from './telemetry-builder.ts';

const END_us = 60_000_000;
const verdictOf = (story: Story, end_us = END_us): Verdict => judge(abnormalVoltage, story.end(end_us));
const grid = (roof: Bag = {}): Story => new Story(house({}, roof)).frame(0, ON_GRID);
/** The voltage leaves at 1 s, and the inverter trips `after_us` later. */
const tripsAfter = (level_pu: number, after_us: number, roof: Bag = {}): Story =>
  trips(voltage(grid(roof), 1_000_000, level_pu), 1_000_000 + after_us).wave(900_000, END_us);

describe('abnormalVoltage', () => {
  it.each([
    ['I', 1.25, 160_000],
    ['I', 1.15, 2_000_000],
    ['I', 0.6, 2_000_000],
    ['I', 0.4, 160_000],
    ['II', 0.6, 10_000_000],
    ['II', 0.4, 160_000],
    ['III', 1.15, 13_000_000],
    ['III', 0.8, 21_000_000],
    ['III', 0.4, 2_000_000],
    ['2003', 1.15, 1_000_000],
    ['2003', 0.8, 2_000_000],
    ['2014', 0.55, 1_000_000],
    ['2014', 0.4, 160_000],
  ])('gives category %s at %f pu %i µs, and two cycles or 1 %% on top', (category, level_pu, time_us) => {
    const slack_us = time_us >= 5_000_000 ? time_us / 100 : 33_333;
    const outcome = (after_us: number) => verdictOf(tripsAfter(level_pu, after_us, { category })).outcome;
    expect(outcome(time_us + slack_us - 200)).toMatchObject({ is: 'pass', worst: { scale: time_us } });
    expect(outcome(time_us + slack_us + 200 + time_us / 1e4)).toMatchObject({ is: 'fail', against: 'site' });
  });

  it('meets a time exactly when the voltage is back then, and is late one µs after', () => {
    const back = (after_us: number) =>
      verdictOf(voltage(voltage(grid(), 1_000_000, 0.6), 1_000_000 + after_us, 1)).outcome;
    expect(back(10_000_000)).toMatchObject({ is: 'pass', worst: { value: 0.01 } });
    expect(back(10_100_000)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(back(10_110_000)).toMatchObject({ is: 'fail', worst: { found: 10_110_000, limit: 10_100_000 } });
  });

  it('asks nothing within 1 % of the level', () => {
    expect(verdictOf(voltage(grid(), 1_000_000, 1.11)).armed).toBe(0);
    expect(verdictOf(voltage(grid(), 1_000_000, 0.69)).armed).toBe(0);
    expect(verdictOf(voltage(grid(), 1_000_000, 1.1101)).outcome.is).toBe('fail');
  });

  it('counts one excursion once, by its worst row', () => {
    const { outcome, violations } = verdictOf(tripsAfter(1.3, 5_000_000));
    expect(outcome).toMatchObject({ worst: { value: -10, about: 'roof runs above 1.2 pu (OV2)' } });
    expect(violations.site).toBe(1);
  });

  it('clears a row that the voltage has left, while a milder one runs on', () => {
    const story = voltage(voltage(voltage(grid(), 1_000_000, 0.4), 1_100_000, 0.6), 1_200_000, 0.4);
    expect(verdictOf(trips(story, 1_340_000, 'UV2'))).toMatchObject({
      armed: 1,
      outcome: { is: 'pass', worst: { found: 140_000, about: 'roof runs below 0.45 pu (UV2)' } },
    });
  });

  it('takes settings of the site inside the range of the table, and the nearest end beyond it', () => {
    const limitOf = (roof: Bag) => {
      const { outcome } = verdictOf(tripsAfter(1.19, 900_000, roof));
      return outcome.is === 'pass' ? outcome.worst.limit : undefined;
    };
    expect(limitOf({ ov1Time: 5_000_000 })).toBe(5_050_000);
    expect(limitOf({ ov1Time: 90_000_000 })).toBe(13_130_000);
    expect(limitOf({ ov1Time: 200_000 })).toBe(1_033_333);
    expect(verdictOf(tripsAfter(1.16, 500_000, { ov1: 1.16 })).armed).toBe(0);
    expect(verdictOf(tripsAfter(1.22, 500_000, { ov1: 5 })).armed).toBe(1);
    // The older editions leave nothing to the site.
    expect(verdictOf(tripsAfter(1.15, 1_500_000, { category: '2003', ov1Time: 9_000_000 })).outcome.is).toBe('fail');
  });

  it.each(['utility', 'controller', 'person', 'equipment'] as const)(
    'is held against who changed the circuit: %s',
    (origin) => {
      const story = grid().happening(1_000_000, 'main', 'parts L1', origin);
      expect(verdictOf(trips(voltage(story, 1_000_000, 0.4), 3_000_000)).outcome).toMatchObject({ against: origin });
    },
  );

  it('times a source that starts out there from its start, against whoever started it', () => {
    const story = voltage(grid().frame(500_000, PV_STOPS), 1_000_000, 1.3)
      .happening(3_000_000, 'roof', 'starts', 'equipment')
      .frame(3_000_000, PV_RUNS);
    expect(verdictOf(trips(story, 3_500_000))).toMatchObject({
      outcome: { is: 'fail', against: 'equipment', worst: { found: 500_000 } },
    });
  });

  it('asks nothing of a source that does not run, nor of a vehicle that forms', () => {
    expect(verdictOf(voltage(grid().frame(500_000, PV_STOPS), 1_000_000, 1.3)).armed).toBe(0);
    const site = house();
    const pieces = site.pieces.map((each) =>
      each.id === 'car' ? { ...each, params: { ...each.params, category: 'II' } } : each,
    );
    const gives = (forms: number): Verdict => {
      const story = new Story({ ...site, pieces }).frame(0, {
        ...ON_GRID,
        ...PV_STOPS,
        ...CAR_FORMS,
        'car.p': 5000,
        'car.forms': forms,
      });
      return verdictOf(voltage(story, 1_000_000, 1.3));
    };
    expect(gives(1).armed).toBe(0);
    expect(gives(0).outcome).toMatchObject({ is: 'fail', worst: { about: 'car runs above 1.2 pu (OV2)' } });
  });

  it('is cut short where the run ends before the time is over, and broken after', () => {
    const open = (end_us: number) => verdictOf(voltage(grid(), 1_000_000, 1.15), end_us).outcome;
    expect(open(3_033_333)).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(open(3_060_000)).toMatchObject({ is: 'fail' });
  });
});
