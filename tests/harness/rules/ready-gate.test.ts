import { describe, expect, it } from 'vitest';
import { readyGate } from '../../../harness/rules/ready-gate.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { charging, RECORDS } from './equipment-stories.ts';
import { darkHouse, forms, HOUSE_FORMED, onGrid } from './house.ts';
import { judge, type Story } from './telemetry-builder.ts';

const of = (story: Story): Verdict => judge(readyGate, story.end(5_000_000));

describe('ready-gate', () => {
  it('is never armed without a start, nor by what runs at the first frame', () => {
    expect(of(onGrid()).outcome).toEqual({ is: 'not exercised', why: 'never armed' });
  });

  it('passes a source that forms with all five records', () => {
    expect(of(forms(darkHouse(), 3_000_000, RECORDS))).toMatchObject({
      armed: 1,
      outcome: { is: 'pass', worst: { value: 1 } },
    });
  });

  it.each([1, 2, 4, 8, 16])('counts the missing record %i, against whoever lets it form', (bit) => {
    const verdict = of(forms(darkHouse(), 3_000_000, { 'gateway.in.commissioning': 31 - bit }));
    expect(verdict.outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { value: -1, found: 1, limit: 0 },
    });
  });

  it('counts each of several: a margin of -2 for two', () => {
    const verdict = of(forms(darkHouse(), 3_000_000, { 'gateway.in.commissioning': 7 }));
    expect(verdict.outcome).toMatchObject({ is: 'fail', worst: { value: -2, found: 2 } });
  });

  it('goes by the site where that says it has not been commissioned', () => {
    const story = forms(darkHouse({ commissioned: false }), 3_000_000, RECORDS);
    expect(of(story).outcome).toMatchObject({ is: 'fail', worst: { found: 1 } });
  });

  it('judges a charge that begins, from 1 % of the rating on', () => {
    expect(of(charging(30, RECORDS)).outcome.is).toBe('pass');
    expect(of(charging(30)).outcome).toMatchObject({ is: 'fail', worst: { found: 5 } });
    expect(of(charging(100 / 240)).armed).toBe(0);
    expect(of(charging(101 / 240)).armed).toBe(1);
  });

  it('takes power that an island gives back to its source for no charge', () => {
    const story = forms(darkHouse(), 3_000_000, RECORDS).frame(4_000_000, { ...HOUSE_FORMED, 'car.p': -5000 });
    expect(of(story).armed).toBe(1);
  });
});
