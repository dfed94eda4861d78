import { describe, expect, it } from 'vitest';
import { enterService } from '../../../harness/rules/enter-service.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { house, ON_GRID, PV_STOPS, trips, voltage } from './house.ts';
import { judge, Story, type Values } from './telemetry-builder.ts';

const S = 1_000_000;
const END_us = 1000 * S;
const verdictOf = (story: Story, end_us = END_us): Verdict => judge(enterService, story.end(end_us));
const OLDER = { category: '2014' };
const out = (roof: Bag = {}): Story =>
  new Story(house({}, roof)).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.tripped': 1 });
/** In service at once, with `power_W`. */
const enters = (story: Story, at_us: number, power_W = 500, changes: Values = {}): Story =>
  story
    .happening(at_us, 'roof', 'starts', 'equipment')
    .frame(at_us, { 'roof.tripped': 0, 'roof.p': power_W, 'roof.i': power_W / 240, 'roof.energises': 1, ...changes });
/** The voltage is out of its window until 10 s. */
const soundFrom10s = (roof: Bag, changes: Values = {}): Story =>
  voltage(voltage(out(roof), 5 * S, 0.8), 10 * S, 1, changes);

describe('enterService, age of the last excursion', () => {
  it('wants 300 s less 1 %, and knows it to half a cycle', () => {
    const startsAfter = (age_us: number) => verdictOf(enters(soundFrom10s(OLDER), 10 * S + age_us)).outcome;
    expect(startsAfter(300 * S)).toMatchObject({ is: 'pass', worst: { value: 0.01, found: 300 * S, limit: 297 * S } });
    expect(startsAfter(297 * S)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(startsAfter(297 * S - 10_000)).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  it('meets the limit exactly and misses it by one µs, where waveforms show the crossing', () => {
    const startsAfter = (age_us: number) =>
      verdictOf(
        enters(soundFrom10s(OLDER), 10 * S + age_us)
          .wave(9 * S, 11 * S)
          .wave(306 * S, 308 * S),
      ).outcome;
    expect(startsAfter(297 * S + 200)).toMatchObject({ is: 'pass' });
    expect(startsAfter(297 * S - 200)).toMatchObject({ is: 'fail' });
  });

  it.each([
    [{ 'house.u12': 240 * 0.908 }, 'pass'],
    [{ 'house.u12': 240 * 0.906 }, 'fail'],
    [{ 'house.u12': 240 * 1.059 }, 'pass'],
    [{ 'house.u12': 240 * 1.061 }, 'fail'],
    [{ 'house.f': 59.495 }, 'pass'],
    [{ 'house.f': 59.48 }, 'fail'],
    [{ 'house.f': 60.105 }, 'pass'],
    [{ 'house.f': 60.12 }, 'fail'],
  ])('counts anew after any excursion from the window, widened by accuracy: %o is a %s', (changes, is) => {
    const story = soundFrom10s({ randomDelay: S })
      .frame(200 * S, changes)
      .frame(201 * S, { 'house.u12': 240, 'house.f': 60 });
    expect(verdictOf(enters(story, 320 * S)).outcome.is).toBe(is);
  });

  it('takes delay and window from the site, inside the ranges of the table', () => {
    const late = (roof: Bag) => {
      const { outcome } = verdictOf(enters(soundFrom10s({ randomDelay: S, ...roof }), 700 * S));
      return outcome.is === 'pass' ? outcome.worst.limit : outcome;
    };
    expect(late({ enterDelay: 600 * S })).toBe(594 * S);
    expect(late({ enterDelay: 900 * S })).toBe(594 * S);
    expect(verdictOf(enters(soundFrom10s({ randomDelay: S, enterDelay: 0 }), 10 * S + 1)).outcome.is).toBe('pass');
    const low = (roof: Bag) =>
      verdictOf(enters(soundFrom10s({ randomDelay: S, ...roof }, { 'house.u12': 240 * 0.9 }), 700 * S)).outcome.is;
    expect([low({}), low({ enterLow: 0.88 }), low({ enterLow: 0.5 })]).toEqual(['fail', 'pass', 'pass']);
  });

  it('takes what comes between entering service and the first power for no new count', () => {
    const story = soundFrom10s(OLDER).frame(320 * S, { 'roof.tripped': 0 });
    voltage(voltage(story, 400 * S, 0.8), 401 * S, 1).frame(402 * S, { 'roof.energises': 1, 'roof.p': 500 });
    expect(verdictOf(story).outcome).toMatchObject({ is: 'pass', worst: { found: 310 * S } });
  });

  it('says where it starts inside a formed island', () => {
    const { outcome } = verdictOf(enters(soundFrom10s(OLDER), 320 * S, 500, { 'house.forming': 1 }));
    expect(outcome).toMatchObject({ worst: { about: expect.stringContaining('starts inside the Local EPS') } });
  });

  it('is not armed by the return from momentary cessation, nor by a start that gives nothing', () => {
    const paused = new Story(house())
      .frame(0, ON_GRID)
      .frame(S, PV_STOPS)
      .frame(2 * S, { 'roof.p': 5000, 'roof.energises': 1 });
    expect(verdictOf(paused).armed).toBe(0);
    expect(verdictOf(out(OLDER).frame(S, { 'roof.tripped': 0 })).armed).toBe(0);
  });
});

describe('enterService, permit and ramp', () => {
  it('wants the permit', () => {
    const { outcome } = verdictOf(enters(out(OLDER), 5 * S, 500, { 'roof.permit': 0 }));
    expect(outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { value: -1 } });
  });

  it('lets power come along 300 s, a fifth of the rating ahead', () => {
    const at = (power_W: number, after_us: number, roof: Bag = {}) =>
      verdictOf(enters(out(roof), 5 * S).frame(5 * S + after_us, { 'roof.p': power_W })).outcome;
    expect(at(2500, 90 * S)).toMatchObject({ is: 'pass', worst: { value: 0, found: 90 * S, limit: 90 * S } });
    expect(at(2500, 90 * S - 1)).toMatchObject({ is: 'fail', worst: { scale: 300 * S } });
    expect(at(5000, S, { category: '2003' })).toMatchObject({ is: 'pass' });
    expect(at(5000, S, { randomDelay: S })).toMatchObject({ is: 'pass' });
    expect(at(5000, 80 * S, { rampTime: 100 * S })).toMatchObject({ is: 'pass', worst: { value: 0, scale: 100 * S } });
  });

  it('ends with a trip, and looks at the next start anew', () => {
    const story = trips(enters(out(), 5 * S), 20 * S);
    expect(verdictOf(enters(story, 600 * S).frame(650 * S, { 'roof.p': 4000 }))).toMatchObject({
      armed: 2,
      violations: { equipment: 1 },
      outcome: { is: 'fail', worst: { about: 'roof at 80 % of its rating, time since it entered service' } },
    });
  });

  it('is cut short inside the ramp unless it is broken', () => {
    expect(verdictOf(enters(out(), 5 * S), 304 * S).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(enters(out(), 5 * S), 305 * S).outcome.is).toBe('pass');
    expect(verdictOf(enters(out(), 5 * S, 5000), 6 * S).outcome.is).toBe('fail');
  });
});
