import { describe, expect, it } from 'vitest';
import { didOf, MS, modeOfUnit, onGrid, S } from './island-rig.ts';

// IEEE 1547-2018, 4.10, Table 4: 0.917..1.05 pu and 59.5..60.1 Hz for 300 s unbroken, then a ramp of 300 s.
describe('enter service', () => {
  it('starts 300 s after the first good instant and is at full power 300 s later, in stairs of 5 %', () => {
    const made = onGrid({}, { running: false });
    made.rig.run(299.9 * S);
    expect(modeOfUnit(made)).toBe('waiting');
    expect(made.rig.value('pv1.tripped')).toBe(1);
    made.rig.run(300.1 * S);
    expect(modeOfUnit(made)).toBe('starting');
    expect(made.rig.when('pv1', 'starts')[0]! / S).toBeCloseTo(300, 1);
    expect(made.rig.value('pv1.p')).toBeCloseTo(250, 0);
    made.rig.run(450.1 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(2750, 0);
    made.rig.run(600 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    expect(modeOfUnit(made)).toBe('running');
    expect(didOf(made)).toEqual(['joins', 'starts']);
  });

  for (const [volts_pu, f_Hz, enters] of [
    [0.92, 60, true],
    [0.914, 60, false],
    [1.047, 60, true],
    [1.053, 60, false],
    [1, 59.52, true],
    [1, 59.48, false],
    [1, 60.08, true],
    [1, 60.12, false],
  ] as const) {
    it(`${enters ? 'enters' : 'stays out'} at ${volts_pu} pu and ${f_Hz} Hz`, () => {
      const made = onGrid({}, { running: false });
      made.supply(volts_pu, f_Hz);
      made.rig.run(310 * S);
      expect(modeOfUnit(made)).toBe(enters ? 'starting' : 'waiting');
    });
  }

  it('counts from zero after any excursion', () => {
    const made = onGrid({}, { running: false });
    made.rig.run(200 * S);
    made.supply(0.9);
    made.rig.run(201 * S);
    made.supply(1);
    made.rig.run(600 * S);
    expect(made.rig.when('pv1', 'starts')[0]! / S).toBeCloseTo(501, 1);
  });

  it('takes a random extra delay by seed in place of the ramp, another for each unit', () => {
    const made = onGrid({ randomDelay: 300 * S }, { running: false }, 2);
    made.rig.run(700 * S);
    const [one, two] = ['pv1', 'pv2'].map((id) => made.rig.when(id, 'starts')[0]! / S) as [number, number];
    expect(one).toBeGreaterThan(300);
    expect(two).toBeLessThan(600.1);
    expect(one).not.toBe(two);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
  });

  it('has no ramp in the older categories', () => {
    const made = onGrid({ category: '2003' }, { running: false });
    made.rig.run(301 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    expect(modeOfUnit(made)).toBe('running');
  });

  it('comes back after a trip only by the whole delay', () => {
    const made = onGrid();
    made.rig.happen('pv1', 'trip test');
    made.rig.run(299 * S);
    expect(made.rig.value('pv1.energises')).toBe(0);
    made.rig.run(301 * S);
    expect(modeOfUnit(made)).toBe('starting');
    expect(didOf(made)).toEqual(['trip test', 'trips TEST', 'ceases', 'leaves', 'joins', 'starts']);
  });

  it('starts at once when told to, and not at night', () => {
    const made = onGrid({}, { running: false });
    made.rig.happen('pv1', 'start');
    expect(modeOfUnit(made)).toBe('starting');
    const night = onGrid({}, { irradiance: 0 });
    night.rig.happen('pv1', 'start');
    expect(modeOfUnit(night)).toBe('off');
  });
});

describe('permit', () => {
  it('ceases 100 ms after its loss, tripped, against whom gave the order; back only by the whole delay', () => {
    const made = onGrid();
    made.rig.run(1 * S);
    const order = made.rig.order('pvPermit', 0);
    expect(made.rig.value('pv1.permit')).toBe(0);
    made.rig.run(2 * S);
    expect(made.rig.when('pv1', 'ceases')).toEqual([1 * S + 100 * MS]);
    const trip = made.rig.happenings.find((one) => one.did === 'trips PERMIT');
    expect(trip).toMatchObject({ origin: 'controller', cause: order.number });
    expect(modeOfUnit(made)).toBe('not permitted');
    made.rig.order('pvPermit', 1);
    made.rig.run(301 * S);
    expect(modeOfUnit(made)).toBe('waiting');
    made.rig.run(303 * S);
    expect(modeOfUnit(made)).toBe('starting');
  });

  it('goes on when the permit is back before it has ceased', () => {
    const made = onGrid();
    made.rig.order('pvPermit', 0);
    made.rig.run(50 * MS);
    made.rig.order('pvPermit', 1);
    made.rig.run(2 * S);
    expect(didOf(made)).toEqual([]);
  });

  it('is not heard by a unit that is stuck on', () => {
    const made = onGrid();
    made.rig.happen('pv1', 'stuck on');
    made.rig.order('pvPermit', 0);
    made.rig.run(5 * S);
    expect(made.rig.value('pv1.permit')).toBe(0);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
  });

  it('does not reach a unit to which it is not wired', () => {
    const made = onGrid({ permitWired: false });
    made.rig.order('pvPermit', 0);
    made.rig.run(5 * S);
    expect(made.rig.value('pv1.permit')).toBe(1);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
  });

  it('is needed at the start of a run', () => {
    const made = onGrid({}, { permit: false });
    made.rig.run(400 * S);
    expect(modeOfUnit(made)).toBe('not permitted');
    expect(made.rig.value('pv1.p')).toBeCloseTo(0, 6);
  });
});

describe('contactor', () => {
  it('takes a fitted unit off 20 ms after the order; it sees no voltage then and trips UV2', () => {
    const made = onGrid({ contactor: true });
    made.rig.order('pvContactor', 0);
    made.rig.run(1 * S);
    expect(made.rig.when('pv1', 'contactor opens')).toEqual([20 * MS]);
    expect(didOf(made)).toContain('trips UV2');
    expect(made.rig.value('pv1.q')).toBeCloseTo(0, 9);
    made.rig.order('pvContactor', 1);
    made.rig.run(300 * S);
    expect(modeOfUnit(made)).toBe('waiting');
    made.rig.run(302 * S);
    expect(modeOfUnit(made)).toBe('starting');
  });

  it('is not there unless it is fitted', () => {
    const made = onGrid();
    made.rig.order('pvContactor', 0);
    made.rig.run(1 * S);
    expect(didOf(made)).toEqual([]);
  });
});
