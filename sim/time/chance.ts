import { mustBe } from '../check.ts';
import { finish, hashNumber, hashText } from './hash.ts';
import type { Chance } from './time.ts';

// Odd constants that part the uses of one seed: without them a stream and the noise of the same name would be kin.
const FOR_STREAM = 0x9e3779b9;
const FOR_NOISE = 0x7f4a7c15;
/** The draws after which, by its author's advice, every bit of the seed has reached every bit of the state. */
const WARM_UP = 15;

/**
 * Everything random in a run, from one seed.
 *
 * A stream is keyed by (seed, name) and so is the noise, so that adding one changes no other. Whole 32-bit words until
 * the last division, so that no engine can differ.
 *
 * @param seed - whole, 0 to 4294967295
 * @throws RangeError for any other seed, and from `noise` for a sample number that is not whole, 0 to 2^53 − 1
 */
export function createChance(seed: number): Chance {
  mustBe(
    Number.isInteger(seed) && seed >= 0 && seed <= 0xffffffff,
    'createChance',
    'seed',
    seed,
    'whole, 0 to 4294967295',
  );
  const noiseKeys = new Map<string, { a: number; b: number }>();

  const keysOf = (name: string): { a: number; b: number } => {
    const known = noiseKeys.get(name);
    if (known !== undefined) return known;
    const a = hashText(finish(seed ^ FOR_NOISE), name);
    const keys = { a, b: hashText(a ^ FOR_NOISE, name) };
    noiseKeys.set(name, keys);
    return keys;
  };

  return {
    seed,
    stream: (name) => smallFastCounting(seed, name),
    noise: (name, sample) => {
      mustBe(Number.isSafeInteger(sample) && sample >= 0, 'noise', 'sample', sample, 'whole, 0 to 2^53 − 1');
      const { a, b } = keysOf(name);
      return hashNumber(a, b, sample) / 0x8000_0000;
    },
  };
}

/** sfc32, "small fast counting" (Chris Doty-Humphrey, PractRand, public domain). Its counter makes a cycle ≥ 2^32 draws. */
function smallFastCounting(seed: number, name: string): () => number {
  let a = hashText(finish(seed ^ FOR_STREAM), name);
  let b = hashText(a ^ FOR_STREAM, name);
  let c = seed | 0;
  let counter = 1;
  const draw = (): number => {
    const word = (a + b + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = (((c << 21) | (c >>> 11)) + word) | 0;
    return word >>> 0;
  };
  for (let count = 0; count < WARM_UP; count += 1) draw();
  return () => draw() / 0x1_0000_0000;
}
