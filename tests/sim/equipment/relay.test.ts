import { describe, expect, it } from 'vitest';
import type { EquipmentPiece, Kind } from '../../../sim/equipment/piece.ts';
import { relay } from '../../../sim/equipment/relay.ts';
import type { Bag, Conductor } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor, stiffSource } from './rig-devices.ts';

/** Stands for the charge equipment that feeds the relay's coil. */
const feeder: Kind = {
  spec: {
    kind: 'feeder',
    about: 'A control supply.',
    joins: 1,
    legs: [['L1', 'L2']],
    params: [],
    does: [
      { name: 'sleep', about: 'No supply.', using: [], origin: 'equipment' },
      { name: 'wake', about: 'Supply.', using: [], origin: 'equipment' },
      {
        name: 'sag',
        about: 'Another voltage.',
        using: [{ name: 'to', unit: 'V', about: 'What is left.', source: 'test' }],
        origin: 'equipment',
      },
    ],
    start: [{ name: 'awake', unit: 'bool', about: 'Supplies.', default: true, source: 'assumed' }],
  },
  make: (piece, around): EquipmentPiece => {
    let volts_V = around.start.awake === true ? 12 : 0;
    const listeners: ((cause: { origin: 'equipment'; number: number | undefined }) => void)[] = [];
    return {
      id: piece.id,
      kind: 'feeder',
      devices: [],
      channels: () => [],
      write: () => {},
      signal: () => volts_V,
      watch: (_name, listener) => listeners.push(listener),
      does: (name, using, cause) => {
        volts_V = name === 'sag' ? Number(using.to) : name === 'wake' ? 12 : 0;
        for (const listener of listeners) listener({ origin: 'equipment', number: cause.number });
      },
      digestState: () => [volts_V],
    };
  },
};

function bench(params: Bag = {}, closed = false, legs: readonly Conductor[] = ['L1', 'L2'], awake = true): Rig {
  return new Rig({
    buses: ['street', 'house'],
    pieces: [
      { kind: relay, id: 'rl', at: ['street', 'house'], legs, params, start: { closed } },
      { kind: feeder, id: 'ev', at: ['house'], start: { awake } },
    ],
    devices: (wiring) => {
      const [s, h] = [wiring.bus('street'), wiring.bus('house')];
      const source = { bus: s.index, a: s.L1, b: s.L2, volts_V: 240, r_ohm: 0.01, x_ohm: 0.01 };
      return [stiffSource(source), resistor(h.index, h.L1, h.N, 16), resistor(h.index, h.L2, h.N, 16)];
    },
  });
}

const proofs = (rig: Rig): readonly number[] =>
  ['openProved1', 'openProved2', 'closedProved1', 'closedProved2'].map((name) => rig.value(`rl.${name}`));

describe('relay travel', () => {
  it('touches 25 ms after the order to close and parts 15 ms after the order to open', () => {
    const rig = bench();
    rig.run(100_000);
    const order = rig.order('relayCoil', 1);
    rig.run(300_000);
    rig.order('relayCoil', 0);
    rig.run(400_000);
    for (const leg of ['L1', 'L2']) {
      expect(rig.when('rl', `touches ${leg}`)).toEqual([125_000]);
      expect(rig.when('rl', `parts ${leg}`)).toEqual([315_000]);
    }
    const touch = rig.happenings.find(({ did }) => did === 'touches L1');
    expect(touch).toMatchObject({ origin: 'controller', cause: order.number });
    expect(rig.trace('rl.i1').map(([at_us]) => at_us)).toContain(125_000);
  });

  it('moves L2 and N later by the spread of each direction', () => {
    const rig = bench({ pickUpSpread: 3_000, dropOutSpread: 2_000 }, false, ['L1', 'L2', 'N']);
    rig.order('relayCoil', 1);
    rig.run(100_000);
    rig.order('relayCoil', 0);
    rig.run(200_000);
    expect(rig.when('rl', 'touches L1')).toEqual([25_000]);
    expect(rig.when('rl', 'touches L2')).toEqual([28_000]);
    expect(rig.when('rl', 'touches N')).toEqual([28_000]);
    expect(rig.when('rl', 'parts L1')).toEqual([115_000]);
    expect(rig.when('rl', 'parts L2')).toEqual([117_000]);
  });

  it('goes back when the order is taken back before it has touched, or before it has parted', () => {
    const rig = bench();
    rig.order('relayCoil', 1);
    rig.run(24_000);
    rig.order('relayCoil', 0);
    rig.run(100_000);
    expect(rig.when('rl', 'touches L1')).toEqual([]);
    expect(proofs(rig)).toEqual([1, 1, 0, 0]);
    rig.order('relayCoil', 1);
    rig.run(200_000);
    rig.order('relayCoil', 0);
    rig.run(214_000);
    rig.order('relayCoil', 1);
    rig.run(300_000);
    expect(rig.when('rl', 'parts L1')).toEqual([]);
    expect(proofs(rig)).toEqual([0, 0, 1, 1]);
  });

  it('bounces twice for 1 ms after its first touch', () => {
    const rig = bench({ bounceCount: 2 });
    rig.order('relayCoil', 1);
    rig.run(100_000);
    expect(rig.when('rl', 'touches L1')).toEqual([25_000, 27_000, 29_000]);
    expect(rig.when('rl', 'parts L1')).toEqual([26_000, 28_000]);
    // The closed-proved contact waits for 3 ms of unbroken touch.
    expect(rig.trace('rl.closedProved1')).toEqual([
      [0, 0],
      [32_000, 1],
    ]);
  });
});

