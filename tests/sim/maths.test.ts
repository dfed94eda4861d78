import portedAsin from '@stdlib/math-base-special-asin';
import portedAtan2 from '@stdlib/math-base-special-atan2';
import portedCos from '@stdlib/math-base-special-cos';
import portedExp from '@stdlib/math-base-special-exp';
import portedLog from '@stdlib/math-base-special-ln';
import portedPow from '@stdlib/math-base-special-pow';
import portedSin from '@stdlib/math-base-special-sin';
import { describe, expect, it } from 'vitest';
import {
  acos,
  asin,
  atan2,
  cos,
  degrees,
  exp,
  expm1,
  HALF_PI,
  hypot,
  log,
  PI,
  pow,
  radians,
  SQRT2,
  sin,
  TWO_PI,
  tan,
  wrapAngle,
} from '../../sim/maths.ts';
import { createChance } from '../../sim/time/chance.ts';

const INPUTS = 100_000;
const view = new DataView(new ArrayBuffer(8));

/** Place of a double in the row of all doubles, so that neighbours differ by 1. */
function place(value: number): bigint {
  view.setFloat64(0, value);
  const bits = view.getBigInt64(0);
  return bits < 0n ? -(bits & 0x7fffffffffffffffn) : bits;
}

const apart = (a: number, b: number): number => Math.abs(Number(place(a) - place(b)));

interface Worst {
  apart: number;
  inputs: number[];
}

/** The largest distance, in units in the last place, of two functions over seeded inputs. */
function worstOver<Inputs extends [number] | [number, number]>(
  name: string,
  draw: (next: () => number) => Inputs,
  own: (...inputs: Inputs) => number,
  other: (...inputs: Inputs) => number,
): Worst {
  const next = createChance(1).stream(name);
  let worst: Worst = { apart: 0, inputs: [] };
  for (let count = 0; count < INPUTS; count += 1) {
    const inputs = draw(next);
    const distance = apart(own(...inputs), other(...inputs));
    if (!(distance <= worst.apart)) worst = { apart: distance, inputs };
  }
  return worst;
}

const signed = (next: () => number): number => 2 * next() - 1;

// The other side is the @stdlib port (The Stdlib Authors): its sin, cos, exp, ln and pow come from the FreeBSD
// descendant of fdlibm and must agree to the bit; its asin and atan2 come from Cephes (S. L. Moshier), another method.
describe('maths against an independent port, 100,000 seeded inputs each', () => {
  it('sin agrees to the bit from −1e6 to 1e6 rad and from −4 to 4 rad', () => {
    const wide = worstOver('sin wide', (next) => [signed(next) * 1e6], sin, portedSin);
    const narrow = worstOver('sin narrow', (next) => [signed(next) * 4], sin, portedSin);
    expect([wide, narrow].map((found) => found.apart)).toEqual([0, 0]);
  });

  it('cos agrees to the bit from −1e6 to 1e6 rad and from −4 to 4 rad', () => {
    const wide = worstOver('cos wide', (next) => [signed(next) * 1e6], cos, portedCos);
    const narrow = worstOver('cos narrow', (next) => [signed(next) * 4], cos, portedCos);
    expect([wide, narrow].map((found) => found.apart)).toEqual([0, 0]);
  });

  it('sin and cos stay within 1 ulp up to 1e9 rad, where the port reduces by another method', () => {
    const sine = worstOver('sin far', (next) => [signed(next) * 1e9], sin, portedSin);
    const cosine = worstOver('cos far', (next) => [signed(next) * 1e9], cos, portedCos);
    expect(Math.max(sine.apart, cosine.apart)).toBeLessThanOrEqual(1);
  });

  it('sin and cos stay within 1 ulp at the doubles next to multiples of a quarter turn, where digits cancel', () => {
    const draw = (next: () => number): [number] => [Math.round(signed(next) * 6e8) * (PI / 2)];
    const sine = worstOver('sin quarters', draw, sin, portedSin);
    const cosine = worstOver('cos quarters', draw, cos, portedCos);
    expect(Math.max(sine.apart, cosine.apart)).toBeLessThanOrEqual(1);
  });

  it('exp agrees to the bit from −708 to 709, and within 5e-324 below, where the port rounds the smallest to 0', () => {
    expect(worstOver('exp', (next) => [next() * 1417 - 708], exp, portedExp).apart).toBe(0);
    expect(worstOver('exp low', (next) => [-708 - next() * 38], exp, portedExp).apart).toBeLessThanOrEqual(1);
  });

  it('log agrees to the bit from 2^−1074 to 2^1024, and within 1 ulp near 1, where the port has a short cut', () => {
    const wide = worstOver('log wide', (next) => [2 ** (next() * 2098 - 1074)], log, portedLog);
    const near = worstOver('log near', (next) => [1 + signed(next) * 1e-3], log, portedLog);
    expect(wide.apart).toBe(0);
    expect(near.apart).toBeLessThanOrEqual(1);
  });

  it('pow agrees to the bit for bases to 100, exponents to ±100, and for bases next to 1 with large exponents', () => {
    const wide = worstOver('pow wide', (next) => [next() * 100, signed(next) * 100], pow, portedPow);
    const near = worstOver('pow near', (next) => [1 + signed(next) * 1e-6, signed(next) * 1e8], pow, portedPow);
    expect([wide, near].map((found) => found.apart)).toEqual([0, 0]);
  });

  it('asin stays within 1 ulp of the other method', () => {
    expect(worstOver('asin', (next) => [signed(next)], asin, portedAsin).apart).toBeLessThanOrEqual(1);
  });

  it('atan2 stays within 2 ulp of the other method: both round the quotient and then the arctangent', () => {
    const draw = (next: () => number): [number, number] => [signed(next), signed(next)];
    expect(worstOver('atan2', draw, atan2, portedAtan2).apart).toBeLessThanOrEqual(2);
  });
});

