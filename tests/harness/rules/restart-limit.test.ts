import { describe, expect, it } from 'vitest';
import { restartLimit } from '../../../harness/rules/restart-limit.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { formsAgain, restarted, stopsOnOverload } from './equipment-stories.ts';
import { CAR_STOPS, darkHouse, forms, HOUSE_FORMED } from './house.ts';
import { judge, type Story, type Values } from './telemetry-builder.ts';

const MINUTE_us = 60_000_000;
const of = (story: Story): Verdict => judge(restartLimit, story.end(30 * MINUTE_us));
const island = (): Story => forms(darkHouse(), 2_000_000).frame(2_100_000, { 'heater.on': 1 });

/** An island whose heater is shed after the first stop; it stops 1 s before each of these instants and starts again at them. */
function starts(...at_us: readonly number[]): Story {
  const story = island();
  for (const start_us of at_us) {
    stopsOnOverload(story, start_us - 1_000_000, { 'heater.on': 0 });
    formsAgain(story, start_us);
  }
  return story;
}

describe('restart-limit', () => {
  it('is never armed by a source that was told to stop, nor by one that ran empty', () => {
    const told = island().frame(3_000_000, CAR_STOPS).frame(4_000_000, HOUSE_FORMED);
    expect(of(told).outcome).toEqual({ is: 'not exercised', why: 'never armed' });
    const empty = stopsOnOverload(island(), 3_000_000, { 'car.fault': 9 });
    expect(of(formsAgain(empty, 4_000_000)).armed).toBe(0);
  });

  it.each([1, 2, 4, 5, 6, 8])('is armed by a stop with fault %i', (fault) => {
    expect(of(stopsOnOverload(island(), 3_000_000, { 'car.fault': fault }))).toMatchObject({
      armed: 1,
      outcome: { is: 'pass' },
    });
  });

  it('allows three restarts in 10 minutes and no fourth, against who started it', () => {
    const three = starts(MINUTE_us, 2 * MINUTE_us, 3 * MINUTE_us);
    expect(of(three).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 3 } });
    const four = of(starts(MINUTE_us, 2 * MINUTE_us, 3 * MINUTE_us, 11 * MINUTE_us - 1));
    expect(four.outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { found: 4, limit: 3 } });
  });

  it('has forgotten a restart once 10 minutes have passed', () => {
    expect(of(starts(MINUTE_us, 2 * MINUTE_us, 3 * MINUTE_us, 11 * MINUTE_us)).outcome.is).toBe('pass');
  });

  it('lets it start once onto the same load, and not twice', () => {
    expect(of(restarted(1)).outcome.is).toBe('pass');
    const twice = of(restarted(2));
    expect(twice.outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { value: -1 } });
    expect(twice.outcome.is === 'fail' && twice.outcome.worst.about).toContain('heater');
  });

  it('lets it start a second time once the load that came last is off', () => {
    const shed = restarted(1);
    stopsOnOverload(shed, 2_300_000);
    expect(of(formsAgain(shed.frame(2_310_000, { 'heater.on': 0 }), 2_350_000)).outcome.is).toBe('pass');
  });

  it('takes a load behind an open breaker for one that is off', () => {
    const story = restarted(1);
    stopsOnOverload(story, 2_300_000, { 'garage.part': 7 });
    expect(of(formsAgain(story, 2_350_000)).outcome.is).toBe('pass');
  });

  it('wants another load off than one that merely runs beside it', () => {
    const other = forms(darkHouse(), 2_000_000, { 'kitchen.on': 1 }).frame(2_100_000, { 'heater.on': 1 });
    formsAgain(stopsOnOverload(other, 2_200_000), 2_250_000);
    stopsOnOverload(other, 2_300_000, { 'kitchen.on': 0 });
    expect(of(formsAgain(other, 2_350_000)).outcome.is).toBe('fail');
  });

  it('takes any load off for enough where none came while it formed', () => {
    const all: Values = { 'kitchen.on': 1, 'heater.on': 1 };
    const twice = (last: Values): Verdict => {
      const story = forms(darkHouse().frame(1_900_000, all), 2_000_000);
      formsAgain(stopsOnOverload(story, 2_200_000), 2_250_000);
      stopsOnOverload(story, 2_300_000);
      return of(formsAgain(story.frame(2_310_000, last), 2_350_000));
    };
    expect(twice({ 'kitchen.on': 0 }).outcome.is).toBe('pass');
    expect(twice({}).outcome.is).toBe('fail');
  });

  it('takes a motor that starts for the load that came last', () => {
    const story = forms(darkHouse().frame(1_900_000, { 'kitchen.on': 1, 'heater.on': 1 }), 2_000_000);
    story.frame(2_100_000, { 'kitchen.state': 2 });
    formsAgain(stopsOnOverload(story, 2_200_000), 2_250_000);
    stopsOnOverload(story.frame(2_260_000, { 'kitchen.state': 3 }), 2_300_000, { 'heater.on': 0 });
    const verdict = of(formsAgain(story, 2_350_000));
    expect(verdict.outcome).toMatchObject({ is: 'fail' });
    expect(verdict.outcome.is === 'fail' && verdict.outcome.worst.about).toContain('kitchen');
  });
});
