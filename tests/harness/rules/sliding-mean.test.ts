import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { SlidingMean } from '../../../harness/rules/sliding-mean.ts';

const WINDOW_us = 60_000_000;
type Change = readonly [at_us: number, level_V: number];

function slide(changes: readonly Change[], end_us: number, window_us = WINDOW_us): SlidingMean<number> {
  const mean = new SlidingMean<number>(window_us);
  const [first, ...rest] = changes;
  mean.start(first![0], first![1]);
  for (const [index, [at_us, level_V]] of rest.entries()) mean.take(at_us, level_V, index);
  mean.passTo(end_us, rest.length);
  return mean;
}

/** The mean over the window that ends at `to_us`, in steps of 10 µV times µs, added up piece by piece. */
function sumAt(changes: readonly Change[], to_us: number, window_us: number): number {
  let sum = 0;
  for (const [index, [at_us, level_V]] of changes.entries()) {
    const from = Math.max(at_us, to_us - window_us);
    const until = Math.min(changes[index + 1]?.[0] ?? Infinity, to_us);
    if (until > from) sum += Math.round(level_V * 1e5) * (until - from);
  }
  return sum;
}

const stories = fc
  .array(fc.tuple(fc.integer({ min: 1, max: 40 }), fc.integer({ min: 0, max: 300 })), { minLength: 1, maxLength: 150 })
  .map((steps) => {
    let at_us = 0;
    return steps.map(([after_us, level_V], index): Change => {
      at_us += index === 0 ? 0 : after_us;
      return [at_us, level_V];
    });
  });

describe('SlidingMean', () => {
  it('says nothing of a window that has just become full, and speaks one µs later', () => {
    expect(slide([[0, 120]], WINDOW_us).lowest).toBeUndefined();
    expect(slide([[0, 120]], WINDOW_us + 1).lowest).toMatchObject({ mean_V: 120, at_us: WINDOW_us });
  });

  it('finds the lowest mean where the low stretch is wholly inside: 6 s at 60 V give 114 V', () => {
    const mean = slide(
      [
        [0, 120],
        [100_000_000, 60],
        [106_000_000, 120],
      ],
      300_000_000,
    );
    expect(mean.lowest).toEqual({ mean_V: 114, at_us: 106_000_000, cause: 1 });
    expect(mean.highest).toEqual({ mean_V: 120, at_us: 60_000_000, cause: 0 });
  });

  it('finds the highest mean that comes only as a low stretch leaves the window again', () => {
    const changes: readonly Change[] = [
      [0, 0],
      [1_000_000, 126],
    ];
    expect(slide(changes, 60_500_000).highest).toMatchObject({ mean_V: (126 * 59.5) / 60, at_us: 60_500_000 });
    expect(slide(changes, 90_000_000).highest).toMatchObject({ mean_V: 126, at_us: 61_000_000 });
  });

  it('agrees to the bit with a sum over every instant, however many changes the window holds', () => {
    fc.assert(
      fc.property(
        stories,
        fc.integer({ min: 1, max: 400 }),
        fc.integer({ min: 0, max: 100 }),
        (changes, window_us, after) => {
          const end_us = changes.at(-1)![0] + after;
          const { lowest, highest } = slide(changes, end_us, window_us);
          const sums: number[] = [];
          if (end_us > window_us) {
            for (let to_us = window_us; to_us <= end_us; to_us += 1) sums.push(sumAt(changes, to_us, window_us));
          }
          const means = [Math.min(...sums), Math.max(...sums)].map((sum) => sum / window_us / 1e5);
          if (sums.length === 0) expect([lowest, highest]).toEqual([undefined, undefined]);
          else expect([lowest?.mean_V, highest?.mean_V]).toEqual(means);
        },
      ),
      { numRuns: 200 },
    );
  });

  it('is the same to the bit where a level is taken again that holds already', () => {
    fc.assert(
      fc.property(stories, fc.array(fc.nat(1000), { maxLength: 20 }), (changes, places) => {
        const repeated = [...changes];
        for (const place of places) {
          const index = place % repeated.length;
          const [at_us, level_V] = repeated[index]!;
          const room_us = (repeated[index + 1]?.[0] ?? at_us + 30) - at_us;
          repeated.splice(index + 1, 0, [at_us + Math.floor(room_us / 2), level_V]);
        }
        const end_us = changes.at(-1)![0] + 40;
        const { lowest, highest } = slide(repeated, end_us, 100);
        const once = slide(changes, end_us, 100);
        const seen = (extreme: typeof lowest) => [extreme?.mean_V, extreme?.at_us];
        expect([seen(lowest), seen(highest)]).toEqual([seen(once.lowest), seen(once.highest)]);
      }),
      { numRuns: 200 },
    );
  });
});