// OEIS A049469 and A049471 were read at the source. The other digits are those of Abramowitz & Stegun, Handbook of
// Mathematical Functions, the table named in the row, from memory. 1e-15 of the value is some 5 ulp at worst.
const PUBLISHED: readonly (readonly [string, () => number, number])[] = [
  ['sin 1, OEIS A049469: 0.84147098480789650665', () => sin(1), 0.8414709848078965],
  ['tan 1, OEIS A049471: 1.5574077246549022305', () => tan(1), 1.5574077246549023],
  ['sin 0.5, table 4.6: 0.47942553860420300027', () => sin(0.5), 0.479425538604203],
  ['sin 1.5, table 4.6: 0.99749498660405443094', () => sin(1.5), 0.9974949866040544],
  ['cos 0.5, table 4.6: 0.87758256189037271612', () => cos(0.5), 0.8775825618903728],
  ['cos 1, table 4.6: 0.54030230586813971740', () => cos(1), 0.5403023058681398],
  ['e, table 1.1: 2.71828182845904523536', () => exp(1), 2.718281828459045],
  ['1/e, table 1.1: 0.36787944117144232160', () => exp(-1), 0.36787944117144233],
  ['√e, table 1.1: 1.64872127070012814685', () => exp(0.5), 1.6487212707001282],
  ['e − 1, table 1.1 less 1: 1.71828182845904523536', () => expm1(1), 1.718281828459045],
  ['ln 2, table 1.1: 0.69314718055994530942', () => log(2), 0.6931471805599453],
  ['ln 3, table 1.1: 1.09861228866810969140', () => log(3), 1.0986122886681098],
  ['ln 10, table 1.1: 2.30258509299404568402', () => log(10), 2.302585092994046],
  ['∛2, table 1.1: 1.25992104989487316477', () => pow(2, 1 / 3), 1.2599210498948732],
  ['2^(1/4), table 1.1: 1.18920711500272106672', () => pow(2, 0.25), 1.189207115002721],
  ['√2, table 1.1: 1.41421356237309504880', () => hypot(1, 1), 1.4142135623730951],
  ['arctan 0.5, table 4.14: 0.46364760900080611621', () => atan2(0.5, 1), 0.4636476090008061],
  ['arcsin 0.5 = π/6: 0.52359877559829887308', () => asin(0.5), 0.5235987755982989],
  ['arccos 0.5 = π/3: 1.04719755119659774615', () => acos(0.5), 1.0471975511965979],
  ['1 degree in radians, table 1.1: 0.01745329251994329577', () => radians(1), 0.017453292519943295],
  ['1 radian in degrees, table 1.1: 57.29577951308232087680', () => degrees(1), 57.29577951308232],
];

describe('maths against published digits', () => {
  it.each(PUBLISHED)('%s', (_name, found, published) => {
    expect(Math.abs(found() / published - 1)).toBeLessThan(1e-15);
  });

  it('keeps the constants of Abramowitz & Stegun, table 1.1, to the last digit that a double holds', () => {
    expect([PI, TWO_PI, HALF_PI, SQRT2]).toEqual([
      3.141592653589793, 6.283185307179586, 1.5707963267948966, 1.4142135623730951,
    ]);
  });
});

describe('sin, cos, tan', () => {
  it('refuse angles beyond 2^30 rad, endless ones and NaN, naming function and value', () => {
    for (const angle of [1073741825, -1e10, Infinity, NaN]) {
      expect(() => sin(angle)).toThrow(RangeError);
      expect(() => cos(angle)).toThrow(RangeError);
      expect(() => tan(angle)).toThrow(/tan: angle_rad is/);
      expect(() => wrapAngle(angle)).toThrow(/wrapAngle: angle_rad is/);
    }
    expect(Number.isFinite(sin(1073741824))).toBe(true);
  });

  it('keeps −0 as it is', () => {
    expect([sin(-0), tan(-0), asin(-0), expm1(-0), atan2(-0, 1)].every((zero) => Object.is(zero, -0))).toBe(true);
  });

  it('tan is sin / cos to 4 ulp', () => {
    const ratio = (angle: number): number => sin(angle) / cos(angle);
    expect(worstOver('tan', (next) => [signed(next) * 1000], tan, ratio).apart).toBeLessThanOrEqual(4);
  });
});

