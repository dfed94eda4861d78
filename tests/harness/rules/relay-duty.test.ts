import { describe, expect, it } from 'vitest';
import { relayDuty } from '../../../harness/rules/relay-duty.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import { onGrid, piece, poles, siteOf } from './house.ts';
import { judge, Story } from './telemetry-builder.ts';

const END_us = 300_000_000;
const of = (story: Story): Verdict => judge(relayDuty, story.end(END_us));

function relay(story: Story, at_us: number, closed: 0 | 1, origin: Origin = 'controller', current_A = 0): Story {
  if (closed === 0) story.frame(at_us - 1, { 'iso.i1': current_A, 'iso.i2': current_A });
  story.happening(at_us, 'iso', closed === 1 ? 'touches L1' : 'parts L1', origin);
  return story.frame(at_us, { ...poles('iso', closed), 'iso.i1': 0, 'iso.i2': 0 });
}

/** The contactor of the vehicle makes at each of these instants, for a second. */
function joins(...at_us: readonly number[]): Story {
  const story = onGrid();
  for (const make_us of at_us) {
    story.happening(make_us, 'car', 'joins', 'equipment').frame(make_us, { 'car.contactor': 1 });
    story
      .happening(make_us + 1_000_000, 'car', 'leaves', 'equipment')
      .frame(make_us + 1_000_000, { 'car.contactor': 0 });
  }
  return story;
}

describe('relay-duty', () => {
  it('is never armed while nothing moves', () => {
    expect(of(onGrid()).outcome).toEqual({ is: 'not exercised', why: 'never armed' });
  });

  it('lets the relay make exactly 10 s after it has opened, and not 1 µs before, against who closed it', () => {
    const kept = of(relay(relay(onGrid(), 20_000_000, 0), 30_000_000, 1));
    expect(kept.outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 10_000_000 } });
    const broken = of(relay(relay(onGrid(), 20_000_000, 0), 29_999_999, 1, 'equipment'));
    expect(broken.outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { found: 9_999_999 } });
  });

  it('takes an opening of less than 50 ms for a bounce, one of 50 ms for an operation', () => {
    const bounced = of(relay(relay(onGrid(), 20_000_000, 0), 20_049_999, 1));
    expect(bounced).toMatchObject({ armed: 1, outcome: { is: 'pass' } });
    const operated = of(relay(relay(onGrid(), 20_000_000, 0), 20_050_000, 1));
    expect(operated).toMatchObject({ armed: 2, outcome: { is: 'fail', worst: { found: 50_000 } } });
  });

  it('allows two makes within a minute, and a third 60 s after the first', () => {
    expect(of(joins(20_000_000, 50_000_000, 80_000_000)).outcome).toMatchObject({
      is: 'pass',
      worst: { value: 0, found: 2 },
    });
    const third = of(joins(20_000_000, 50_000_000, 79_999_999));
    expect(third.outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { value: -0.5, found: 3, limit: 2 },
    });
    expect(third.violations.equipment).toBe(1);
  });

  it('asks no rest of the plug contactor: an outage may find it just opened', () => {
    expect(of(joins(20_000_000, 21_100_000)).outcome.is).toBe('pass');
  });

  it('counts the makes of a neutral former', () => {
    const site = siteOf('with-former', [
      piece('grid', 'utility', ['service']),
      piece('main', 'breaker', ['service', 'house'], { role: 'main' }),
      piece('middle', 'former', ['house'], { rating: 40 }),
    ]);
    const story = new Story(site).frame(0, {});
    for (const make_us of [10_000_000, 20_000_000, 30_000_000]) {
      story.happening(make_us, 'middle', 'touches L1', 'controller').frame(make_us, { 'middle.contactor': 1 });
      story.frame(make_us + 1_000_000, { 'middle.contactor': 0 });
    }
    expect(of(story).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { found: 3 } });
  });

  it('lets a contact break its rating and no more, against who opened it', () => {
    const breaks = (current_A: number) => of(relay(onGrid(), 20_000_000, 0, 'utility', current_A));
    expect(breaks(200).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 200, limit: 200 } });
    expect(breaks(201).outcome).toMatchObject({ is: 'fail', against: 'utility', worst: { found: 201 } });
  });
});
