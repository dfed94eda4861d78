import { describe, expect, it } from 'vitest';
import { former } from '../../../sim/equipment/former.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor, stiffSource } from './rig-devices.ts';

interface Bench {
  readonly rig: Rig;
  /** Sets the voltage of the two-wire source, V, at this instant. */
  supply(volts_V: number): void;
}

/** A two-wire source, a former, and one load from L1 to N. */
function bench(params: Bag, closed: boolean, load_ohm = 16): Bench {
  let source: ReturnType<typeof stiffSource> | undefined;
  const rig = new Rig({
    buses: ['house'],
    pieces: [{ kind: former, id: 'nf', at: ['house'], params, start: { closed } }],
    devices: (wiring) => {
      const { index, L1, L2, N } = wiring.bus('house');
      source = stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-3, x_ohm: 1e-3, kind: 'forming' });
      return [source, resistor(index, L1, N, load_ohm)];
    },
  });
  return {
    rig,
    supply: (volts_V) =>
      rig.change(() => {
        source!.volts_V = volts_V;
      }),
  };
}

describe('former contactor', () => {
  it('makes and breaks 30 ms after the order, and holds the neutral in between', () => {
    const { rig } = bench({}, false);
    expect(rig.piece('nf').neutral!.holds()).toBe(false);
    rig.order('neutralContactor', 1);
    rig.run(100_000);
    expect(rig.piece('nf').neutral!.holds()).toBe(true);
    expect(rig.piece('nf').signal!('aux')).toBe(2);
    rig.order('neutralContactor', 0);
    rig.run(200_000);
    expect(rig.trace('nf.contactor')).toEqual([
      [0, 0],
      [30_000, 1],
      [130_000, 0],
    ]);
    expect(rig.happenings.filter(({ did }) => did === 'parts L1')).toMatchObject([{ origin: 'controller' }]);
  });

  it('held by the bus: lets go below 0.60 pu and comes back above 0.85 pu', () => {
    const { rig, supply } = bench({ heldBy: 'bus' }, true);
    supply(0.62 * 240);
    rig.run(1_000_000);
    expect(rig.value('nf.contactor')).toBe(1);
    supply(0.58 * 240);
    rig.run(2_000_000);
    expect(rig.value('nf.contactor')).toBe(0);
    supply(0.83 * 240);
    rig.run(3_000_000);
    expect(rig.value('nf.contactor')).toBe(0);
    supply(0.87 * 240);
    rig.run(4_000_000);
    expect(rig.value('nf.contactor')).toBe(1);
    expect(rig.happenings.map(({ origin }) => origin)).toEqual(Array(4).fill('equipment'));
  });

  // First-order lag by hand: from 1.0 towards 0.2 pu it passes 0.60 after 25 ms · ln(0.8/0.4) = 17.33 ms; 30 ms more to
  // part. The crossing is interpolated on a chord of a 2.083 ms step: at most h²/(8 τ) = 22 µs off.
  it('held by the bus: parts 47.33 ms after a collapse to 0.20 pu', () => {
    const { rig, supply } = bench({ heldBy: 'bus' }, true);
    rig.run(1_000_000);
    supply(0.2 * 240);
    rig.run(2_000_000);
    const [parted_us] = rig.when('nf', 'parts L1');
    expect(Math.abs(parted_us! - 1_047_330)).toBeLessThan(60);
  });

  it('held by another supply: stays in whatever the bus does', () => {
    const { rig, supply } = bench({}, true);
    supply(24);
    rig.run(5_000_000);
    expect(rig.value('nf.contactor')).toBe(1);
  });

  it('fixed: is in from the start and takes no order', () => {
    const { rig } = bench({ heldBy: 'fixed' }, false);
    rig.order('neutralContactor', 0);
    rig.run(1_000_000);
    expect(rig.value('nf.contactor')).toBe(1);
  });

  it('opens by itself, tells who watches, and comes back only when mended', () => {
    const { rig } = bench({}, true);
    const seen: number[] = [];
    rig.piece('nf').watch!('aux', () => seen.push(rig.kernel.now_us));
    rig.run(100_000);
    rig.happen('nf', 'open by itself');
    rig.run(200_000);
    expect(seen).toEqual([130_000]);
    expect(rig.happenings.at(-1)).toMatchObject({ did: 'parts L2', origin: 'equipment' });
    rig.order('neutralContactor', 0);
    rig.order('neutralContactor', 1);
    rig.run(300_000);
    expect(rig.value('nf.contactor')).toBe(0);
    rig.happen('nf', 'mend');
    rig.run(400_000);
    expect(rig.value('nf.contactor')).toBe(1);
  });

  it('welds: stays in against its order', () => {
    const { rig } = bench({}, true);
    rig.happen('nf', 'weld');
    rig.order('neutralContactor', 0);
    rig.run(200_000);
    expect(rig.value('nf.contactor')).toBe(2);
    expect(rig.piece('nf').neutral!.holds()).toBe(true);
  });
});

describe('former overload', () => {
  /** Load on one leg that puts `amps_A` through the neutral: v1 = amps · R, near 120 V. */
  const withNeutral = (amps_A: number): Rig => bench({}, true, 120 / amps_A - 0.0145).rig;

  it('trips 10 s after 1.5 times its rating from cold, opens its contactor, and waits for a reset', () => {
    const { rig } = bench({}, false, 120 / 60 - 0.0145);
    rig.run(1_000_000);
    rig.order('neutralContactor', 1);
    rig.run(1_100_000);
    expect(rig.value('nf.neutralCurrent')).toBeCloseTo(60, 0);
    rig.run(20_000_000);
    const [tripped_us] = rig.when('nf', 'trips thermal');
    // 2 % allows for a current that is only nearly 60 A.
    expect(Math.abs((tripped_us! - 1_030_000) / 10_000_000 - 1)).toBeLessThan(0.02);
    expect(rig.when('nf', 'parts L1')).toEqual([tripped_us! + 30_000]);
    rig.order('neutralContactor', 0);
    rig.order('neutralContactor', 1);
    rig.run(21_000_000);
    expect(rig.value('nf.contactor')).toBe(0);
    rig.happen('nf', 'reset');
    rig.run(22_000_000);
    expect(rig.value('nf.contactor')).toBe(1);
  });

  it.each([
    [40, false],
    [41, false],
    [43.5, true],
  ])('a day of %f A on 40 A: trips %s', (amps_A, trips) => {
    const rig = withNeutral(amps_A);
    rig.run(1);
    expect(Math.abs(rig.value('nf.neutralCurrent') / amps_A - 1)).toBeLessThan(0.005);
    rig.run(86_400_000_000);
    expect(rig.when('nf', 'trips thermal').length === 1).toBe(trips);
  });
});
