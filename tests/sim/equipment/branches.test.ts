import { describe, expect, it } from 'vitest';
import { bond } from '../../../sim/equipment/bond.ts';
import { conductor, conductorImpedance } from '../../../sim/equipment/conductor.ts';
import { fault } from '../../../sim/equipment/fault.ts';
import { relay } from '../../../sim/equipment/relay.ts';
import { utility } from '../../../sim/equipment/utility.ts';
import { Rig, type RigPiece } from './rig.ts';
import { resistor } from './rig-devices.ts';

const street: RigPiece = { kind: utility, id: 'street', at: ['service'], params: { neighbours: 0 } };

function feeder(more: readonly RigPiece[] = []): Rig {
  return new Rig({
    buses: ['service', 'house'],
    pieces: [street, { kind: conductor, id: 'drop', at: ['service', 'house'] }, ...more],
    devices: (wiring) => {
      const bus = wiring.bus('house');
      return [resistor(bus.index, bus.L1, bus.N, 4.8), resistor(bus.index, bus.N, bus.L2, 28.8)];
    },
  });
}

describe('conductorImpedance', () => {
  it('takes 100 ft of 4/0 aluminium as 10 m + j4.1 mohm and what is given directly as it is', () => {
    const [r_ohm, x_ohm] = conductorImpedance('4/0 Al', 30.48, 0, 0);
    expect(r_ohm).toBeCloseTo(0.01, 12);
    expect(x_ohm).toBeCloseTo(0.0041, 12);
    expect(conductorImpedance('4/0 Al', 30.48, 0.02, 0)).toEqual([0.02, 0]);
  });
});

describe('conductor', () => {
  it('shifts the legs of 3000 and 500 W apart to less than 60 V when its neutral opens, and back when mended', () => {
    const rig = feeder();
    expect(rig.value('drop.neutral')).toBe(1);
    rig.happen('drop', 'open neutral');
    rig.run(1_000_000);
    expect(rig.volts('house', 'L1', 'N')).toBeLessThan(60);
    expect(rig.when('drop', 'neutral lost')).toEqual([0]);
    rig.happen('drop', 'mend neutral');
    rig.run(2_000_000);
    expect(rig.volts('house', 'L1', 'N')).toBeGreaterThan(116);
    expect(rig.when('drop', 'neutral back')).toEqual([1_000_000]);
  });
});

describe('bond', () => {
  it('is joined until it is lifted', () => {
    const rig = feeder([{ kind: bond, id: 'earth', at: ['house'] }]);
    expect(rig.piece('earth').bond?.joined()).toBe(true);
    rig.happen('earth', 'lift');
    rig.run(1000);
    expect(rig.piece('earth').bond?.joined()).toBe(false);
    rig.happen('earth', 'restore');
    rig.run(2000);
    expect(rig.value('earth.joined')).toBe(1);
    expect(rig.when('earth', 'bond parted')).toEqual([0]);
  });
});

describe('bond of an island', () => {
  it('joins once the relay is proved open, by the same cause, and parts when it closes', () => {
    const rig = new Rig({
      buses: ['service', 'house'],
      pieces: [
        street,
        { kind: relay, id: 'iso', at: ['service', 'house'] },
        { kind: bond, id: 'rod', at: ['house'], params: { when: 'island', relay: 'iso' } },
      ],
    });
    expect(rig.piece('rod').bond?.joined()).toBe(false);
    rig.happen('iso', 'operate', { to: 'open' });
    rig.run(1_000_000);
    const [joined_us] = rig.when('rod', 'bond joined');
    const [parts_us] = rig.when('iso', 'parts L1');
    expect(rig.piece('rod').bond?.joined()).toBe(true);
    expect(joined_us! - parts_us!).toBeGreaterThanOrEqual(0);
    expect(joined_us! - parts_us!).toBeLessThan(100_000);
    rig.happen('iso', 'operate', { to: 'closed' });
    rig.run(2_000_000);
    expect(rig.value('rod.joined')).toBe(0);
  });
});

describe('fault', () => {
  const short = (between: string, resistance: number): RigPiece => ({
    kind: fault,
    id: 'short',
    at: ['house'],
    params: { between, resistance },
  });

  it('strikes for 50 ms between L1 and N and is gone', () => {
    const rig = feeder([short('L1-N', 0.01)]);
    const before_V = rig.volts('house', 'L1', 'N');
    rig.happen('short', 'strike', { duration: 50_000 });
    rig.run(20_000);
    expect(rig.volts('house', 'L1', 'N')).toBeLessThan(30);
    expect(rig.value('short.i')).toBeGreaterThan(1500);
    rig.run(100_000);
    expect(rig.volts('house', 'L1', 'N')).toBe(before_V);
    expect(rig.value('short.i')).toBe(0);
    expect(rig.when('short', 'fault over')).toEqual([50_000]);
  });

  it('of 120 ohm to earth takes 1 A, through the ground of the transformer', () => {
    const rig = feeder([short('L2-earth', 120)]);
    rig.happen('short', 'strike');
    rig.run(1000);
    expect(rig.value('short.i')).toBeCloseTo(1, 1);
    rig.happen('short', 'clear');
    rig.run(2000);
    expect(rig.value('short.struck')).toBe(0);
  });
});
