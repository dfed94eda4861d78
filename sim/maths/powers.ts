import { mustBe } from '../check.ts';
import { highHalf, highWord, powerOf2, scaled, withHighWord } from './bits.ts';

const LN2 = 0.6931471805599453;
const LN2_HIGH = 0.6931471803691238;
const LN2_LOW = 1.9082149292705877e-10;
const LOG2_E = 1.4426950408889634;

/** x − (x · coth(x/2) − 2) for |x| ≤ 0.35: what the exponential's rational form is built on. */
function expKernel(x: number): number {
  const t = x * x;
  return (
    x -
    t *
      (0.16666666666666602 +
        t *
          (-0.0027777777777015593 +
            t * (0.00006613756321437934 + t * (-0.0000016533902205465252 + t * 4.1381367970572385e-8))))
  );
}

/** e^x. Infinity above 709.78, 0 below −745.13. */
export function exp(x: number): number {
  if (x > 709.782712893384) return Infinity;
  if (x < -745.1332191019411) return 0;
  if (Math.abs(x) < 3.725290298461914e-9) return 1 + x;
  const n = Math.trunc(LOG2_E * x + (x < 0 ? -0.5 : 0.5));
  const high = x - n * LN2_HIGH;
  const low = n * LN2_LOW;
  const r = high - low;
  const c = expKernel(r);
  return scaled(1 - (low - (r * c) / (2 - c) - high), n);
}

/** e^x − 1 without the loss of digits near 0. */
export function expm1(x: number): number {
  if (x > 709.782712893384) return Infinity;
  if (x < -38.816242) return -1;
  if (Math.abs(x) < 5.551115123125783e-17) return x;
  const n = Math.abs(x) <= 0.34657359027997264 ? 0 : Math.trunc(LOG2_E * x + (x < 0 ? -0.5 : 0.5));
  const high = x - n * LN2_HIGH;
  const low = n * LN2_LOW;
  const r = high - low;
  const rest = high - r - low;
  const half = 0.5 * r;
  const s = r * half;
  const p =
    1 +
    s *
      (-0.03333333333333313 +
        s *
          (0.0015873015872548146 +
            s * (-0.0000793650757867488 + s * (0.000004008217827329362 + s * -2.0109921818362437e-7))));
  const t = 3 - p * half;
  const e = s * ((p - t) / (6 - r * t));
  if (n === 0) return r - (r * e - s);
  const less = r * (e - rest) - rest - s;
  if (n === -1) return 0.5 * (r - less) - 0.5;
  if (n === 1) return r < -0.25 ? -2 * (less - (r + 0.5)) : 1 + 2 * (r - less);
  if (n <= -2 || n > 56) return scaled(1 - (less - r), n) - 1;
  if (n < 20) return (1 - powerOf2(-n) - (less - r)) * powerOf2(n);
  return (r - (less + powerOf2(-n)) + 1) * powerOf2(n);
}

/** Natural logarithm. −Infinity at 0, NaN below. */
export function log(x: number): number {
  if (!(x > 0)) return x === 0 ? -Infinity : NaN;
  if (x === Infinity) return x;
  const isSubnormal = x < 2.2250738585072014e-308;
  const normal = isSubnormal ? x * 18014398509481984 : x;
  const word = highWord(normal);
  const fraction = word & 0xfffff;
  const carry = (fraction + 0x95f64) & 0x100000; // Set from √2 on: the mantissa is then halved.
  const n = (word >> 20) - 1023 + (carry >> 20) - (isSubnormal ? 54 : 0);
  const f = withHighWord(normal, fraction | (carry ^ 0x3ff00000)) - 1;
  const s = f / (2 + f);
  const z = s * s;
  const w = z * z;
  const series =
    z * (0.6666666666666735 + w * (0.2857142874366239 + w * (0.1818357216161805 + w * 0.14798198605116586))) +
    w * (0.3999999999940942 + w * (0.22222198432149784 + w * 0.15313837699209373));
  if (fraction >= 0x6147a && fraction <= 0x6b851) {
    const half = 0.5 * f * f;
    if (n === 0) return f - (half - s * (half + series));
    return n * LN2_HIGH - (half - (s * (half + series) + n * LN2_LOW) - f);
  }
  if (n === 0) return f - s * (f - series);
  return n * LN2_HIGH - (s * (f - series) - n * LN2_LOW - f);
}

/** The base-2 logarithm of pow as an unevaluated sum, about 70 bits. */
const LOG2 = new Float64Array(2);
const TWO_OVER_3LN2 = 0.9617966939259756;
const TWO_OVER_3LN2_HIGH = 0.9617967009544373;
const TWO_OVER_3LN2_LOW = -7.028461650952758e-9;

