import { describe, expect, it } from 'vitest';
import { pv } from '../../sim/equipment/pv.ts';
import { utility } from '../../sim/equipment/utility.ts';
import { vehicle } from '../../sim/equipment/vehicle.ts';
import type { Bag } from '../../sim/site-description.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { resistor } from '../sim/equipment/rig-devices.ts';

const S = 1_000_000;
const SWITCHING_s = 0.016;

/** A 240 V source of `power_W` on a service whose leg L2 breaks after 1 s; `r2_ohm` from L2 to the neutral, nothing else. */
function lostLeg(power_W: number, r2_ohm: number, params: Bag, kind = pv): Rig {
  const own = kind === pv ? { rated: 5000, ...params } : { rated: power_W, category: 'II', ...params };
  const rig = new Rig({
    buses: ['service'],
    pieces: [
      { kind: utility, id: 'street', at: ['service'], params: { rating: 1_000_000, neighbours: 0 } },
      {
        kind,
        id: 'unit',
        at: ['service'],
        params: { filter: 0, droop: 'no', noise: 0, ...own },
        start: kind === pv ? { irradiance: power_W / 5000 } : { mode: 'discharging', soc: 0.8 },
      },
    ],
    devices: (wiring) => {
      const { index, L2, N } = wiring.bus('service');
      return [resistor(index, N, L2, r2_ohm)];
    },
  });
  rig.run(S);
  rig.happen('street', 'lose leg', { leg: 'L2' });
  return rig;
}

/** Voltage of the lost leg while the source gives its power: v2 (120 + v2) = P R2, all in phase. */
const driven_V = (power_W: number, r2_ohm: number): number => -60 + Math.sqrt(3600 + power_W * r2_ohm);

const tripOf = (rig: Rig): readonly [string, number] | undefined => {
  const found = rig.happenings.find(({ did }) => did.startsWith('trips'));
  return found === undefined ? undefined : [found.did.replace('trips ', ''), found.at_us / S - 1];
};

// The utility holds L1 at 120 V; the source across both legs drives L2 through what hangs on it. A unit with two leads sees
// the sum of the two voltages and nothing else, and the living leg holds its frequency.
describe('a lost leg that a source with two leads drives', () => {
  it.each([
    [1000, 9.6, 54.9],
    [3000, 9.6, 120],
    [4000, 9.6, 144.9],
    [600, 48, 120],
    [1000, 48, 167.2],
  ])('%d W on %f ohm stands at %f V', (power_W, r2_ohm, printed_V) => {
    expect(Math.abs(driven_V(power_W, r2_ohm) - printed_V)).toBeLessThan(0.06);
    const rig = lostLeg(power_W, r2_ohm, { detection: 'none', ov1: 99, ov2: 99, instantLevel: 99, ceiling: 99 });
    rig.run(3 * S);
    expect(Math.abs(rig.volts('service', 'N', 'L2') - driven_V(power_W, r2_ohm))).toBeLessThan(0.3);
    expect(Math.abs(rig.volts('service', 'L1', 'L2') - 120 - driven_V(power_W, r2_ohm))).toBeLessThan(0.3);
  });

  // Rows of IEEE 1547-2018 tables 11 to 13 and of the 2003 edition against 120 V + v2.
  it.each([
    ['1.197 pu', 1000, 48, 'II', 'OV1', 2],
    ['1.197 pu', 1000, 48, 'III', 'OV1', 13],
    ['0.729 pu', 1000, 9.6, '2003', 'UV1', 2],
    ['0.729 pu', 1000, 9.6, 'III', 'UV1', 21],
    ['0.657 pu', 500, 9.6, 'I', 'UV1', 2],
  ])('at %s (%d W on %f ohm) category %s leaves by %s, %d s after', (_, power_W, r2_ohm, category, row, time_s) => {
    const rig = lostLeg(power_W, r2_ohm, { category, cessation: 'no', ov2: 99 });
    rig.run((time_s + 2) * S);
    const found = tripOf(rig);
    expect(found?.[0]).toBe(row);
    expect(found![1]).toBeGreaterThan(time_s - SWITCHING_s);
    expect(found![1]).toBeLessThan(time_s - SWITCHING_s + 0.1);
  });

  it.each([
    ['the leg looks sound: 120 V, 240 V', 600, 48, 'II'],
    ['the same with 3000 W', 3000, 9.6, 'II'],
    ['0.729 pu is inside the rows of category II', 1000, 9.6, 'II'],
    ['1.09 pu is inside those of III', 760, 48, 'III'],
  ])('is not seen with two leads and an active method where %s', (_, power_W, r2_ohm, category) => {
    const rig = lostLeg(power_W, r2_ohm, { category, cessation: 'no' });
    rig.run(60 * S);
    expect(tripOf(rig)).toBeUndefined();
    expect(rig.value('unit.energises')).toBe(1);
  });

  it('leaves within a cycle where the load is light: 2000 W on 48 ohm would want 255.6 V there', () => {
    expect(driven_V(2000, 48)).toBeCloseTo(255.6, 1);
    const rig = lostLeg(2000, 48, {});
    rig.run(2 * S);
    expect(tripOf(rig)?.[0]).toBe('INST');
    expect(tripOf(rig)![1]).toBeLessThan(1 / 60);
  });

  it('is seen with a third lead, legs 0.1 pu apart, within 2 s; not where the driven leg looks sound', () => {
    for (const [power_W, r2_ohm, seen] of [
      [1000, 9.6, true],
      [760, 48, true],
      [600, 48, false],
    ] as const) {
      const rig = lostLeg(power_W, r2_ohm, { category: 'II', leads: '3', ov1: 99 });
      rig.run(10 * S);
      expect(tripOf(rig)?.[0]).toBe(seen ? 'OPEN PHASE' : undefined);
      if (seen) expect(tripOf(rig)![1]).toBeLessThanOrEqual(2);
    }
  });

  it('a vehicle that discharges leaves as the PV does: OV1 of category II at 1.197 pu', () => {
    const rig = lostLeg(1000, 48, { ov2: 99 }, vehicle);
    rig.run(4 * S);
    expect(tripOf(rig)?.[0]).toBe('OV1');
    expect(tripOf(rig)![1]).toBeLessThan(2.1);
  });
});