describe('relay proving contacts', () => {
  it('lead the touch and follow the parting by 3 ms: no instant shows open while a pole conducts', () => {
    const rig = bench();
    rig.order('relayCoil', 1);
    rig.run(100_000);
    rig.order('relayCoil', 0);
    rig.run(200_000);
    expect(rig.trace('rl.openProved1')).toEqual([
      [0, 1],
      [22_000, 0],
      [118_000, 1],
    ]);
    expect(rig.trace('rl.closedProved1')).toEqual([
      [0, 0],
      [28_000, 1],
      [115_000, 0],
    ]);
  });

  it('give the interlock only while both show open, and tell who watches, with the cause', () => {
    const rig = bench({ pickUpSpread: 4_000 }, true);
    const seen: [number, number, string][] = [];
    rig.piece('rl').watch!('openProved', ({ origin }) =>
      seen.push([rig.kernel.now_us, rig.piece('rl').signal!('interlock'), origin]),
    );
    rig.happen('rl', 'weld', { pole: 'L2' });
    rig.order('relayCoil', 0);
    rig.run(100_000);
    expect(seen).toEqual([[18_000, 0, 'controller']]);
    rig.happen('rl', 'lie', { contact: 'openProved2', shows: 1 });
    expect(seen[1]).toEqual([100_000, 1, 'equipment']);
    expect(rig.value('rl.L2')).toBe(2);
  });
});

describe('relay without control supply', () => {
  it.each([
    ['held-closed', true, 0],
    ['held-open', false, 1],
    ['latching', true, 1],
    ['latching', false, 0],
  ])('%s, started closed %s: ends at %d', (type, closed, expected) => {
    const rig = bench({ type }, closed);
    rig.run(100_000);
    expect(rig.value('rl.controlSupply')).toBe(12);
    rig.happen('rl', 'lose supply');
    rig.run(200_000);
    expect(rig.value('rl.L1')).toBe(expected);
    rig.order('relayCoil', 1 - expected);
    rig.run(300_000);
    expect(rig.value('rl.L1')).toBe(expected);
    rig.happen('rl', 'restore supply');
    rig.run(400_000);
    expect(rig.value('rl.L1')).toBe(1 - expected);
  });

  it('is fed by the vehicle: falls open 15 ms after the vehicle stops to feed it, and comes back with it', () => {
    const rig = bench({ supply: 'ev' }, true);
    rig.run(100_000);
    expect(rig.piece('rl').signal!('controlSupply')).toBe(12);
    rig.happen('ev', 'sleep');
    rig.run(200_000);
    expect(rig.when('rl', 'parts L1')).toEqual([115_000]);
    expect(rig.piece('rl').signal!('controlSupply')).toBe(0);
    rig.happen('ev', 'wake');
    rig.run(300_000);
    expect(rig.when('rl', 'touches L1')).toEqual([225_000]);
  });

  it('holds on 9.2 V and lets go on 8.8 V (9 V at least)', () => {
    const rig = bench({ supply: 'ev' }, true);
    rig.happen('ev', 'sag', { to: 9.2 });
    rig.run(100_000);
    expect(rig.value('rl.L1')).toBe(1);
    rig.happen('ev', 'sag', { to: 8.8 });
    rig.run(200_000);
    expect(rig.when('rl', 'parts L1')).toEqual([115_000]);
  });

  it('falls open at the start when the vehicle does not feed it yet', () => {
    const rig = bench({ supply: 'ev' }, true, ['L1', 'L2'], false);
    rig.run(100_000);
    expect(rig.when('rl', 'parts L1')).toEqual([15_000]);
  });
});

