import { describe, expect, it } from 'vitest';
import { load } from '../../../sim/equipment/load.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { loadPiece, loadRig, MS, off, S } from './load-rig.ts';

const NOMINAL = { g1_S: 0, g2_S: 0, g12_S: 0 };

describe('load', () => {
  it('lists defaults with a source for every parameter but the choices of a scenario', () => {
    for (const { name, default: fallback, source } of load.spec.params) {
      expect([name, fallback === undefined, source === '']).toEqual([name, false, false]);
    }
  });

  it('on one leg takes its power at 120 V and counts on that leg alone', () => {
    const { rig } = loadRig([loadPiece('lamp', { power: 600 }, {}, ['L2', 'N'])]);
    const g_S = 600 / 120 ** 2;
    expect(rig.piece('lamp').load!.nominal()).toEqual({ ...NOMINAL, g2_S: g_S });
    const { L2, N } = rig.wiring.bus('house');
    const volts_V = Math.hypot(...rig.across(L2, N));
    expect(rig.value('lamp.p')).toBeCloseTo(volts_V ** 2 * g_S, 9);
  });

  it('takes vars by its power factor: 0.8 lagging is 0.75 of its power, and an impedance of 240² V² over 1250 VA', () => {
    const { rig } = loadRig([loadPiece('fan', { power: 1000, powerFactor: 0.8 })], { r_ohm: 0, x_ohm: 5 });
    // Divider by hand: Z = 46.08 (0.8 + j0.6) behind j5 and 2 mohm of poles.
    const [re, im] = [46.08 * 0.8, 46.08 * 0.6];
    const expected = (240 * 46.08) / Math.hypot(re + 0.002, im + 5);
    expect(off(rig.volts('house', 'L1', 'L2'), expected)).toBeLessThan(2e-6);
  });

  it('that resonates stands by default at Qf 1 and 60 Hz: a divider behind j5 ohm', () => {
    for (const [params, susceptance] of [
      [{}, 0],
      [{ resonance: 66 }, 1.1 - 1 / 1.1],
    ] as const) {
      const { rig } = loadRig([loadPiece('tank', { type: 'resonant', power: 5000, ...params })], {
        x_ohm: 5,
        r_ohm: 0,
      });
      // Y = (1 - j b)/11.52 behind 2 mohm of poles and j5: |1 + Y (0.002 + j5)| by hand.
      const [re, im] = [1 / 11.52, -susceptance / 11.52];
      const expected = 240 / Math.hypot(1 + 0.002 * re - 5 * im, 5 * re + 0.002 * im);
      expect(off(rig.volts('house', 'L1', 'L2'), expected)).toBeLessThan(2e-6);
    }
  });

  it('is switched on and off and given another power', () => {
    const { rig } = loadRig([loadPiece('oven', { power: 1000 }, { on: false, power: 2000 })]);
    const seen: number[] = [];
    for (const [does, using] of [
      ['on', {}],
      ['set power', { power: 500 }],
      ['off', {}],
    ] as const) {
      seen.push(Math.round(rig.value('oven.p')));
      rig.happen('oven', does, using);
      rig.run(rig.kernel.now_us + S);
    }
    seen.push(Math.round(rig.value('oven.p')));
    expect(seen).toEqual([0, 2000, 500, 0]);
    expect(rig.piece('oven').load!.nominal()).toEqual(NOMINAL);
  });

  it('is shed by its own bit of the mask, for the reason of the order', () => {
    const { rig } = loadRig([loadPiece('oven', { shedBit: 3 }), loadPiece('fridge', {})]);
    rig.order('shed', 0b011);
    rig.run(MS);
    expect(rig.value('oven.on')).toBe(1);
    rig.order('shed', 0b111);
    rig.run(2 * MS);
    expect([rig.value('oven.on'), rig.value('fridge.on'), rig.value('oven.p')]).toEqual([0, 1, 0]);
    expect(rig.happenings.find(({ did }) => did === 'sheds')!.origin).toBe('controller');
    rig.order('shed', 0);
    rig.run(3 * MS);
    expect(rig.value('oven.on')).toBe(1);
    expect(rig.when('oven', 'unsheds')).toEqual([2 * MS]);
  });
});

describe('a load on a timer switch', () => {
  const on = (params: Bag, at_s: readonly number[], start: Bag = {}): number[] => {
    const { rig } = loadRig([loadPiece('pump', { power: 1000, ...params }, start)]);
    return at_s.map((one_s) => {
      rig.run(Math.round(one_s * S));
      return rig.value('pump.on');
    });
  };

  it('is closed for 20 min of every hour from 10 min on, and costs nothing in between', () => {
    const params = { scheduleEvery: 3600 * S, scheduleOn: 1200 * S, scheduleFrom: 600 * S };
    expect(on(params, [1, 599.9, 600, 1799.9, 1800, 4199, 4201, 5401])).toEqual([0, 0, 1, 1, 0, 0, 1, 0]);
    const { rig } = loadRig([loadPiece('pump', { power: 1000, ...params })]);
    const { steps } = rig;
    rig.run(24 * 3600 * S);
    expect(rig.when('pump', 'schedule closes')).toHaveLength(24);
    expect(rig.steps - steps).toBeLessThan(48 * 40);
  });

  it('has been closed since before the start where its period says so', () => {
    const params = { scheduleEvery: 3600 * S, scheduleOn: 1200 * S, scheduleFrom: 3000 * S };
    expect(on(params, [1, 599, 601, 3001])).toEqual([1, 1, 0, 1]);
  });

  it('needs its own switch as well', () => {
    expect(on({ scheduleEvery: 100 * S, scheduleOn: 50 * S }, [10, 60, 110], { on: false })).toEqual([0, 0, 0]);
  });
});

