/**
 * Transcendental functions that give the same bits on every engine.
 *
 * The language leaves the last digit of Math.sin, exp and kin to the engine, so a trace would differ between Node and a
 * page. These use only + − × ÷, square root and the bits of a double, all of which the language fixes. The methods and
 * their published coefficients are those of fdlibm (the Freely Distributable Math Library, Sun Microsystems, 1993, whose
 * licence allows use, change and copying freely), in our own form; the reduction of large angles is ours.
 * Errors stay below 1 unit in the last place (atan2: below 2). NaN gives NaN unless a function says otherwise.
 */
export { ANGLE_MAX_rad, cos, degrees, radians, sin, tan, wrapAngle } from './maths/angles.ts';
export { acos, asin, atan2 } from './maths/arcs.ts';
export { HALF_PI, PI, SQRT2, TWO_PI } from './maths/constants.ts';
export { exp, expm1, hypot, log, pow } from './maths/powers.ts';
