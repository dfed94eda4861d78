import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createChance } from '../../../sim/time/chance.ts';

const seedArbitrary = fc.integer({ min: 0, max: 0xffffffff });
const many = (count: number, draw: (index: number) => number): number[] =>
  Array.from({ length: count }, (_, i) => draw(i));
const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const variance = (values: readonly number[]): number => mean(values.map((value) => value * value)) - mean(values) ** 2;

/** Correlation of two rows of uniform numbers; for independent ones it is within 4/√n but once in 16,000 tries. */
function correlation(a: readonly number[], b: readonly number[]): number {
  const product = mean(a.map((value, index) => value * b[index]!)) - mean(a) * mean(b);
  return product / Math.sqrt(variance(a) * variance(b));
}

const COUNT = 100_000;
const FOUR_SIGMA = 4 / Math.sqrt(COUNT);

describe('createChance: stream', () => {
  it('gives the same draws for the same seed and name, from the start each time', () => {
    fc.assert(
      fc.property(seedArbitrary, fc.string(), (seed, name) => {
        const chance = createChance(seed);
        const first = many(5, chance.stream(name));
        expect(many(5, chance.stream(name))).toEqual(first);
        expect(many(5, createChance(seed).stream(name))).toEqual(first);
      }),
      { numRuns: 100 },
    );
  });

  it('is left alone by another stream, whenever that one draws', () => {
    fc.assert(
      fc.property(seedArbitrary, fc.array(fc.boolean(), { maxLength: 40 }), (seed, turns) => {
        const chance = createChance(seed);
        const alone = many(40, createChance(seed).stream('relay'));
        const relay = chance.stream('relay');
        const added = chance.stream('added');
        const found = turns
          .filter((turn) => (turn ? true : added() < 0 || chance.noise('added', 1) < -1))
          .map(() => relay());
        expect(found).toEqual(alone.slice(0, found.length));
      }),
      { numRuns: 100 },
    );
  });

  it('has mean 1/2, variance 1/12 and no tie to the next draw, to four standard errors of 100,000', () => {
    const values = many(COUNT, createChance(1).stream('pv'));
    expect(values.every((value) => value >= 0 && value < 1)).toBe(true);
    // Standard errors: of the mean √(1/12/n), of the variance √(1/180/n).
    expect(Math.abs(mean(values) - 1 / 2)).toBeLessThan(FOUR_SIGMA * Math.sqrt(1 / 12));
    expect(Math.abs(variance(values) - 1 / 12)).toBeLessThan(FOUR_SIGMA * Math.sqrt(1 / 180));
    expect(Math.abs(correlation(values.slice(0, -1), values.slice(1)))).toBeLessThan(FOUR_SIGMA);
  });

  it('has no tie to the stream of the next seed or of the next name', () => {
    const values = many(COUNT, createChance(1).stream('load-1'));
    expect(Math.abs(correlation(values, many(COUNT, createChance(2).stream('load-1'))))).toBeLessThan(FOUR_SIGMA);
    expect(Math.abs(correlation(values, many(COUNT, createChance(1).stream('load-2'))))).toBeLessThan(FOUR_SIGMA);
  });

  it('gives for seed 42 what it has always given', () => {
    const chance = createChance(42);
    const words = many(4, chance.stream('pv.noise')).map((value) => value * 2 ** 32);
    expect(words).toEqual([1318496887, 1912105473, 624780541, 1994686473]);
    expect(chance.stream('')() * 2 ** 32).toBe(1763191505);
  });
});

describe('createChance: noise', () => {
  it('depends on seed, name and sample number alone, not on what was asked before', () => {
    const samples = fc.array(fc.nat({ max: Number.MAX_SAFE_INTEGER }), { maxLength: 20 });
    fc.assert(
      fc.property(seedArbitrary, fc.string(), samples, (seed, name, asked) => {
        const chance = createChance(seed);
        const forwards = asked.map((sample) => chance.noise(name, sample));
        const backwards = [...asked].reverse().map((sample) => createChance(seed).noise(name, sample));
        expect(forwards).toEqual(backwards.reverse());
        expect(forwards.every((value) => value >= -1 && value < 1)).toBe(true);
      }),
      { numRuns: 100 },
    );
  });

  it.each([
    ['every microsecond', 1, 0],
    ['every half-cycle', 8333, 0],
    ['every scan of 10 ms', 10_000, 3_600_000_000],
    ['beyond 32 bits', 4_294_967_296, 0],
  ])('has mean 0, variance 1/3 and no tie to the next sample, %s', (_name, step, from) => {
    const chance = createChance(1);
    const values = many(COUNT, (index) => chance.noise('utility.frequency', from + index * step));
    // Standard errors: of the mean √(1/3/n), of the variance √(4/45/n).
    expect(Math.abs(mean(values))).toBeLessThan(FOUR_SIGMA * Math.sqrt(1 / 3));
    expect(Math.abs(variance(values) - 1 / 3)).toBeLessThan(FOUR_SIGMA * Math.sqrt(4 / 45));
    expect(Math.abs(correlation(values.slice(0, -1), values.slice(1)))).toBeLessThan(FOUR_SIGMA);
  });

  it('has no tie to the noise of another name', () => {
    const chance = createChance(1);
    const one = many(COUNT, (index) => chance.noise('backup.L1', index));
    const other = many(COUNT, (index) => chance.noise('backup.L2', index));
    expect(Math.abs(correlation(one, other))).toBeLessThan(FOUR_SIGMA);
  });

  it('gives for seed 42 what it has always given', () => {
    const chance = createChance(42);
    const samples = [0, 1, 2, 4294967296, Number.MAX_SAFE_INTEGER];
    expect(samples.map((sample) => chance.noise('utility.frequency', sample) * 2 ** 31)).toEqual([
      -787673989, 50205761, 1411166440, -1460932, 793738249,
    ]);
  });

  it('refuses sample numbers that are not whole, 0 to 2^53 − 1', () => {
    for (const sample of [-1, 0.5, 2 ** 53, NaN]) expect(() => createChance(1).noise('pv', sample)).toThrow(RangeError);
  });
});

describe('createChance', () => {
  it('keeps its seed and refuses one that is no uint32', () => {
    expect(createChance(24301).seed).toBe(24301);
    for (const seed of [-1, 0.5, 2 ** 32, NaN]) expect(() => createChance(seed)).toThrow(/createChance: seed is/);
  });
});
