import { describe, expect, it } from 'vitest';
import { pv } from '../../../sim/equipment/pv.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { didOf, MS, modeOfUnit, onGrid, S } from './island-rig.ts';
import { Rig } from './rig.ts';
import { stiffSource } from './rig-devices.ts';

/** What trips it at a steady voltage and frequency, and when, ms after the change at 100 ms. */
function tripAt(params: Bag, volts_pu: number, f_Hz: number, for_s: number): readonly [string, number] | undefined {
  const made = onGrid({ switching: 0, ...params });
  made.rig.run(100 * MS);
  made.supply(volts_pu, f_Hz);
  made.rig.run(100 * MS + for_s * S);
  const found = made.rig.happenings.find((one) => one.did.startsWith('trips'));
  return found === undefined ? undefined : [found.did, found.at_us / MS - 100];
}

// IEEE 1547-2018, Tables 11 to 13 and 18; a steady step of the utility, no switching allowance, one cycle of window.
describe('trip rows', () => {
  for (const [category, volts_pu, row, time_ms, level] of [
    ['I', 1.22, 'trips OV2', 160, 1.2],
    ['I', 1.15, 'trips OV1', 2000, 1.1],
    ['I', 0.6, 'trips UV1', 2000, 0.7],
    ['I', 0.4, 'trips UV2', 160, 0.45],
    ['II', 0.6, 'trips UV1', 10_000, 0.7],
    ['III', 1.15, 'trips OV1', 13_000, 1.1],
    ['III', 0.8, 'trips UV1', 21_000, 0.88],
    ['III', 0.4, 'trips UV2', 2000, 0.5],
    ['2003', 1.15, 'trips OV1', 1000, 1.1],
    ['2003', 0.8, 'trips UV1', 2000, 0.88],
    ['2003', 0.4, 'trips UV2', 160, 0.5],
    ['2014', 0.55, 'trips UV2', 1000, 0.6],
    ['2014', 0.4, 'trips UV3', 160, 0.45],
  ] as const) {
    // One-cycle rms after a step to v: U² = 1 + (v² - 1) t/T, so it passes the level L at T (L² - 1)/(v² - 1).
    it(`category ${category} at ${volts_pu} pu: ${row} ${time_ms} ms after its one-cycle rms has passed ${level}`, () => {
      const found = tripAt({ category }, volts_pu, 60, time_ms / 1000 + 1);
      expect(found?.[0]).toBe(row);
      const passes_ms = ((1000 / 60) * (level ** 2 - 1)) / (volts_pu ** 2 - 1);
      expect(Math.abs(found![1] - time_ms - passes_ms)).toBeLessThan(0.5);
    });

    it(`category ${category}: ${row} begins at ${level} pu, within 0.002`, () => {
      const outwards = level > 1 ? 0.002 : -0.002;
      const only = { category, cessation: 'no' };
      const found = tripAt(only, level + outwards, 60, time_ms / 1000 + 0.5);
      expect(found?.[0]).toBe(row);
      expect(tripAt(only, level - outwards, 60, time_ms / 1000 + 0.5)?.[0]).not.toBe(row);
    });
  }

  for (const [f_Hz, row, time_ms] of [
    [62.3, 'trips OF2', 160],
    [61.5, 'trips OF1', 300_000],
    [58, 'trips UF1', 300_000],
    [56, 'trips UF2', 160],
  ] as const) {
    it(`at ${f_Hz} Hz: ${row} after ${time_ms} ms and what its loop needs`, () => {
      const found = tripAt({}, 1, f_Hz, time_ms / 1000 + 1);
      expect(found?.[0]).toBe(row);
      expect(found![1]).toBeGreaterThan(time_ms);
      expect(found![1]).toBeLessThan(time_ms + 150);
    });
  }

  for (const [level_Hz, row, time_s] of [
    [62, 'trips OF2', 0.16],
    [61.2, 'trips OF1', 300],
    [58.5, 'trips UF1', 300],
    [56.5, 'trips UF2', 0.16],
  ] as const) {
    it(`${row} begins at ${level_Hz} Hz, within 0.05`, () => {
      const outwards_Hz = level_Hz > 60 ? 0.05 : -0.05;
      expect(tripAt({}, 1, level_Hz + outwards_Hz, time_s + 1)?.[0]).toBe(row);
      expect(tripAt({}, 1, level_Hz - outwards_Hz, time_s + 1)?.[0]).not.toBe(row);
    });
  }

  it('stays inside every bound of category III that it does not pass', () => {
    expect(tripAt({ category: 'III' }, 0.89, 60, 30)).toBeUndefined();
    expect(tripAt({ category: 'III' }, 1.09, 60, 30)).toBeUndefined();
    expect(tripAt({}, 1, 61.1, 400)).toBeUndefined();
    expect(tripAt({}, 1, 58.6, 400)).toBeUndefined();
  });

  it('takes single values over the category, and acts the switching allowance early', () => {
    expect(tripAt({ ov1: 1.05, ov1Time: 500 * MS }, 1.06, 60, 2)?.[0]).toBe('trips OV1');
    const early = tripAt({ switching: 16 * MS }, 0.4, 60, 1)![1];
    const late = tripAt({}, 0.4, 60, 1)![1];
    expect(late - early).toBeCloseTo(16, 3);
  });

  it('clears a timer when the voltage is back inside before its time', () => {
    const made = onGrid({ switching: 0 });
    for (let k = 0; k < 10; k += 1) {
      made.supply(0.4);
      made.rig.run(made.rig.kernel.now_us + 140 * MS);
      made.supply(1);
      made.rig.run(made.rig.kernel.now_us + 100 * MS);
    }
    expect(modeOfUnit(made)).toBe('running');
  });

  // A sine of amplitude a is above x for t in each half wave when a cos(π 60 t) > x: 1.25 / cos(π 60 · 1 ms) = 1.2725.
  it('trips at once above 1.2725 pu: 1.25 pu for 1 ms in each half wave', () => {
    const level = 1.25 / Math.cos(Math.PI * 60 * 0.001);
    expect(level).toBeCloseTo(1.2725, 4);
    expect(tripAt({}, level + 0.001, 60, 0.05)?.[0]).toBe('trips INST');
    expect(tripAt({}, level - 0.001, 60, 0.05)).toBeUndefined();
    expect(tripAt({}, 1.3, 60, 0.05)![1]).toBeLessThan(8.34);
  });

  it('rests the rows of frequency below 0.30 pu: a slow voltage row is left to act', () => {
    const slow = { uv2: 0.01, uv1: 0.02, uf2Time: 160 * MS };
    expect(tripAt(slow, 0.297, 55, 1)).toBeUndefined();
    expect(tripAt(slow, 0.303, 55, 1)?.[0]).toBe('trips UF2');
  });
});

