import { describe, expect, it } from 'vitest';
import { finish, hashNumber, hashText, mixWord } from '../../../sim/time/hash.ts';

/** MurmurHash3_x86_32 of four bytes, little-endian, as the published test vectors have it. */
const murmur = (seed: number, word: number): number => finish(mixWord(seed, word) ^ 4) >>> 0;

// MurmurHash3_x86_32 (Austin Appleby): vectors passed round among its ports, from memory.
describe('mixWord and finish', () => {
  it.each([
    ['four bytes of 0, seed 0', 0, 0, 0x2362f9de],
    ['four bytes of 255, seed 0', 0, 0xffffffff, 0x76293b50],
    ['bytes 21 43 65 87, seed 0', 0, 0x87654321, 0xf55b516b],
    ['bytes 21 43 65 87, seed 5082edee', 0x5082edee, 0x87654321, 0x2362f9de],
    ['"abcd", seed 9747b28c', 0x9747b28c, 0x64636261, 0xf0478627],
  ])('agree with MurmurHash3: %s', (_name, seed, word, published) => {
    expect(murmur(seed, word)).toBe(published);
  });

  it('agree with MurmurHash3 of no byte at all, seeds 0, 1 and ffffffff', () => {
    expect([0, 1, 0xffffffff].map((seed) => finish(seed) >>> 0)).toEqual([0, 0x514e28b7, 0x81f16f39]);
  });
});

describe('hashText', () => {
  it('parts names that differ in order, length or one letter', () => {
    const names = ['', 'a', 'b', 'ab', 'ba', 'aa', 'relay.l1', 'relay.l2', 'relay.L1', 'ä', 'relay.l1\0'];
    expect(new Set(names.map((name) => hashText(7, name))).size).toBe(names.length);
  });
});

describe('hashNumber', () => {
  it('uses all 53 bits of the number and both keys', () => {
    const found = [
      hashNumber(1, 2, 5),
      hashNumber(1, 2, 5 + 2 ** 32),
      hashNumber(1, 2, 5 + 2 ** 52),
      hashNumber(1, 3, 5),
      hashNumber(2, 2, 5),
    ];
    expect(new Set(found).size).toBe(found.length);
  });
});
