import { describe, expect, it } from 'vitest';
import { conductor } from '../../sim/equipment/conductor.ts';
import { fault } from '../../sim/equipment/fault.ts';
import type { Bag } from '../../sim/site-description.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { stiffSource } from '../sim/equipment/rig-devices.ts';

/** 120 V behind r + jx on L1 of a stub, a conductor as its file leaves it, a fault at its end. */
function struck_A(r_ohm: number, x_ohm: number, params: Bag, drop: Bag): number {
  const rig = new Rig({
    buses: ['stub', 'house'],
    pieces: [
      { kind: conductor, id: 'drop', at: ['stub', 'house'], params: drop },
      { kind: fault, id: 'short', at: ['house'], params, start: { struck: true } },
    ],
    devices: (wiring) => {
      const { index, L1, N } = wiring.bus('stub');
      return [stiffSource({ bus: index, a: L1, b: N, volts_V: 120, r_ohm, x_ohm })];
    },
  });
  return rig.value('short.i');
}

// Ohm's law on the loop. By default 100 ft of 4/0 and a 2/0 neutral, aluminium: NEC chapter 9 table 9 (from memory) has
// 0.10 + j0.041 and 0.16 + j0.043 ohm per 1000 ft, together 26 m + j8.4 mohm.
describe('the current of a fault between a leg and the neutral', () => {
  it('of 10 mohm with its arc at the end of a default service drop: 3163 A', () => {
    const expected_A = 120 / Math.hypot(0.001 + 0.026 + 0.01, 0.0084);
    expect(Math.round(expected_A)).toBe(3163);
    expect(Math.abs(struck_A(0.001, 0, {}, {}) / expected_A - 1)).toBeLessThan(1e-3);
  });

  it('of 1 mohm there: 4105 A, the drop alone', () => {
    const expected_A = 120 / Math.hypot(0.001 + 0.026 + 0.001, 0.0084);
    expect(Math.round(expected_A)).toBe(4105);
    expect(Math.abs(struck_A(0.001, 0, { resistance: 0.001 }, {}) / expected_A - 1)).toBeLessThan(1e-3);
  });

  it('of 10 mohm behind 50 m + j50 mohm: 1536 A', () => {
    const straight = { resistance: 1e-6, reactance: 1e-6, neutralResistance: 1e-6, neutralReactance: 1e-6 };
    const expected_A = 120 / Math.hypot(0.06, 0.05);
    expect(Math.round(expected_A)).toBe(1536);
    expect(Math.abs(struck_A(0.05, 0.05, {}, straight) / expected_A - 1)).toBeLessThan(1e-3);
  });
});