// IEEE 1547-2018, Table 16: category III ceases within 83 ms outside 0.50..1.10 pu and is back over 0.4 s.
describe('momentary cessation', () => {
  it('ceases at 83 ms without tripping, its contact closed, and comes back by stairs over 0.4 s', () => {
    const made = onGrid({ category: 'III', switching: 0 });
    made.rig.run(100 * MS);
    made.supply(0.4);
    made.rig.run(100 * MS + 500 * MS);
    const ceased_ms = made.rig.when('pv1', 'ceases')[0]! / MS - 100;
    // Its one-cycle rms passes 0.50 pu after (1 - 0.50²)/(1 - 0.40²) of a cycle, 14.88 ms.
    expect(Math.abs(ceased_ms - 83 - 14.88)).toBeLessThan(0.5);
    expect(modeOfUnit(made)).toBe('cessation');
    expect(made.rig.value('pv1.tripped')).toBe(0);
    expect(made.rig.piece('pv1').source!.joined()).toBe(true);
    made.supply(0.8);
    made.rig.run(700 * MS);
    expect(modeOfUnit(made)).toBe('cessation');
    made.supply(1);
    made.rig.run(900 * MS);
    expect(modeOfUnit(made)).toBe('running');
    const half = made.rig.value('pv1.p');
    expect(half).toBeGreaterThan(5000 * 0.4);
    expect(half).toBeLessThan(5000 * 0.6);
    made.rig.run(1200 * MS);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    expect(didOf(made)).toEqual(['ceases', 'starts']);
    // The last of twenty stairs stands at 19/20 of 400 ms after the return.
    const back_us = made.rig.when('pv1', 'starts')[0]!;
    const full = made.rig.trace('pv1.i').find(([at_us, i_A]) => at_us > back_us && i_A > 0.99 * (5000 / 240));
    expect(full![0] - back_us).toBe(380 * MS);
  });

  it('trips after the time of its row when the voltage stays low', () => {
    const made = onGrid({ category: 'III', switching: 0 });
    made.supply(0.4);
    made.rig.run(3 * S);
    expect(didOf(made)).toEqual(['ceases', 'trips UV2', 'leaves']);
    expect(modeOfUnit(made)).toBe('tripped');
  });

  for (const [volts_pu, ceases] of [
    [0.502, false],
    [0.498, true],
    [1.098, false],
    [1.102, true],
  ] as const) {
    it(`${ceases ? 'ceases' : 'goes on'} at ${volts_pu} pu`, () => {
      const made = onGrid({ category: 'III' });
      made.supply(volts_pu);
      made.rig.run(1 * S);
      expect(modeOfUnit(made)).toBe(ceases ? 'cessation' : 'running');
    });
  }

  for (const [volts_pu, back] of [
    [0.878, false],
    [0.882, true],
    [1.098, true],
    [1.102, false],
  ] as const) {
    it(`${back ? 'is back' : 'stays out'} once the voltage stands at ${volts_pu} pu`, () => {
      const made = onGrid({ category: 'III' });
      made.supply(volts_pu > 1 ? 1.15 : 0.4);
      made.rig.run(200 * MS);
      expect(modeOfUnit(made)).toBe('cessation');
      made.supply(volts_pu);
      made.rig.run(500 * MS);
      expect(modeOfUnit(made)).toBe(back ? 'running' : 'cessation');
    });
  }

  it('is known to category III alone, unless the parameter says so', () => {
    for (const [params, ceases] of [
      [{ category: 'II' }, false],
      [{ category: 'II', cessation: 'yes' }, true],
      [{ category: 'III', cessation: 'no' }, false],
    ] as const) {
      const made = onGrid({ ...params, switching: 0, uv2Time: 5 * S });
      made.supply(0.4);
      made.rig.run(1 * S);
      expect(modeOfUnit(made)).toBe(ceases ? 'cessation' : 'running');
    }
  });
});

