import { mustBe } from '../check.ts';
import { highHalf } from './bits.ts';
import { PI, QUARTER_PI, QUARTER_PI_REST, TWO_PI } from './constants.ts';

/** Largest angle, in radians, that sin, cos, tan and wrapAngle take: 2^30, about 1.07e9. */
export const ANGLE_MAX_rad = 1073741824;

const TWO_OVER_PI = 0.6366197723675814;

// π/2 cut into pieces of 23 bits, so that the product with a quadrant number below 2^30 is exact; REST_3 and REST_5 are
// what remains after two and after four pieces.
const PIECE_1 = 1.570796251296997;
const PIECE_2 = 7.549789415861596e-8;
const PIECE_3 = 5.39030083589187e-15;
const PIECE_4 = 2.0222659584103533e-21;
const REST_3 = 5.390302858158119e-15;
const REST_5 = 2.9038559739793605e-28;
const TWO_POW_MINUS_41 = 4.547473508864641e-13;

/** Sine of an angle in radians. @throws RangeError beyond ±ANGLE_MAX_rad and for NaN */
export function sin(angle_rad: number): number {
  const size = Math.abs(angle_rad);
  if (size <= QUARTER_PI) return size < 7.4e-9 ? angle_rad : sinOfExact(angle_rad); // Keeps −0.
  const quadrant = reduce('sin', angle_rad);
  const near = REDUCED[0]!;
  const rest = REDUCED[1]!;
  const value = (quadrant & 1) === 0 ? sinNearZero(near, rest) : cosNearZero(near, rest);
  return (quadrant & 2) === 0 ? value : -value;
}

/** Cosine of an angle in radians. @throws RangeError beyond ±ANGLE_MAX_rad and for NaN */
export function cos(angle_rad: number): number {
  if (Math.abs(angle_rad) <= QUARTER_PI) return cosNearZero(angle_rad, 0);
  const quadrant = reduce('cos', angle_rad);
  const near = REDUCED[0]!;
  const rest = REDUCED[1]!;
  const value = (quadrant & 1) === 0 ? cosNearZero(near, rest) : sinNearZero(near, rest);
  return ((quadrant + 1) & 2) === 0 ? value : -value;
}

/** Tangent of an angle in radians. @throws RangeError beyond ±ANGLE_MAX_rad and for NaN */
export function tan(angle_rad: number): number {
  const size = Math.abs(angle_rad);
  if (size <= QUARTER_PI) return size < 7.4e-9 ? angle_rad : tanNearZero(angle_rad, 0, false);
  const quadrant = reduce('tan', angle_rad);
  return tanNearZero(REDUCED[0]!, REDUCED[1]!, (quadrant & 1) === 1);
}

/** The same direction as an angle in (−π, π]. @throws RangeError beyond ±ANGLE_MAX_rad and for NaN */
export function wrapAngle(angle_rad: number): number {
  if (angle_rad > -PI && angle_rad <= PI) return angle_rad;
  mustBe(Math.abs(angle_rad) <= ANGLE_MAX_rad, 'wrapAngle', 'angle_rad', angle_rad, '−2^30 to 2^30 rad');
  // In quarters of a turn, so that the pieces of π/2 serve: 4 × turns is below 2^30.
  const quarters = 4 * Math.round(angle_rad * (TWO_OVER_PI / 4));
  const wrapped = angle_rad - quarters * PIECE_1 - quarters * PIECE_2 - quarters * REST_3;
  if (wrapped > PI) return wrapped - TWO_PI;
  return wrapped <= -PI ? wrapped + TWO_PI : wrapped;
}

export function degrees(angle_rad: number): number {
  return angle_rad * 57.29577951308232;
}

export function radians(angle_deg: number): number {
  return angle_deg * 0.017453292519943295;
}

/** The angle and what rounding took from it; a pair in a buffer, since this is the hot path and an object costs. */
const REDUCED = new Float64Array(2);

