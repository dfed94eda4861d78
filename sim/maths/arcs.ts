import { highHalf } from './bits.ts';
import { HALF_PI, HALF_PI_REST, PI, PI_REST, QUARTER_PI, QUARTER_PI_REST } from './constants.ts';

/** The part of arcsin that is not x itself, over x, from x²: good to x = 0.5. */
function asinRatio(z: number): number {
  const above =
    z *
    (0.16666666666666666 +
      z *
        (-0.3255658186224009 +
          z *
            (0.20121253213486293 +
              z * (-0.04005553450067941 + z * (0.0007915349942898145 + z * 0.00003479331075960212)))));
  return (
    above /
    (1 + z * (-2.403394911734414 + z * (2.0209457602335057 + z * (-0.6882839716054533 + z * 0.07703815055590194))))
  );
}

/** Arcsine in [−π/2, π/2]. NaN beyond ±1. */
export function asin(x: number): number {
  const size = Math.abs(x);
  if (!(size <= 1)) return NaN;
  if (size < 0.5) return size < 7.4e-9 ? x : x + x * asinRatio(x * x);
  const z = (1 - size) * 0.5;
  const s = Math.sqrt(z);
  const ratio = asinRatio(z);
  if (size >= 0.975) {
    const value = HALF_PI - (2 * (s + s * ratio) - HALF_PI_REST);
    return x < 0 ? -value : value;
  }
  const sHigh = highHalf(s);
  const sRest = (z - sHigh * sHigh) / (s + sHigh);
  const value = QUARTER_PI - (2 * s * ratio - (HALF_PI_REST - 2 * sRest) - (QUARTER_PI - 2 * sHigh));
  return x < 0 ? -value : value;
}

/** Arccosine in [0, π]. NaN beyond ±1. */
export function acos(x: number): number {
  const size = Math.abs(x);
  if (!(size <= 1)) return NaN;
  if (size < 0.5) return HALF_PI - (x - (HALF_PI_REST - x * asinRatio(x * x)));
  const z = (1 - size) * 0.5;
  const s = Math.sqrt(z);
  const ratio = asinRatio(z);
  if (x < 0) return PI - 2 * (s + (ratio * s - HALF_PI_REST));
  const sHigh = highHalf(s);
  const sRest = s === 0 ? 0 : (z - sHigh * sHigh) / (s + sHigh);
  return 2 * (sHigh + (ratio * s + sRest));
}

/** Arctangent of x ≥ 0. */
function atanPositive(x: number): number {
  if (x < 0.4375) return x < 7.4e-9 ? x : x - x * atanRatio(x);
  if (x < 0.6875) return atanFrom((2 * x - 1) / (2 + x), 0.4636476090008061, 2.2698777452961687e-17);
  if (x < 1.1875) return atanFrom((x - 1) / (x + 1), QUARTER_PI, QUARTER_PI_REST);
  if (x < 2.4375) return atanFrom((x - 1.5) / (1 + 1.5 * x), 0.982793723247329, 1.3903311031230998e-17);
  return atanFrom(-1 / x, HALF_PI, HALF_PI_REST);
}

function atanFrom(x: number, base: number, baseRest: number): number {
  return base - (x * atanRatio(x) - baseRest - x);
}

function atanRatio(x: number): number {
  const z = x * x;
  const w = z * z;
  return (
    z *
      (0.3333333333333293 +
        w *
          (0.14285714272503466 +
            w *
              (0.09090887133436507 +
                w * (0.06661073137387531 + w * (0.049768779946159324 + w * 0.016285820115365782))))) +
    w *
      (-0.19999999999876483 +
        w *
          (-0.11111110405462356 + w * (-0.0769187620504483 + w * (-0.058335701337905735 + w * -0.036531572744216916))))
  );
}

/** Angle of the point (x, y) in [−π, π]; y comes first, as everywhere. At the origin 0 or π by the sign of x. */
export function atan2(y: number, x: number): number {
  if (Number.isNaN(x) || Number.isNaN(y)) return NaN;
  const up = Math.abs(y);
  const along = Math.abs(x);
  const isLeft = x < 0 || (x === 0 && 1 / x < 0);
  let angle: number;
  if (up === 0) angle = isLeft ? PI : 0;
  else if (along === 0) angle = HALF_PI;
  else {
    angle = up === along ? QUARTER_PI : atanPositive(up / along);
    if (isLeft) angle = PI - (angle - PI_REST);
  }
  return y < 0 || (y === 0 && 1 / y < 0) ? -angle : angle;
}