// IEEE 1547-2018, 6.2.2 (from memory): one leg of the service lost, ceased within 2.0 s.
describe('open phase', () => {
  /** A unit on two leg sources of which the second falls to `volts_V` at 100 ms; the sum stays within 0.88 pu. */
  function unbalanced(params: Bag, volts_V: number): Rig {
    let light: ReturnType<typeof stiffSource> | undefined;
    const made = new Rig({
      buses: ['house'],
      pieces: [{ kind: pv, id: 'pv1', at: ['house'], params: { detection: 'none', switching: 0, ...params } }],
      devices: (wiring) => {
        const { index: bus, L1, L2, N } = wiring.bus('house');
        light = stiffSource({ bus, a: N, b: L2, volts_V: 120, r_ohm: 1e-3, x_ohm: 1e-3 });
        return [stiffSource({ bus, a: L1, b: N, volts_V: 120, r_ohm: 1e-3, x_ohm: 1e-3 }), light];
      },
    });
    made.run(100 * MS);
    made.change(() => {
      light!.volts_V = volts_V;
    });
    made.run(3 * S);
    return made;
  }

  it('trips a unit with three leads 2.0 s after its legs differ by more than 0.10 pu', () => {
    const tripped = unbalanced({ leads: '3' }, 106).when('pv1', 'trips OPEN PHASE');
    expect(tripped).toHaveLength(1);
    expect(tripped[0]! / S).toBeCloseTo(2.1, 2);
    expect(unbalanced({ leads: '3' }, 110).happenings).toEqual([]);
  });

  it('is not seen by a unit with two leads, unless the parameter says so', () => {
    expect(unbalanced({ leads: '2' }, 106).happenings).toEqual([]);
    expect(unbalanced({ leads: '2', openPhase: 'yes' }, 106).when('pv1', 'trips OPEN PHASE')).toHaveLength(1);
    expect(unbalanced({ leads: '3', openPhase: 'no' }, 106).happenings).toEqual([]);
  });
});
