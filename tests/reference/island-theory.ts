/**
 * Closed forms of an inverter on a parallel R, L and C, for checks: written from the circuit alone, nothing of it is shared
 * with the simulator. Phase criterion and load-parameter space: Ropp et al., IEEE Trans. Energy Conversion 15(3), 2000, and
 * Lopes & Sun, IEEE Trans. Energy Conversion, 2006 (from memory).
 */

/** tan θ = Qf (f/f0 - f0/f): the one frequency at which the load takes a current that leads by a fixed angle, Hz. */
export function frequencyOfAngle(theta_rad: number, qf: number, f0_Hz = 60): number {
  const x = Math.tan(theta_rad) / (2 * qf);
  return f0_Hz * (x + Math.sqrt(1 + x * x));
}

/** Solution of θ(f) = arctan(Qf (f/f0 - f0/f)) between two frequencies at which the difference has different signs, Hz. */
export function frequencyOfMethod(
  lead_rad: (f_Hz: number) => number,
  qf: number,
  [low_Hz, high_Hz]: readonly [number, number],
): number {
  const gap = (f_Hz: number): number => lead_rad(f_Hz) - Math.atan(qf * (f_Hz / 60 - 60 / f_Hz));
  if (gap(low_Hz) * gap(high_Hz) > 0) throw new RangeError('the bracket holds no solution');
  let [a, b] = [low_Hz, high_Hz];
  for (let round = 0; round < 60; round += 1) {
    const middle = (a + b) / 2;
    if (gap(middle) * gap(a) > 0) a = middle;
    else b = middle;
  }
  return (a + b) / 2;
}

/** Resonance of the load that sits at f when the current leads by θ: f0 = f/2 (-a + √(a² + 4)), a = tan θ / Qf, Hz. */
export function resonanceAt(f_Hz: number, theta_rad: number, qf: number): number {
  const a = Math.tan(theta_rad) / qf;
  return (f_Hz / 2) * (-a + Math.sqrt(a * a + 4));
}

/** Reactive mismatch of a matched resistance whose load resonates at f0: dQ/P = Qf (f0/60 - 60/f0). */
export function reactiveMismatch(f0_Hz: number, qf: number): number {
  return qf * (f0_Hz / 60 - 60 / f0_Hz);
}

/** Resonance that belongs to a reactive mismatch, Hz: the positive root of x² - (dQ/Qf) x - 1, x = f0/60. */
export function resonanceOfMismatch(mismatch: number, qf: number): number {
  const half = mismatch / qf / 2;
  return 60 * (half + Math.sqrt(half * half + 1));
}

/** Mismatch of power at the voltage bounds for constant power, (1/V)² - 1, and for constant current, 1/V - 1. */
export function powerMismatch(bound_pu: number, kind: 'power' | 'current'): number {
  return kind === 'power' ? 1 / bound_pu ** 2 - 1 : 1 / bound_pu - 1;
}
