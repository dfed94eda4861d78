import { describe, expect, it } from 'vitest';
import { vehicle } from '../../sim/equipment/vehicle.ts';
import { linkTrip_us } from '../../sim/equipment/vehicle-settings.ts';
import type { Bag, Plain } from '../../sim/site-description.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { resistor } from '../sim/equipment/rig-devices.ts';

/** What a file that gives nothing gets. */
const DEFAULTS: Bag = Object.fromEntries(
  vehicle.spec.params.map(({ name, default: value }): [string, Plain] => [name, value!]),
);

describe('a vehicle that makes an island, with its defaults', () => {
  // Voltage divider: 0.02 + j0.05 pu of 9.6 kW at 240 V are 0.12 + j0.30 ohm, V = E / (1 + Zv Y).
  it.each([
    [57.6, 0.1, 246.9],
    [12, 0.05, 241.1],
    [6, 0, 235.0],
  ])('holds %f ohm with %f S of capacitor at %f V', (ohms, capacitive_S, printed_V) => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind: vehicle, id: 'car', at: ['house'], start: { mode: 'forming' } }],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [resistor(index, L1, L2, ohms, capacitive_S)];
      },
    });
    const [re, im] = [1 + 0.12 / ohms - 0.3 * capacitive_S, 0.3 / ohms + 0.12 * capacitive_S];
    const expected_V = 240 / Math.hypot(re, im);
    expect(Math.abs(expected_V - printed_V)).toBeLessThan(0.06);
    expect(Math.abs(rig.volts('house', 'L1', 'L2') - expected_V)).toBeLessThan(0.002);
  });

  // Energy of a capacitor: 1 mF from 400 to 500 V at 5 kW.
  it('whose battery has opened stops 9.0 ms later with 5 kW coming in', () => {
    expect(linkTrip_us(DEFAULTS, 5000)).toBe(9000);
  });
});
