import { describe, expect, it } from 'vitest';
import { legVoltage } from '../../../harness/rules/leg-voltage.ts';
import { BEHIND_RELAY, BUSES, DARK, darkHouse, forms, HOUSE_FORMED, house, ON_GRID, onGrid, outage } from './house.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const MINUTE_us = 60_000_000;
const verdictOf = (story: Story, end_us = 5 * MINUTE_us): ReturnType<typeof judge> =>
  judge(legVoltage, story.end(end_us));
const worstOf = (story: Story, end_us?: number) => {
  const { outcome } = verdictOf(story, end_us);
  return outcome.is === 'not exercised' ? undefined : outcome.worst;
};
/** The grid as it stood before the run, and from 1 s on as changed. */
const from1s = (changes: Values): Story =>
  onGrid().happening(1_000_000, 'grid', 'tap moved', 'utility').frame(1_000_000, changes);

describe('legVoltage, steady', () => {
  it.each([
    ['u1', 127, 'pass', 0, undefined],
    ['u1', 127.01, 'fail', -0.01 / 10.5, 'utility'],
    ['u2', 106, 'pass', 0, undefined],
    ['u2', 105.9, 'fail', -0.1 / 10.5, 'utility'],
    ['u12', 254, 'pass', 0, undefined],
    ['u12', 207, 'fail', -1 / 23, 'utility'],
  ])('holds %s at %f V for minutes to range B: %s', (name, level_V, is, value, against) => {
    // Inside the ITI edges, which a steady 0.88 to 1.1 pu of the house would not all be: the street itself is as low.
    const story = from1s({ [`house.${name}`]: level_V, [`service.${name}`]: name === 'u12' ? 207 : 105 });
    const { outcome, grade, limit } = verdictOf(story);
    expect(outcome.is).toBe(is);
    if (outcome.is === 'not exercised') return;
    expect(outcome.worst.value).toBeCloseTo(value, 9);
    expect(outcome.worst).toMatchObject({ unit: 'V', about: expect.stringContaining('mean over 60 s, range B') });
    expect([grade, limit]).toEqual(['weak', `ansi-c84-1.B.${name === 'u12' ? 'utilisation' : 'lighting'}`]);
    if (outcome.is === 'fail') expect(outcome.against).toBe(against);
  });

  it.each([
    [109, 'leg L1 at house, mean over 60 s 109 V, outside range A (110 V) and inside range B', 110],
    [126.5, 'leg L1 at house, mean over 60 s 126.5 V, outside range A (126 V) and inside range B', 126],
  ])('warns at %f V, which is no violation, once and at the worst mean', (level_V, text, limit_V) => {
    const verdict = verdictOf(from1s({ 'house.u1': level_V }));
    expect(verdict.outcome.is).toBe('pass');
    expect(verdict.notes).toEqual([{ is: 'warning', at_us: 61_000_000, text, found: { mean_V: level_V, limit_V } }]);
  });

  it('warns of nothing at the edges of range A, nor where range B is broken anyway', () => {
    expect(verdictOf(from1s({ 'house.u1': 126, 'house.u2': 110 })).notes).toBeUndefined();
    expect(verdictOf(from1s({ 'house.u1': 128 })).notes).toBeUndefined();
  });

  it('takes the mean, not the moment: 6 s at 132 V among 60 s at 126 V are 126.6 V', () => {
    const story = from1s({ 'house.u1': 126 })
      .frame(100_000_000, { 'house.u1': 132 })
      .frame(106_000_000, { 'house.u1': 126 });
    expect(worstOf(story)).toMatchObject({ found: 126.6, at_us: 106_000_000 });
  });

  it('needs more than 60 s in one state: an island of 60 s is not judged, one µs more is', () => {
    const island = (for_us: number): Story =>
      forms(darkHouse(), 2_000_000, each(BEHIND_RELAY, { u1: 128, v1: 128 })).frame(2_000_000 + for_us, {
        ...each(BEHIND_RELAY, { supply: 0, forming: 0, u1: 0, u2: 0, u12: 0 }),
      });
    expect(verdictOf(island(MINUTE_us)).outcome.is).toBe('pass');
    expect(verdictOf(island(MINUTE_us + 1)).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { found: 128, at_us: 62_000_000 },
    });
  });

  it('starts anew with each state of supply', () => {
    const back = { present1: 1, present2: 1, supply: 1, v1: 120, v2: 120, v12: 240, u1: 128, u2: 120, u12: 240 };
    const twice = outage(onGrid(), 1_000_000).frame(2_000_000, each(BUSES, back));
    const calm = twice.frame(61_000_000, each(BUSES, { u1: 120 }));
    // 59 s at 128 V and 1 s at 120 V.
    expect(worstOf(calm)).toMatchObject({ found: (59 * 128 + 120) / 60 });
  });

  it('is armed once by what stood at the start, and by a dark house not at all', () => {
    const before = verdictOf(onGrid(), 1);
    expect(before.outcome).toMatchObject({ is: 'pass', worst: { found: 240, limit: 254, scale: 23 } });
    expect(verdictOf(new Story(house()).frame(0)).armed).toBe(0);
  });

  it('leaves a leg that the utility does not reach to the outage', () => {
    const lost = onGrid()
      .happening(1_000_000, 'grid', 'leg lost L2', 'utility')
      .frame(1_000_000, {
        ...each(BUSES, { present2: 0 }),
        ...each(['house', 'service'], { u2: 40, u12: 120 }),
      });
    const { outcome, notes } = verdictOf(lost);
    expect([outcome.is, notes]).toEqual(['pass', undefined]);
  });

  it('is held against who brought it out of range, not against who changed it last', () => {
    const story = from1s({ 'house.u1': 130 })
      .happening(20_000_000, 'kitchen', 'switches on', 'person')
      .frame(20_000_000, { 'house.u1': 129 });
    expect(verdictOf(story).outcome).toMatchObject({ is: 'fail', against: 'utility' });
  });

  it('asks anew who answers when another supply begins out of range', () => {
    const story = from1s({ 'house.u1': 130 })
      .frame(2_000_000, each(BEHIND_RELAY, DARK))
      .happening(3_000_000, 'car', 'forms', 'controller')
      .frame(3_000_000, { ...HOUSE_FORMED, 'house.u1': 128 });
    expect(verdictOf(story).violations).toMatchObject({ controller: 1, utility: 0 });
  });

  it('counts one stretch of supply once for each voltage, however often its mean leaves range B', () => {
    const story = new Story(house()).frame(0, ON_GRID);
    for (let minute = 1; minute < 9; minute += 2) {
      story.frame(minute * MINUTE_us, { 'house.u1': 130, 'house.u2': 130 });
      story.frame((minute + 1) * MINUTE_us, { 'house.u1': 120, 'house.u2': 120 });
    }
    expect(verdictOf(story, 10 * MINUTE_us).violations.site).toBe(2);
  });
});
