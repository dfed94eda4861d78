import { describe, expect, it } from 'vitest';
import { breaker } from '../../sim/equipment/breaker.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { currentSource, resistor } from '../sim/equipment/rig-devices.ts';

/** Seconds until a breaker trips that carried `before_A` for long and then `amps_A`; undefined: not within `wait_s`. */
function tripTime_s(rating: number, before: number, amps_A: number, wait_s = 4000): number | undefined {
  let source: ReturnType<typeof currentSource> | undefined;
  const rig = new Rig({
    buses: ['a', 'b'],
    pieces: [{ kind: breaker, id: 'cb', at: ['a', 'b'], params: { rating }, start: { preload: before } }],
    devices: (wiring) => {
      const [a, b] = [wiring.bus('a'), wiring.bus('b')];
      source = currentSource(a.index, a.L1, a.L2, 0, true);
      return [source, resistor(b.index, b.L1, b.L2, 1)];
    },
  });
  rig.change(() => {
    source!.amps_A = amps_A;
  });
  rig.run(wait_s * 1e6);
  const [at_us] = rig.when('cb', 'trips thermal');
  return at_us === undefined ? undefined : at_us / 1e6;
}

// First-order thermal element, t = τ ln((r² - r0²)/(r² - k²)), worked out by hand with τ 150 s, k 1.15; the values of τ and
// k are assumed. Three digits are kept, so 0.6 % is the coarsest rounding (2.9 s: 1.7 %). k or τ 5 % off fails each row.
describe('breaker trip curve against the closed form of a first-order thermal element', () => {
  it.each([
    [1.2, 0, 376, 0.002],
    [1.35, 0, 194, 0.003],
    [2, 0, 60.2, 0.001],
    [3, 0, 23.8, 0.003],
    [6, 0, 5.61, 0.001],
    [1.2, 0.8, 288, 0.002],
    [1.35, 0.8, 129, 0.004],
    [2, 0.8, 34.1, 0.002],
    [3, 0.8, 12.8, 0.004],
    [6, 0.8, 2.9, 0.01],
  ])('at %f times its rating after %f: %f s', (ratio, before, expected_s, tolerance) => {
    const found_s = tripTime_s(100, before, 100 * ratio);
    expect(Math.abs(found_s! / expected_s - 1)).toBeLessThan(tolerance);
  });

  it.each([
    [40, 60.2],
    [60, 23.8],
    [80, 12.9],
    [120, 5.61],
  ])('a 20 A breaker at %f A: %f s', (amps_A, expected_s) => {
    expect(Math.abs(tripTime_s(20, 0, amps_A)! / expected_s - 1)).toBeLessThan(0.005);
  });
});

// UL 489, calibration of thermal-magnetic breakers up to 50 A: 100 % for ever, 135 % within 1 h, 200 % within 2 min up to
// 30 A (seen at second hand); 4 min for 31 to 50 A and 6 min for 51 to 100 A are from memory.
describe('breaker against the calibration points of UL 489', () => {
  it('holds 1.00 times its rating for a day', () => {
    expect(tripTime_s(20, 0, 20, 86_400)).toBeUndefined();
  });

  it('trips at 1.35 times its rating within 1 h', () => {
    expect(tripTime_s(50, 0, 67.5)).toBeLessThan(3600);
  });

  it.each([
    [30, 120],
    [50, 240],
    [100, 360],
  ])('of %f A trips at 2.00 times its rating within %f s', (rating, limit_s) => {
    expect(tripTime_s(rating, 0, 2 * rating)).toBeLessThan(limit_s);
  });
});
