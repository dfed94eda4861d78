import { describe, expect, it } from 'vitest';
import { breaker } from '../../../sim/equipment/breaker.ts';
import type { Bag, Conductor } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { currentSource, resistor } from './rig-devices.ts';

interface Bench {
  readonly rig: Rig;
  /** Sets the line current, A rms, at this instant. */
  carry(amps_A: number): void;
}

/** A breaker between a current source and a load of 1 ohm, L1 to L2 (or L1 to N). */
function bench(params: Bag, start: Bag = {}, legs: readonly Conductor[] = ['L1', 'L2'], amps_A = 0): Bench {
  let source: ReturnType<typeof currentSource> | undefined;
  const rig = new Rig({
    buses: ['a', 'b'],
    pieces: [{ kind: breaker, id: 'cb', at: ['a', 'b'], legs, params: { rating: 20, ...params }, start }],
    devices: (wiring) => {
      const [a, b] = [wiring.bus('a'), wiring.bus('b')];
      source = currentSource(a.index, a.L1, legs.includes('L2') ? a.L2 : a.N, amps_A, true);
      return [source, resistor(b.index, b.L1, legs.includes('L2') ? b.L2 : b.N, 1)];
    },
  });
  return {
    rig,
    carry: (next_A) =>
      rig.change(() => {
        source!.amps_A = next_A;
      }),
  };
}

describe('breaker by hand', () => {
  it('parts both poles 5 ms after the hand, and shows it 10 ms later', () => {
    const { rig } = bench({});
    rig.run(100_000);
    expect(rig.value('cb.aux')).toBe(2);
    rig.happen('cb', 'open');
    rig.run(200_000);
    expect(rig.when('cb', 'parts L1')).toEqual([105_000]);
    expect(rig.when('cb', 'parts L2')).toEqual([105_000]);
    expect(rig.trace('cb.aux')).toEqual([
      [0, 2],
      [115_000, 1],
    ]);
    const [hand, part] = rig.happenings;
    expect(part).toMatchObject({ did: 'parts L1', origin: 'person', cause: hand!.number });
  });

  it('touches L2 2 ms after L1 when it is given that spread', () => {
    const { rig } = bench({ spread: 2_000 }, { closed: false });
    rig.run(100_000);
    rig.happen('cb', 'close');
    rig.run(106_000);
    expect([rig.value('cb.L1'), rig.value('cb.L2')]).toEqual([1, 0]);
    rig.run(200_000);
    expect(rig.when('cb', 'touches L1')).toEqual([105_000]);
    expect(rig.when('cb', 'touches L2')).toEqual([107_000]);
    expect(rig.value('cb.aux')).toBe(2);
  });

  it('leaves the leg that it does not list unconnected, and passes the neutral on', () => {
    const { rig } = bench({}, {}, ['L1'], 10);
    rig.run(50_000);
    expect(rig.value('cb.i1')).toBeCloseTo(10, 4);
    expect(rig.volts('b', 'L1', 'N')).toBeCloseTo(10, 4);
    expect(rig.wiring.poles.map(({ leg }) => leg)).toEqual(['L1']);
    expect(rig.wiring.neutrals).toMatchObject([{ connected: true, r_ohm: 1e-3 }]);
  });

  it('switches the neutral where it lists it', () => {
    const { rig } = bench({}, {}, ['L1', 'L2', 'N']);
    rig.happen('cb', 'open');
    rig.run(100_000);
    expect(rig.when('cb', 'parts N')).toEqual([5_000]);
    expect(rig.wiring.neutrals[0]!.connected).toBe(false);
    expect(rig.value('cb.N')).toBe(0);
  });

  it('has no position where no auxiliary contact is fitted', () => {
    const { rig } = bench({ aux: false });
    rig.happen('cb', 'open');
    rig.run(100_000);
    expect(rig.piece('cb').signal!('aux')).toBe(0);
  });
});

