import { describe, expect, it } from 'vitest';
import type { Kind } from '../../sim/equipment/piece.ts';
import { pv } from '../../sim/equipment/pv.ts';
import { vehicle } from '../../sim/equipment/vehicle.ts';
import { NOMINAL_rad_per_s } from '../../sim/network/frame.ts';
import type { Bag } from '../../sim/site-description.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { stiffSource } from '../sim/equipment/rig-devices.ts';

const S = 1_000_000;

interface Made {
  readonly rig: Rig;
  supply(volts_pu: number, f_Hz?: number): void;
}

/** One following source of 9.6 kW with its defaults on a stiff utility. */
function unit(kind: Kind, start: Bag): Made {
  let utility: ReturnType<typeof stiffSource> | undefined;
  const params = { rated: 9600, detection: 'none' };
  const rig = new Rig({
    buses: ['house'],
    pieces: [{ kind, id: 'unit', at: ['house'], params, start }],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      utility = stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-4, x_ohm: 0 });
      return [utility];
    },
  });
  const supply = (volts_pu: number, f_Hz = 60): void =>
    rig.change(() => {
      utility!.volts_V = 240 * volts_pu;
      utility!.lead!()!.frame.setFrequency((NOMINAL_rad_per_s * f_Hz) / 60, rig.kernel.now_us);
    });
  return { rig, supply };
}

/** Comes back from a dark street at 10 s. */
function back(kind: Kind): Made {
  const made = unit(kind, kind === pv ? {} : { mode: 'discharging', soc: 0.8 });
  made.rig.run(S);
  made.supply(0.2);
  made.rig.run(10 * S);
  made.supply(1);
  return made;
}

// IEEE 1547-2018, 4.10 and table 4, default settings: 0.917 to 1.05 pu and 59.5 to 60.1 Hz for 300 s, then a ramp of 300 s. Ours
// is a staircase of twenty that is never behind the straight line: between t/300 and t/300 + 1/20.
describe.each([
  ['a PV inverter', pv],
  ['a vehicle that discharges', vehicle],
] as const)('entering service of %s', (_, kind) => {
  it('begins 300 s after the voltage is back, and gives half of its power 150 s later, all after 285 s', () => {
    const { rig } = back(kind);
    rig.run(320 * S);
    const begins_us = rig.when('unit', 'starts')[0]!;
    // One cycle for the voltage to have come back, half a second for a supply contactor.
    expect(begins_us / S - 310).toBeGreaterThan(0);
    expect(begins_us / S - 310).toBeLessThan(0.6);
    for (const after_s of [16, 74, 149, 151, 226, 283]) {
      rig.run(begins_us + after_s * S);
      const given = rig.value('unit.p') / 9600;
      expect(given, `${after_s} s`).toBeCloseTo((Math.floor(after_s / 15) + 1) / 20, 4);
      expect(given).toBeGreaterThanOrEqual(after_s / 300 - 1e-4);
      expect(given).toBeLessThanOrEqual(after_s / 300 + 0.05 + 1e-4);
    }
    rig.run(begins_us + 286 * S);
    expect(rig.value('unit.p')).toBeCloseTo(9600, 0);
  });

  it.each([
    [0.92, 60, true],
    [0.914, 60, false],
    [1.048, 60, true],
    [1.052, 60, false],
    [1, 59.52, true],
    [1, 59.48, false],
    [1, 60.08, true],
    [1, 60.12, false],
  ])('at %f pu and %f Hz begins: %s', (volts_pu, f_Hz, begins) => {
    const { rig, supply } = back(kind);
    supply(volts_pu, f_Hz);
    rig.run(320 * S);
    expect(rig.when('unit', 'starts').length > 0).toBe(begins);
  });

  it('counts from the beginning after any excursion', () => {
    const { rig, supply } = back(kind);
    rig.run(290 * S);
    supply(0.8);
    rig.run(291 * S);
    supply(1);
    rig.run(590 * S);
    expect(rig.when('unit', 'starts')).toEqual([]);
    rig.run(592 * S);
    expect(rig.when('unit', 'starts')).toHaveLength(1);
  });
});
