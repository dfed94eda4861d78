import { describe, expect, it } from 'vitest';
import { pv } from '../../sim/equipment/pv.ts';
import { vehicle } from '../../sim/equipment/vehicle.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { stiffSource } from '../sim/equipment/rig-devices.ts';

const S = 1_000_000;

// A sine of crest a stays above x for t in each half wave when a cos(π 60 t) > x: with the default of 1.25 pu for 1 ms the rms must
// pass 1.25 / cos(10.8 degrees) = 1.2725 pu.
describe.each([
  ['a PV inverter', pv],
  ['a vehicle that discharges', vehicle],
] as const)('instantaneous trip of %s', (_, kind) => {
  it.each([
    [1.271, false],
    [1.274, true],
  ])('at %f pu acts within one half wave: %s', (volts_pu, acts) => {
    let utility: ReturnType<typeof stiffSource> | undefined;
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind, id: 'unit', at: ['house'], start: kind === pv ? {} : { mode: 'discharging', soc: 0.8 } }],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        utility = stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-5, x_ohm: 0 });
        return [utility];
      },
    });
    rig.run(S);
    rig.change(() => {
      utility!.volts_V = 240 * volts_pu;
    });
    rig.run(S + 100_000);
    const [trips_us] = rig.when('unit', 'trips INST');
    expect(trips_us !== undefined).toBe(acts);
    if (acts) expect(trips_us! - S).toBeLessThan(8_334);
  });
});
