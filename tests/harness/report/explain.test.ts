import { describe, expect, it } from 'vitest';
import { wayTo } from '../../../harness/report/explain.ts';
import type { HappeningRecord } from '../../../sim/telemetry.ts';
import { at } from './made.ts';

/** Happenings 1, 2, 3 …, one a second, by the number of the cause of each. */
const story = (...causes: readonly (number | undefined)[]): readonly HappeningRecord[] =>
  causes.map((cause, i) => {
    const number = i + 1;
    return {
      kind: 'happening',
      at_us: at(number * 1_000_000),
      number,
      piece: 'main',
      did: 'open',
      origin: 'site',
      cause,
    };
  });
const numbers = (happenings: readonly HappeningRecord[], at_us: number) =>
  wayTo(happenings, at_us).map(({ number }) => number);
const _ = undefined;

describe('wayTo', () => {
  it('takes nothing that comes after, and what stands at the very instant', () => {
    expect(numbers(story(_, _, _), 999_999)).toEqual([]);
    expect(numbers(story(_, _, _), 2_000_000)).toEqual([1, 2]);
  });
  it('keeps the chain of causes back to its root however old, and fills up to six with the latest', () => {
    // 9 comes of 4, 4 of 1.
    expect(numbers(story(_, _, _, 1, _, _, _, _, 4), 9e6)).toEqual([1, 4, 6, 7, 8, 9]);
  });
  it('shows of a chain of more than six the root and the last five', () => {
    expect(numbers(story(_, 1, 2, 3, 4, 5, 6, 7), 8e6)).toEqual([1, 4, 5, 6, 7, 8]);
  });
  it('keeps what was last done by whom it is held against, with its root, before the orders that followed', () => {
    const orders = story(_, _, 2, _, _, _, _, _, _).map(
      (each): HappeningRecord => ({ ...each, origin: each.number < 4 ? 'person' : 'controller' }),
    );
    const held = (against: 'person' | 'site' | 'controller') => wayTo(orders, 9e6, against).map(({ number }) => number);
    expect(held('person')).toEqual([2, 3, 6, 7, 8, 9]);
    expect(held('controller')).toEqual([4, 5, 6, 7, 8, 9]);
    expect(held('site')).toEqual([4, 5, 6, 7, 8, 9]);
  });
  it('takes the last six where nothing has a cause', () => {
    expect(numbers(story(_, _, _, _, _, _, _, _), 8e6)).toEqual([3, 4, 5, 6, 7, 8]);
  });
  it('ends where a cause is not among them, or is itself', () => {
    expect(numbers(story(77), 1e6)).toEqual([1]);
    expect(numbers(story(1), 1e6)).toEqual([1]);
  });
});
