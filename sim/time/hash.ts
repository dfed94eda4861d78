/** Integer mixing in whole 32-bit words: the steps of MurmurHash3 (Austin Appleby, public domain). No floating point. */

/** One word into the running hash. */
export function mixWord(hash: number, word: number): number {
  const first = Math.imul(word, 0xcc9e2d51);
  const turned = (first << 15) | (first >>> 17);
  const mixed = hash ^ Math.imul(turned, 0x1b873593);
  return (Math.imul((mixed << 13) | (mixed >>> 19), 5) + 0xe6546b64) | 0;
}

/** Spreads every bit of the running hash over the whole word. The result is signed. */
export function finish(hash: number): number {
  const first = Math.imul(hash ^ (hash >>> 16), 0x85ebca6b);
  const second = Math.imul(first ^ (first >>> 13), 0xc2b2ae35);
  return second ^ (second >>> 16);
}

/** Hash of a text under a key, by its UTF-16 code units and its length. */
export function hashText(key: number, text: string): number {
  let hash = key | 0;
  for (let index = 0; index < text.length; index += 1) hash = mixWord(hash, text.charCodeAt(index));
  return finish(hash ^ text.length);
}

/** Hash of a whole number from 0 to 2^53 under two keys. The 32-bit operators are meant: they cut the number in two. */
export function hashNumber(keyA: number, keyB: number, value: number): number {
  const high = Math.floor(value / 0x1_0000_0000);
  return finish(mixWord(mixWord(keyA, value | 0), high) ^ keyB);
}
