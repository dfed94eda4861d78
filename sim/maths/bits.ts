const BITS = new Float64Array(1);
const WORDS = new Int32Array(BITS.buffer);
BITS[0] = 1;
/** Which of the two words carries sign and exponent: machines differ, results must not. */
const HIGH = WORDS[1] === 0 ? 0 : 1;
const LOW = 1 - HIGH;

export function highWord(x: number): number {
  BITS[0] = x;
  return WORDS[HIGH]!;
}

export function withHighWord(x: number, word: number): number {
  BITS[0] = x;
  WORDS[HIGH] = word;
  return BITS[0]!;
}

/** The number with its lower 32 bits set to 0, so that products of two such are exact or nearly so. */
export function highHalf(x: number): number {
  BITS[0] = x;
  WORDS[LOW] = 0;
  return BITS[0]!;
}

/** 2^n, −1022 ≤ n ≤ 1023. */
export function powerOf2(n: number): number {
  return withHighWord(0, (n + 1023) << 20);
}

/** x · 2^n for x between 0.5 and 2, rounded once even where the result is subnormal. */
export function scaled(x: number, n: number): number {
  if (n > 1023) return x * powerOf2(n - 1) * 2;
  return n > -1022 ? x * powerOf2(n) : x * powerOf2(n + 54) * 5.551115123125783e-17;
}
