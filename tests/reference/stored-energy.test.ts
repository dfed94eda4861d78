import { describe, expect, it } from 'vitest';
import type { PhasorDevice, PhasorNet } from '../../sim/network/device.ts';
import { NOMINAL_rad_per_s } from '../../sim/network/frame.ts';
import type { WiredBus } from '../../sim/network/wiring.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { currentSource } from '../sim/equipment/rig-devices.ts';

type Shunt = readonly [a: 'L1' | 'L2', b: 'L2' | 'N', ohms: number, farads: number, henries?: number];

/** Time constant in ms that the voltage of a bus shows when its only source stops. */
function timeConstant_ms(shunts: readonly Shunt[], look_us: number, from_us = 0): number {
  const made: { source?: ReturnType<typeof currentSource> } = {};
  const rig = new Rig({
    buses: ['house'],
    pieces: [],
    devices: (wiring) => {
      const bus = wiring.bus('house');
      made.source = currentSource(bus.index, bus.L1, bus.L2, 0.2, true);
      const source = { ...made.source, lead: () => (made.source!.amps_A === 0 ? undefined : made.source!.lead?.()) };
      return [{ ...source, drives: () => made.source!.amps_A !== 0, stamp: made.source.stamp }, passive(bus, shunts)];
    },
  });
  rig.run(100_000);
  rig.change(() => {
    made.source!.amps_A = 0;
  });
  rig.run(100_000 + from_us);
  // The decay is a closed form of its anchor; a change brings it up to this very instant.
  rig.change(() => {});
  rig.run(100_001 + from_us);
  const first = rig.volts('house', 'L1', 'L2');
  rig.run(100_000 + from_us + look_us);
  rig.change(() => {});
  rig.run(100_001 + from_us + look_us);
  return look_us / 1000 / Math.log(first / rig.volts('house', 'L1', 'L2'));
}

function passive(bus: WiredBus, shunts: readonly Shunt[]): PhasorDevice {
  return {
    bus: bus.index,
    stamp(net: PhasorNet): void {
      for (const [a, b, ohms, farads, henries] of shunts) {
        const inductive_S = henries === undefined ? 0 : 1 / (NOMINAL_rad_per_s * henries);
        net.shunt(bus[a], bus[b], 1 / ohms, NOMINAL_rad_per_s * farads, inductive_S);
      }
    },
  };
}

// Textbook discharges, v = V0 exp(-t/τ).
describe('a part that nothing drives', () => {
  it('keeps 15 µF on a bleeder of 100 kohm for RC = 1.5 s', () => {
    expect(timeConstant_ms([['L1', 'L2', 100_000, 15e-6]], 1_000_000) / 1500).toBeCloseTo(1, 3);
  });

  it('loses 15 µF on 11.52 ohm with RC = 172.8 µs', () => {
    expect(timeConstant_ms([['L1', 'L2', 11.52, 15e-6]], 200) / 0.1728).toBeCloseTo(1, 3);
  });

  // C = [[16, -15], [-15, 16]] µF, G = diag(1/144, 1/480) S: the slower root of det(G - C/τ) = 0.
  it('loses two legs with 144 and 480 ohm, 1 µF each and 15 µF across, with the slower constant of 9.7646 ms', () => {
    const found = timeConstant_ms(
      [
        ['L1', 'N', 144, 1e-6],
        ['L2', 'N', 480, 1e-6],
        ['L1', 'L2', 1e9, 15e-6],
      ],
      10_000,
    );
    expect(found).toBeCloseTo(9.7646, 3);
  });

  // Envelope of a tank: 2RC = 2 Qf/ω0 = 5.3052 ms at Qf 1.
  it('rings down a tank of 11.52 ohm, 230.259 µF, 30.5577 mH with 2RC = 5.305 ms', () => {
    expect(timeConstant_ms([['L1', 'L2', 11.52, 230.259e-6, 30.5577e-3]], 5000)).toBeCloseTo(5.3052, 3);
  });
});