/** x to the power y. Negative x needs a whole y, else NaN. @throws RangeError unless y is within ±2^31 */
export function pow(x: number, y: number): number {
  mustBe(Math.abs(y) <= 2147483648, 'pow', 'exponent', y, '−2^31 to 2^31');
  if (y === 0) return 1;
  if (y === 1) return x;
  if (y === 2) return x * x;
  if (y === -1) return 1 / x;
  if (!(x > 0)) return powBelow(x, y);
  if (y === 0.5) return Math.sqrt(x);
  if (x === 1) return 1;
  if (x === Infinity) return y > 0 ? Infinity : 0;
  log2Into(x);
  const yHigh = highHalf(y);
  const low = (y - yHigh) * LOG2[0]! + y * LOG2[1]!;
  const high = yHigh * LOG2[0]!;
  const power = low + high;
  if (power > 1024) return Infinity;
  return power < -1075 ? 0 : exp2Of(high, low, Math.round(power));
}

/** pow for x at or below 0, and NaN. */
function powBelow(x: number, y: number): number {
  const isWhole = Math.trunc(y) === y;
  const isOdd = isWhole && Math.abs(y) % 2 === 1;
  if (x === 0) {
    const size = y > 0 ? 0 : Infinity;
    return isOdd && 1 / x < 0 ? -size : size;
  }
  if (x === -Infinity) return isOdd ? (y > 0 ? -Infinity : -0) : y > 0 ? Infinity : 0;
  if (!(x < 0) || !isWhole) return NaN;
  return isOdd ? -pow(-x, y) : pow(-x, y);
}

function log2Into(x: number): void {
  const isSubnormal = x < 2.2250738585072014e-308;
  const normal = isSubnormal ? x * 9007199254740992 : x;
  const word = highWord(normal);
  const fraction = word & 0xfffff;
  const aboveRoot3 = fraction >= 0xbb67a; // √3: from there on halved and measured from 1.
  const from3Halves = fraction > 0x3988e && !aboveRoot3; // √(3/2): measured from 1.5.
  const n = (word >> 20) - 1023 + (aboveRoot3 ? 1 : 0) - (isSubnormal ? 53 : 0);
  const mantissa = withHighWord(normal, (fraction | 0x3ff00000) - (aboveRoot3 ? 0x100000 : 0));
  const base = from3Halves ? 1.5 : 1;
  const above = mantissa - base;
  const inverse = 1 / (mantissa + base);
  const s = above * inverse;
  const sHigh = highHalf(s);
  const sumHigh = highHalf(mantissa + base);
  const sumLow = mantissa - (sumHigh - base);
  const sLow = inverse * (above - sHigh * sumHigh - sHigh * sumLow);
  const z = s * s;
  const series =
    z *
      z *
      (0.5999999999999946 +
        z *
          (0.4285714285785502 +
            z *
              (0.33333332981837743 + z * (0.272728123808534 + z * (0.23066074577556175 + z * 0.20697501780033842))))) +
    sLow * (sHigh + s);
  const square = sHigh * sHigh;
  const tHigh = highHalf(3 + square + series);
  const tLow = series - (tHigh - 3 - square);
  const product = sHigh * tHigh;
  const productRest = sLow * tHigh + tLow * s;
  const pHigh = highHalf(product + productRest);
  const pLow = productRest - (pHigh - product);
  const zHigh = TWO_OVER_3LN2_HIGH * pHigh;
  const zLow = TWO_OVER_3LN2_LOW * pHigh + pLow * TWO_OVER_3LN2 + (from3Halves ? 1.350039202129749e-8 : 0);
  const shift = from3Halves ? 0.5849624872207642 : 0;
  const sum = highHalf(zHigh + zLow + shift + n);
  LOG2[0] = sum;
  LOG2[1] = zLow - (sum - n - shift - zHigh);
}

/** 2^(high + low), n being the nearest whole number to the sum. */
function exp2Of(high: number, low: number, n: number): number {
  const headFull = high - n;
  const head = highHalf(low + headFull);
  const u = head * 0.6931471824645996;
  const v = (low - (head - headFull)) * LN2 + head * -1.904654299957768e-9;
  const z = u + v;
  const rest = v - (z - u);
  const c = expKernel(z);
  return scaled(1 - ((z * c) / (c - 2) - (rest + z * rest) - z), n);
}

/** √(x² + y²) without overflow or underflow on the way. */
export function hypot(x: number, y: number): number {
  const sum = x * x + y * y;
  if (sum > 1e-280 && sum < 1e300) return Math.sqrt(sum);
  const size = Math.max(Math.abs(x), Math.abs(y));
  if (Math.abs(x) === Infinity || Math.abs(y) === Infinity) return Infinity;
  if (size === 0 || Number.isNaN(sum)) return size;
  const scale = powerOf2(size > 1 ? -600 : 600); // A power of two costs no digit.
  return Math.sqrt(x * scale * (x * scale) + y * scale * (y * scale)) / scale;
}
