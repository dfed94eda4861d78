import { describe, expect, it } from 'vitest';
import { abnormalFrequency } from '../../../harness/rules/abnormal-frequency.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { house, ON_GRID, trips } from './house.ts';
import { judge, Story } from './telemetry-builder.ts';

const END_us = 400_000_000;
const verdictOf = (story: Story, end_us = END_us): Verdict => judge(abnormalFrequency, story.end(end_us));
const at = (f_Hz: number, roof: Bag = {}): Story =>
  new Story(house({}, roof)).frame(0, ON_GRID).frame(1_000_000, { 'house.f': f_Hz });
const back = (f_Hz: number, after_us: number, roof: Bag = {}): Verdict =>
  verdictOf(
    at(f_Hz, roof)
      .frame(1_000_000 + after_us, { 'house.f': 60 })
      .wave(900_000, END_us),
  );

describe('abnormalFrequency', () => {
  it.each([
    ['II', 62.5, 160_000, 33_333],
    ['II', 56, 160_000, 33_333],
    ['II', 61.5, 300_000_000, 3_000_000],
    ['III', 58, 300_000_000, 3_000_000],
    ['2003', 60.7, 160_000, 33_333],
    ['2003', 59.1, 160_000, 33_333],
    ['2014', 60.7, 2_000_000, 33_333],
    ['2014', 56, 160_000, 33_333],
  ])('gives category %s at %f Hz %i µs and %i µs on top', (category, f_Hz, time_us, slack_us) => {
    const edge_us = time_us / 1000;
    expect(back(f_Hz, time_us + slack_us - edge_us, { category }).outcome.is).toBe('pass');
    expect(back(f_Hz, time_us + slack_us + edge_us, { category }).outcome).toMatchObject({ is: 'fail' });
  });

  it('asks nothing within 0.1 Hz of the level', () => {
    expect(verdictOf(at(61.3)).armed).toBe(0);
    expect(verdictOf(at(58.4)).armed).toBe(0);
    expect(verdictOf(at(61.31)).outcome.is).toBe('fail');
  });

  it('rests below 0.30 pu, and where nothing turns', () => {
    const low = at(62.5).frame(1_050_000, { 'house.u12': 71.9 });
    expect(verdictOf(low)).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { found: 50_000 } } });
    expect(verdictOf(at(62.5).frame(1_050_000, { 'house.u12': 72 })).outcome.is).toBe('fail');
    expect(verdictOf(at(0)).armed).toBe(0);
  });

  it('ends with the start of the cycle in which the source has ceased', () => {
    expect(verdictOf(trips(at(62.5), 1_144_000, 'OF2')).outcome).toMatchObject({
      is: 'pass',
      worst: { found: 144_000, limit: 193_333, scale: 160_000, about: 'roof runs above 62 Hz (OF2)' },
    });
    expect(verdictOf(trips(at(62.5), 1_190_000, 'OF2')).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
  });

  it('does not wait for the cycle when what the source let go of is back at once', () => {
    const story = trips(at(62.5), 1_180_000, 'OF2').frame(1_195_000, { 'house.f': 60 });
    expect(verdictOf(story.wave(900_000, END_us)).outcome).toMatchObject({ is: 'pass', worst: { found: 180_000 } });
  });

  it('is cut short where the run ends inside', () => {
    expect(verdictOf(at(61.5), 200_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(at(60)).armed).toBe(0);
  });
});
