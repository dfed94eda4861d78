import { describe, expect, it } from 'vitest';
import { breaker } from '../../sim/equipment/breaker.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { resistor, stiffSource } from '../sim/equipment/rig-devices.ts';

const radians = (deg: number): number => (deg * Math.PI) / 180;

interface Ends {
  readonly deg: number;
  /** Street side, all of its impedance; the two closed poles (1 mohm each) come off it. */
  readonly street: readonly [r_ohm: number, x_ohm: number];
  readonly house: readonly [r_ohm: number, x_ohm: number];
  readonly load?: boolean;
  readonly houseHz?: number;
}

/** Two sources of 240 V, the house's behind by `deg`, on both sides of an open breaker. */
function ends({ deg, street, house, load = false, houseHz = 60 }: Ends): Rig {
  return new Rig({
    buses: ['street', 'house'],
    pieces: [
      {
        kind: breaker,
        id: 'cb',
        at: ['street', 'house'],
        params: { rating: 200, handTime: 0 },
        start: { closed: false },
      },
    ],
    devices: (wiring) => {
      const [s, h] = [wiring.bus('street'), wiring.bus('house')];
      const at = (bus: typeof s, [r_ohm, x_ohm]: readonly [number, number]) => ({
        bus: bus.index,
        a: bus.L1,
        b: bus.L2,
        volts_V: 240,
        r_ohm,
        x_ohm,
      });
      const utility = stiffSource({ ...at(s, [street[0] - 2e-3, street[1]]) });
      const vehicle = stiffSource({ ...at(h, house), angle_rad: -radians(deg), kind: 'forming', f_Hz: houseHz });
      // 5 kW and 30 µF.
      const loads = load ? [resistor(h.index, h.L1, h.L2, 11.52, 2 * Math.PI * 60 * 30e-6)] : [];
      return [utility, vehicle, ...loads];
    },
  });
}

function closed(options: Ends): Rig {
  const rig = ends(options);
  rig.happen('cb', 'close');
  rig.run(0);
  return rig;
}

const near = (found: number, expected: number, tolerance: number): void =>
  expect(Math.abs(found / expected - 1), `found ${found}, expected ${expected}`).toBeLessThan(tolerance);

// Closed form: 2 · 240 V · sin(δ/2) / |27.648 + j39.168 mohm|; independent circuit simulator (ngspice 39), circuit c1, gives
// 2591.2, 7079.2 and 10012 A. Two stiff sources are a circuit check, not something that happens at a house.
describe('out-of-phase closing of two stiff sources against the closed form and circuit c1 (ngspice 39)', () => {
  it.each([
    [30, 2591.3],
    [90, 7079.5],
    [180, 10012],
  ])('%d degrees: %f A rms', (deg, expected_A) => {
    const rig = closed({ deg, street: [27.648e-3, 39.168e-3], house: [0, 1e-9] });
    near(rig.value('cb.i1'), expected_A, 1e-4);
    near(rig.value('cb.i2'), expected_A, 1e-4);
  });

  it('trips the breaker by its magnet within 16 ms of the touch', () => {
    const rig = closed({ deg: 90, street: [27.648e-3, 39.168e-3], house: [0, 1e-9] });
    rig.run(100_000);
    const [touch_us] = rig.when('cb', 'touches L1');
    expect(rig.when('cb', 'parts L1')[0]! - touch_us!).toBeLessThanOrEqual(16_000);
    expect(rig.value('cb.i1')).toBe(0);
  });
});

// Independent circuit simulator (ngspice 39), circuit c2: rms until the source blocks; four digits printed.
// 47.648 m + j47.368 mohm of service and 1 mohm of contact.
describe('closing onto a live house bus against an independent circuit simulator (ngspice 39), circuit c2', () => {
  it.each([
    [30, 360.3, 223.5],
    [90, 950.4, 178.7],
    [180, 1326.5, 167.5],
  ])('%d degrees: %f A, bus %f V', (deg, expected_A, expected_V) => {
    const rig = closed({ deg, street: [48.648e-3, 47.368e-3], house: [0.05, 0.3], load: true });
    near(rig.value('cb.i1'), expected_A, 3e-4);
    near(rig.volts('house', 'L1', 'L2'), expected_V, 4e-4);
  });
});

// Equal phasors of 120 V a leg: |1 - e^{-jδ}| = 2 sin(δ/2).
describe('an open pole between two sources', () => {
  it.each([
    [20, 41.678],
    [30, 62.117],
    [90, 169.706],
    [180, 240],
  ])('%d degrees apart: %f V across each pole', (deg, expected_V) => {
    const rig = ends({ deg, street: [27.648e-3, 39.168e-3], house: [0.05, 0.3] });
    near(rig.value('cb.dv1'), expected_V, 1e-4);
    near(rig.value('cb.dv2'), expected_V, 1e-4);
    expect(Math.abs(rig.value('cb.da1'))).toBeCloseTo(deg, 2);
  });

  it('0.5 Hz apart passes from 0 to 90 degrees in 0.5 s, and shows the slip', () => {
    const rig = ends({ deg: 0, street: [27.648e-3, 39.168e-3], house: [0.05, 0.3], houseHz: 59.5 });
    rig.run(500_000);
    expect(rig.value('cb.df')).toBeCloseTo(0.5, 9);
    expect(rig.value('cb.da1')).toBeCloseTo(90, 2);
    near(rig.value('cb.dv1'), 169.706, 1e-4);
  });
});