/** Takes whole quarter turns off, leaves the rest (about ±π/4) in REDUCED and returns how many there were. */
function reduce(where: string, angle_rad: number): number {
  mustBe(Math.abs(angle_rad) <= ANGLE_MAX_rad, where, 'angle_rad', angle_rad, '−2^30 to 2^30 rad');
  const quarters = Math.round(angle_rad * TWO_OVER_PI);
  const head = angle_rad - quarters * PIECE_1 - quarters * PIECE_2; // Exact, both times.
  const tail = quarters * REST_3;
  const near = head - tail;
  if (Math.abs(near) > Math.abs(quarters) * TWO_POW_MINUS_41) {
    REDUCED[0] = near;
    REDUCED[1] = head - near - tail;
    return quarters;
  }
  // So close to a whole number of quarters that the rounding of REST_3 would show: two more exact pieces.
  const third = quarters * PIECE_3;
  const fourth = quarters * PIECE_4;
  const less3 = head - third;
  const less4 = less3 - fourth;
  const rest = differenceRest(head, third, less3) + differenceRest(less3, fourth, less4) - quarters * REST_5;
  REDUCED[0] = less4 + rest;
  REDUCED[1] = less4 - REDUCED[0] + rest;
  return quarters;
}

/** What rounding took from a − b, exactly (Knuth's two-sum). */
function differenceRest(a: number, b: number, difference: number): number {
  const bSeen = a - difference;
  return a - (difference + bSeen) + (bSeen - b);
}

/** Sine of |x| ≤ π/4 when nothing was rounded off x. */
function sinOfExact(x: number): number {
  const z = x * x;
  return x + z * x * (-0.16666666666666632 + z * sinSeries(z));
}

function sinNearZero(x: number, rest: number): number {
  const z = x * x;
  const cube = z * x;
  return x - (z * (0.5 * rest - cube * sinSeries(z)) - rest - cube * -0.16666666666666632);
}

/** The terms from x^5 on, over x^5. */
function sinSeries(z: number): number {
  return (
    0.00833333333332249 +
    z * (-0.0001984126982985795 + z * 0.0000027557313707070068) +
    z * (z * z) * (-2.5050760253406863e-8 + z * 1.58969099521155e-10)
  );
}

function cosNearZero(x: number, rest: number): number {
  const z = x * x;
  const w = z * z;
  const high =
    z * (0.0416666666666666 + z * (-0.001388888888887411 + z * 0.00002480158728947673)) +
    w * w * (-2.7557314351390663e-7 + z * (2.087572321298175e-9 + z * -1.1359647557788195e-11));
  const half = 0.5 * z;
  const main = 1 - half;
  return main + (1 - main - half + (z * high - x * rest));
}

function tanNearZero(from: number, fromRest: number, cotangent: boolean): number {
  const isLarge = Math.abs(from) >= 0.6744; // Near π/4 the series is taken of what is missing to it.
  const sign = from < 0 ? -1 : 1;
  const x = isLarge ? QUARTER_PI - sign * from + (QUARTER_PI_REST - sign * fromRest) : from;
  const rest = isLarge ? 0 : fromRest;
  const z = x * x;
  const w = z * z;
  const odd =
    0.13333333333320124 +
    w *
      (0.021869488294859542 +
        w *
          (0.0035920791075913124 +
            w * (0.0005880412408202641 + w * 0.00007817944429395571 + w * w * -0.000018558637485527546)));
  const even =
    z *
    (0.05396825397622605 +
      w *
        (0.0088632398235993 +
          w *
            (0.0014562094543252903 +
              w * (0.0002464631348184699 + w * (0.00007140724913826082 + w * 0.00002590730518636337)))));
  const cube = z * x;
  const add = rest + z * (cube * (odd + even) + rest) + 0.3333333333333341 * cube;
  const value = x + add;
  if (isLarge) {
    const unit = cotangent ? -1 : 1;
    return sign * (unit - 2 * (x - ((value * value) / (value + unit) - add)));
  }
  if (!cotangent) return value;
  const valueHigh = highHalf(value);
  const valueLow = add - (valueHigh - x);
  const inverse = -1 / value;
  const inverseHigh = highHalf(inverse);
  return inverseHigh + inverse * (1 + inverseHigh * valueHigh + inverseHigh * valueLow);
}
