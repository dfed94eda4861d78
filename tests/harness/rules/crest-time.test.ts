import { describe, expect, it } from 'vitest';
import { CrestTime } from '../../../harness/rules/crest-time.ts';

const S = 1_000_000;
/** A sine of 2 pu is above 1 pu for 2/π · acos(1/2) = two thirds of the time. */
const played = (...spans: readonly (readonly [from_s: number, to_s: number])[]): CrestTime => {
  const time = new CrestTime(1, 60 * S);
  for (const [from_s, to_s] of spans) {
    time.take(from_s * S, 2);
    time.take(to_s * S, 0);
  }
  return time;
};

describe('CrestTime', () => {
  it('counts two thirds of a sine of twice the level, and nothing of one at the level', () => {
    expect(played([0, 30]).most_us(0, 40 * S)).toBeCloseTo(20 * S, 3);
    const at = new CrestTime(1, 60 * S);
    at.take(0, 1);
    expect(at.most_us(-1, 40 * S)).toBe(0);
  });

  it('counts of an older span only what lies in the window', () => {
    expect(played([0, 30], [70, 80]).most_us(30 * S, 90 * S)).toBeCloseTo((2 / 3) * 20 * S, 3);
  });

  it('drops what lies before it altogether', () => {
    expect(played([0, 3], [10, 40], [95, 96]).most_us(90 * S, 100 * S)).toBeCloseTo((2 / 3) * 5 * S, 3);
  });

  it('gives the most of all windows that end later, and forgets none that a later one may hold', () => {
    const time = played([0, 30]);
    expect(time.most_us(0, 31 * S)).toBeCloseTo(20 * S, 3);
    time.take(40 * S, 2);
    expect(time.most_us(31 * S, 43 * S)).toBeCloseTo(22 * S, 3);
  });

  it('holds no more than the window of a span that lasts longer', () => {
    expect(played([0, 90]).most_us(0, 90 * S)).toBeCloseTo(40 * S, 3);
  });
});