describe('breaker trips', () => {
  it('trips by its magnet 12 ms after 162 A on 20 A, and not at 158 A (8 times its rating)', () => {
    const { rig, carry } = bench({});
    rig.run(1_000_000);
    carry(158);
    rig.run(1_500_000);
    expect(rig.happenings).toEqual([]);
    carry(162);
    rig.run(2_000_000);
    expect(rig.when('cb', 'trips magnetic')).toEqual([1_500_000]);
    expect(rig.when('cb', 'parts L1')).toEqual([1_512_000]);
    expect(rig.when('cb', 'parts L2')).toEqual([1_512_000]);
    expect(rig.happenings[1]).toMatchObject({ origin: 'equipment', cause: rig.happenings[0]!.number });
  });

  it('keeps its heat: a second closing onto 40 A trips sooner than 60 s', () => {
    const { rig, carry } = bench({});
    carry(40);
    rig.run(70_000_000);
    rig.happen('cb', 'close');
    rig.run(140_000_000);
    const [first, second] = rig.when('cb', 'trips thermal');
    expect(first).toBeGreaterThan(60_000_000);
    expect(second! - 70_005_000).toBeGreaterThan(0);
    expect(second! - 70_005_000).toBeLessThan(10_000_000);
  });

  it('cools as exp(-t/150 s): 104 s after it opened half of the heat is left', () => {
    const { rig, carry } = bench({}, { preload: 1 });
    rig.run(1);
    const warm = rig.piece('cb').signal!('thermal');
    // 1² / 1.15²
    expect(warm).toBeCloseTo(0.7561, 3);
    carry(0);
    rig.run(103_972_000);
    expect(rig.piece('cb').signal!('thermal')).toBeCloseTo(warm / 2, 4);
  });

  it('moves its recorded heat by stairs of 0.05 and costs no step in between', () => {
    const { rig, carry } = bench({});
    carry(22);
    rig.run(10_000_000);
    const steps = rig.steps;
    rig.run(3_600_000_000);
    expect(rig.steps).toBe(steps);
    const stairs = rig.trace('cb.thermal').map(([, value]) => value);
    // (22/20)²/1.15² = 0.915: the last stair below it is 0.90.
    expect(stairs.length).toBe(19);
    expect(stairs[18]).toBeCloseTo(0.9, 12);
  });

  it('starts as warm as its current makes it, and stays so', () => {
    const { rig } = bench({}, {}, ['L1', 'L2'], 16);
    rig.run(3_600_000_000);
    expect(rig.piece('cb').signal!('thermal')).toBeCloseTo(0.64 / 1.3225, 6);
    expect(rig.trace('cb.thermal')).toHaveLength(1);
  });

  it('parts the pole that has touched when the hand goes back before the other one has', () => {
    const { rig, carry } = bench({ spread: 50_000 }, { closed: false }, ['L1', 'L2', 'N']);
    rig.happen('cb', 'close');
    rig.run(20_000);
    carry(0);
    rig.happen('cb', 'open');
    rig.run(200_000);
    expect(rig.when('cb', 'touches L2')).toEqual([]);
    expect(rig.when('cb', 'parts L1')).toEqual([25_000]);
  });
});

describe('breaker faults', () => {
  it('welds L1: L2 parts 5 ms after the hand, L1 conducts on, and the auxiliary contact does not show open', () => {
    const { rig } = bench({}, {}, ['L1', 'L2'], 10);
    rig.run(100_000);
    rig.happen('cb', 'weld', { pole: 'L1' });
    expect(rig.when('cb', 'welds L1')).toEqual([100_000]);
    rig.run(200_000);
    rig.happen('cb', 'open');
    rig.run(300_000);
    expect([rig.value('cb.L1'), rig.value('cb.L2'), rig.value('cb.aux')]).toEqual([2, 0, 2]);
    expect(rig.when('cb', 'parts L2')).toEqual([205_000]);
    rig.happen('cb', 'mend');
    rig.run(400_000);
    expect([rig.value('cb.L1'), rig.value('cb.L2'), rig.value('cb.aux')]).toEqual([0, 0, 1]);
    expect(rig.when('cb', 'parts L1')).toEqual([300_000]);
  });

  it('a weld of an open pole waits for its next touch', () => {
    const { rig } = bench({}, { closed: false });
    rig.happen('cb', 'weld', { pole: 'both' });
    rig.run(50_000);
    expect(rig.value('cb.L1')).toBe(0);
    rig.happen('cb', 'close');
    rig.run(100_000);
    expect([rig.value('cb.L1'), rig.value('cb.L2')]).toEqual([2, 2]);
    expect(rig.when('cb', 'welds L2')).toEqual([55_000]);
    rig.happen('cb', 'open');
    rig.run(200_000);
    expect(rig.value('cb.L1')).toBe(2);
  });

  it('welded on both poles carries a short circuit on through its trip', () => {
    const { rig, carry } = bench({}, {}, ['L1', 'L2'], 10);
    rig.run(10_000);
    rig.happen('cb', 'weld', { pole: 'both' });
    carry(400);
    rig.run(1_000_000);
    expect(rig.when('cb', 'trips magnetic')).toHaveLength(1);
    expect(rig.value('cb.i1')).toBeCloseTo(400, 3);
  });

  it('sticks: neither hand nor 400 A opens it, which is told once, and it trips when it is mended', () => {
    const { rig, carry } = bench({}, {}, ['L1', 'L2'], 10);
    rig.run(10_000);
    rig.happen('cb', 'stick');
    rig.happen('cb', 'open');
    rig.run(50_000);
    expect(rig.value('cb.L1')).toBe(1);
    carry(400);
    rig.run(2_000_000);
    expect(rig.value('cb.L1')).toBe(1);
    expect(rig.when('cb', 'does not trip')).toEqual([50_000]);
    expect(rig.when('cb', 'trips magnetic')).toEqual([]);
    rig.happen('cb', 'mend');
    rig.run(3_000_000);
    expect(rig.when('cb', 'trips magnetic')).toEqual([2_000_000]);
    expect(rig.value('cb.L1')).toBe(0);
    expect(rig.when('cb', 'parts L1')).toEqual([2_012_000]);
  });

  it('sticks open: no hand closes it', () => {
    const { rig } = bench({}, { closed: false });
    rig.happen('cb', 'stick');
    rig.happen('cb', 'close');
    rig.run(1_000_000);
    expect(rig.value('cb.L1')).toBe(0);
    rig.happen('cb', 'mend');
    rig.happen('cb', 'close');
    rig.run(2_000_000);
    expect(rig.value('cb.L1')).toBe(1);
  });
});