describe('relay faults', () => {
  it('weld L1: L1 stays, L2 parts; a mended pole follows its order', () => {
    const rig = bench({}, true);
    rig.run(100_000);
    rig.happen('rl', 'weld', { pole: 'L1' });
    rig.order('relayCoil', 0);
    rig.run(200_000);
    expect(rig.when('rl', 'welds L1')).toEqual([100_000]);
    expect([rig.value('rl.L1'), rig.value('rl.L2')]).toEqual([2, 0]);
    expect(proofs(rig)).toEqual([0, 1, 1, 0]);
    rig.happen('rl', 'mend', { pole: 'L1' });
    rig.run(300_000);
    expect(rig.when('rl', 'parts L1')).toEqual([215_000]);
    expect(proofs(rig)).toEqual([1, 1, 0, 0]);
  });

  it('weld both: neither pole parts, and both go on to show closed', () => {
    const rig = bench({}, true);
    rig.happen('rl', 'weld');
    rig.order('relayCoil', 0);
    rig.run(100_000);
    expect([rig.value('rl.L1'), rig.value('rl.L2')]).toEqual([2, 2]);
    expect(proofs(rig)).toEqual([0, 0, 1, 1]);
    expect(rig.when('rl', 'parts L1')).toEqual([]);
  });

  it('lie: a closed-proved contact stuck at 1 shows it while the pole is open, until the pole is mended', () => {
    const rig = bench({}, true);
    rig.happen('rl', 'lie', { contact: 'closedProved1', shows: 1 });
    rig.order('relayCoil', 0);
    rig.run(100_000);
    expect([rig.value('rl.L1'), ...proofs(rig)]).toEqual([0, 1, 1, 1, 0]);
    rig.happen('rl', 'mend', { pole: 'L1' });
    expect(proofs(rig)).toEqual([1, 1, 0, 0]);
  });

  it('weld of an open pole waits for its next touch', () => {
    const rig = bench();
    rig.happen('rl', 'weld', { pole: 'both' });
    rig.run(50_000);
    expect(rig.value('rl.L1')).toBe(0);
    rig.order('relayCoil', 1);
    rig.run(100_000);
    expect(rig.when('rl', 'welds L2')).toEqual([75_000]);
  });

  it('slow: L2 parts 40 ms late', () => {
    const rig = bench({}, true);
    rig.happen('rl', 'slow', { pole: 'L2', extra: 40_000 });
    rig.order('relayCoil', 0);
    rig.run(200_000);
    expect(rig.when('rl', 'parts L1')).toEqual([15_000]);
    expect(rig.when('rl', 'parts L2')).toEqual([55_000]);
  });

  it('stick: the pole stays where it is, and moves once it is mended', () => {
    const rig = bench({}, true);
    rig.happen('rl', 'stick', { pole: 'L2' });
    rig.order('relayCoil', 0);
    rig.run(200_000);
    expect(rig.value('rl.L2')).toBe(1);
    rig.happen('rl', 'mend', { pole: 'L2' });
    rig.run(300_000);
    expect(rig.when('rl', 'parts L2')).toEqual([215_000]);
  });

  it('chatter: three rounds of 20 ms, ending closed', () => {
    const rig = bench({}, true);
    rig.run(100_000);
    rig.happen('rl', 'chatter', { pole: 'L1', count: 3, period: 20_000 });
    rig.run(300_000);
    expect(rig.when('rl', 'parts L1')).toEqual([110_000, 130_000, 150_000]);
    expect(rig.when('rl', 'touches L1')).toEqual([120_000, 140_000, 160_000]);
    expect(rig.value('rl.L1')).toBe(1);
    expect(rig.when('rl', 'parts L2')).toEqual([]);
    expect(proofs(rig)).toEqual([0, 0, 1, 1]);
  });

  it('operate: closes without an order, against equipment, until the next order', () => {
    const rig = bench();
    rig.run(100_000);
    rig.happen('rl', 'operate', { to: 'closed' });
    rig.run(200_000);
    const touch = rig.happenings.find(({ did }) => did === 'touches L1');
    expect(touch).toMatchObject({ at_us: 125_000, origin: 'equipment' });
    rig.order('relayCoil', 0);
    rig.run(300_000);
    expect(rig.when('rl', 'parts L1')).toEqual([215_000]);
  });

  it('tells its states apart and names what is pending', () => {
    const rig = bench({}, true);
    const before = JSON.stringify(rig.piece('rl').digestState(rig.kernel.now_us));
    rig.order('relayCoil', 0);
    rig.run(5_000);
    expect(JSON.stringify(rig.piece('rl').digestState(rig.kernel.now_us))).not.toBe(before);
    expect(rig.kernel.pending('rl').map(({ in_us }) => in_us)).toEqual([10_000, 10_000]);
  });
});