describe('wrapAngle', () => {
  it('puts both ends of the circle on +π', () => {
    expect([wrapAngle(PI), wrapAngle(-PI), wrapAngle(0)]).toEqual([PI, PI, 0]);
  });

  it('stays in (−π, π] and keeps sine and cosine, up to 1e9 rad', () => {
    const next = createChance(1).stream('wrap');
    let worst = 0;
    for (let count = 0; count < INPUTS; count += 1) {
      const angle = signed(next) * (count % 2 === 0 ? 1e9 : 20);
      const wrapped = wrapAngle(angle);
      expect(wrapped > -PI && wrapped <= PI).toBe(true);
      worst = Math.max(worst, Math.abs(sin(wrapped) - sin(angle)), Math.abs(cos(wrapped) - cos(angle)));
    }
    expect(worst).toBeLessThan(5e-16); // Half an ulp of π, and the rounding of both sides.
  });
});

describe('expm1', () => {
  it('is exp(x) − 1 where that loses nothing, and x + x²/2 + x³/6 where it would', () => {
    const far = (x: number): number => exp(x) - 1;
    expect(worstOver('expm1 far', (next) => [1 + next() * 700], expm1, far).apart).toBeLessThanOrEqual(2);
    const series = (x: number): number => x + (x * x) / 2 + (x * x * x) / 6;
    expect(worstOver('expm1 near', (next) => [signed(next) * 1e-5], expm1, series).apart).toBeLessThanOrEqual(2);
  });
});

describe('acos', () => {
  it('adds up with asin to π/2', () => {
    const next = createChance(1).stream('acos');
    let worst = 0;
    for (let count = 0; count < INPUTS; count += 1) {
      const x = signed(next);
      worst = Math.max(worst, Math.abs(acos(x) + asin(x) - PI / 2));
    }
    expect(worst).toBeLessThan(7e-16); // An ulp of values up to π, 4.4e-16, and one of values up to π/2, 2.2e-16.
  });
});

describe('hypot', () => {
  it('gives 5 for 3 and 4 at every size, without overflow or underflow on the way', () => {
    expect([hypot(3, 4), hypot(3e200, 4e200) / 5e200, hypot(-3e-200, 4e-200) / 5e-200]).toEqual([
      5,
      expect.closeTo(1, 14),
      expect.closeTo(1, 14),
    ]);
  });
});

describe('ends of the ranges', () => {
  // To 14 digits: the engine's last one is what we do not trust. Infinities, NaN and the sign of zero stay.
  const rounded = (value: number): number => Number(value.toPrecision(14)) * (Object.is(value, -0) ? -1 : 1);

  it('follow what the language says of Math, to the sign of zero', () => {
    const values = [0, -0, 1, -1, 2, -2, 3, -3, 0.5, -0.5, Infinity, -Infinity, NaN];
    const exponents = values.filter((value) => Number.isFinite(value));
    for (const x of values) {
      for (const y of exponents) expect([x, y, pow(x, y)]).toEqual([x, y, x ** y]);
      for (const y of values) {
        expect(apart(atan2(y, x), Math.atan2(y, x))).toBeLessThanOrEqual(1);
        expect(Object.is(atan2(y, x), -0)).toBe(Object.is(Math.atan2(y, x), -0));
        expect([x, y, rounded(hypot(x, y))]).toEqual([x, y, rounded(Math.hypot(x, y))]);
      }
      for (const [name, own] of Object.entries({ exp, expm1, log, asin, acos })) {
        const language = Math[name as 'exp'];
        expect([name, x, rounded(own(x))]).toEqual([name, x, rounded(language(x))]);
      }
    }
  });

  it('exp goes to Infinity above 709.78 and to 0 below −745.13', () => {
    expect([exp(709.79), exp(-745.14), exp(709.78) > 1e308, exp(-745.13)]).toEqual([Infinity, 0, true, 5e-324]);
  });

  it('pow goes to Infinity at 2^1024, to 0 below 2^−1075, and keeps the largest powers of two', () => {
    expect([pow(2, 1024), pow(2, -1076), pow(2, 1023), pow(2, -1074)]).toEqual([
      Infinity,
      0,
      8.98846567431158e307,
      5e-324,
    ]);
  });

  it('pow refuses exponents beyond 2^31', () => {
    expect(() => pow(1.5, 2147483649)).toThrow(/pow: exponent is 2147483649/);
    expect(() => pow(1.5, NaN)).toThrow(RangeError);
  });
});
