export const PI = 3.141592653589793;
export const TWO_PI = 6.283185307179586;
export const HALF_PI = 1.5707963267948966;
export const SQRT2 = 1.4142135623730951;

export const QUARTER_PI = 0.7853981633974483;
// What a double misses of π, π/2 and π/4.
export const PI_REST = 1.2246467991473532e-16;
export const HALF_PI_REST = 6.123233995736766e-17;
export const QUARTER_PI_REST = 3.061616997868383e-17;