describe('a zip or electronic load', () => {
  it('adapts with its time constant of 30 ms: 63 % of the way after it', () => {
    const made = loadRig([loadPiece('tv', { type: 'electronic', power: 1000 })]);
    made.rig.run(100 * MS);
    made.volts(0.8);
    made.rig.run(100 * MS + 1);
    // As an impedance first, 0.64 of its power, then on towards all of it.
    expect(made.rig.value('tv.p') / 1000).toBeCloseTo(0.64, 3);
    made.rig.run(130 * MS + 1);
    made.rig.change(() => {});
    made.rig.run(130 * MS + 2);
    expect(made.rig.value('tv.p') / 1000).toBeCloseTo(1 - 0.36 * Math.exp(-1), 2);
    made.rig.run(3 * S);
    expect(made.rig.value('tv.p') / 1000).toBeCloseTo(1, 8);
    const { steps } = made.rig;
    made.rig.run(500 * S);
    expect(made.rig.steps).toBe(steps);
  });

  it('lets go below 0.6 pu, stays away below 0.8 pu and comes back from nothing 0.5 s after that', () => {
    const made = loadRig([loadPiece('tv', { type: 'electronic', power: 1000 })]);
    made.volts(0.61);
    made.rig.run(100 * MS);
    made.volts(0.59);
    made.rig.run(S);
    expect(made.rig.when('tv', 'cuts out')).toEqual([100 * MS]);
    expect([made.rig.value('tv.p'), made.rig.value('tv.state')]).toEqual([0, 2]);
    expect(made.rig.piece('tv').load!.nominal().g12_S).toBe(0);
    made.volts(0.79);
    made.rig.run(3 * S);
    expect(made.rig.value('tv.p')).toBe(0);
    made.volts(0.81);
    made.rig.run(3.4 * S);
    made.volts(0.7); // Too short: the delay begins anew.
    made.rig.run(3.5 * S);
    made.volts(0.81);
    made.rig.run(4 * S + 1);
    expect(made.rig.when('tv', 'cuts in')).toEqual([4 * S]);
    expect(made.rig.value('tv.p')).toBe(0);
    made.rig.run(6 * S);
    expect(made.rig.value('tv.p') / 1000).toBeCloseTo(1, 8);
  });

  it('keeps its impedance when it lets go', () => {
    const made = loadRig([
      loadPiece('house1', { type: 'zip', zipClass: 'own', zp: 0.4, ip: 0.3, pp: 0.3, power: 1000 }),
    ]);
    made.volts(0.5);
    made.rig.run(S);
    expect(made.rig.value('house1.p')).toBeCloseTo(100, 1);
  });

  it('starts dark and cut out on a dead bus, and comes up when the bus does', () => {
    const made = loadRig([loadPiece('tv', { type: 'electronic', power: 1000 })], { closed: false });
    expect(made.rig.value('tv.state')).toBe(2);
    made.poleState('closed');
    made.rig.run(2 * S);
    expect(made.rig.when('tv', 'cuts in')).toEqual([500 * MS]);
    expect(made.rig.value('tv.p') / 1000).toBeCloseTo(1, 6);
  });
});

describe('cold-load pick-up', () => {
  const PARAMS = { power: 1000, pickup: 3 }; // By default after 30 min dark, held for 20 min, then with 40 min.
  const share = (rig: ReturnType<typeof loadRig>['rig']): number =>
    rig.piece('house1').load!.nominal().g12_S / (1000 / 240 ** 2);

  it('after half an hour dark takes thrice its power for the hold, then dies away: 1 + 2 exp(-(t - T)/τ) within a half stair', () => {
    const made = loadRig([loadPiece('house1', PARAMS)]);
    made.poleState('open');
    made.rig.run(1800 * S);
    expect(share(made.rig)).toBe(1);
    made.poleState('closed');
    const t0 = 1800 * S;
    made.rig.run(t0 + 1199 * S);
    expect(share(made.rig)).toBe(3);
    for (const after_s of [300, 900, 2400, 4800, 7200]) {
      made.rig.run(t0 + (1200 + after_s) * S);
      expect(Math.abs(share(made.rig) - 1 - 2 * Math.exp(-after_s / 2400))).toBeLessThan(0.0501);
    }
    // The last stair ends where the curve is down to half a stair: T + τ ln 40.
    const end_s = 1200 + 2400 * Math.log(40);
    made.rig.run(t0 + Math.floor(end_s - 1) * S);
    expect(share(made.rig)).toBeCloseTo(1.1, 9);
    made.rig.run(t0 + Math.ceil(end_s + 1) * S);
    expect(share(made.rig)).toBe(1);
    expect(made.rig.when('house1', 'cold pick-up')).toEqual([t0]);
  });

  it('does nothing after a second less, and counts what was dark before the run', () => {
    const short = loadRig([loadPiece('house1', PARAMS)], { closed: false });
    short.rig.run(1799 * S);
    short.poleState('closed');
    short.rig.run(1900 * S);
    expect(share(short.rig)).toBe(1);
    const long = loadRig([loadPiece('house1', PARAMS, { darkFor: 1790 * S })], { closed: false });
    long.rig.run(10 * S);
    long.poleState('closed');
    long.rig.run(11 * S);
    expect(share(long.rig)).toBe(3);
  });
});
