import { describe, expect, it } from 'vitest';
import { pv } from '../../../sim/equipment/pv.ts';
import { IslandRig, MS, modeOfUnit, onGrid, S } from './island-rig.ts';

describe('pv on the grid', () => {
  it('starts settled: 5 kW from the first instant, angle and frequency at rest, then no step at all', () => {
    const made = onGrid();
    expect(modeOfUnit(made)).toBe('running');
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    made.rig.run(2 * S);
    const { steps } = made.rig;
    made.rig.run(3600 * S);
    expect(made.rig.steps).toBe(steps);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    expect(made.rig.value('pv1.fMeasured')).toBeCloseTo(60, 9);
    expect(made.rig.value('pv1.tripped')).toBe(0);
  });

  it('follows the sun: 30 % gives 1500 W; at night it is off, ceases and leaves 30 ms later', () => {
    const made = onGrid({}, { irradiance: 0.8 });
    made.rig.run(1 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(4000, 0);
    made.rig.happen('pv1', 'irradiance', { value: 0.3 });
    made.rig.run(2 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(1500, 0);
    expect(made.rig.value('pv1.irradiance')).toBe(0.3);
    made.rig.happen('pv1', 'irradiance', { value: 0 });
    made.rig.run(3 * S);
    expect(modeOfUnit(made)).toBe('off');
    expect(made.rig.value('pv1.energises')).toBe(0);
    expect(made.rig.when('pv1', 'leaves')).toEqual([2 * S + 30 * MS]);
    made.rig.happen('pv1', 'irradiance', { value: 1 });
    made.rig.run(4 * S);
    expect(modeOfUnit(made)).toBe('waiting');
  });
});

// IEEE 1547-2018, 6.5.2.7: drop = (f - 60 - 0.036) / (60 · 0.05): 0.1547 pu at 60.5 Hz, 0.3880 pu at 61.2 Hz.
describe('droop', () => {
  for (const [f_Hz, drop] of [
    [60.5, 0.1547],
    [61.2, 0.388],
  ] as const) {
    it(`holds back ${drop} pu at ${f_Hz} Hz, 90 % of it within 5 s`, () => {
      const made = onGrid();
      made.supply(1, f_Hz);
      made.rig.run(4.5 * S);
      expect(made.rig.value('pv1.p')).toBeGreaterThan(5000 * (1 - drop));
      made.rig.run(5.5 * S);
      expect(1 - made.rig.value('pv1.p') / 5000).toBeGreaterThan(0.9 * drop - 0.05);
      made.rig.run(40 * S);
      expect(1 - made.rig.value('pv1.p') / 5000).toBeCloseTo(drop, 4);
      const { steps } = made.rig;
      made.rig.run(200 * S);
      expect(made.rig.steps).toBe(steps);
      made.supply(1, 60);
      made.rig.run(260 * S);
      expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
    });
  }

  it('passes its stair of 15 % of a step to 0.388 pu at 5 s · lg(0.388 / 0.238) = 1.061 s', () => {
    const made = onGrid({ frequencyLag: 0 });
    made.supply(1, 61.2);
    made.rig.run(10 * S);
    const passed = made.rig.trace('pv1.p').find(([, p_W]) => p_W < 5000 * 0.86 && p_W > 5000 * 0.84);
    const expected_s = 5 * Math.log10(0.388 / 0.238);
    // The loop takes about a tenth of a second to see the step.
    expect(passed![0] / S).toBeGreaterThan(expected_s);
    expect(passed![0] / S).toBeLessThan(expected_s + 0.15);
  });

  it('is measured from the power before: 40 % of sun less 0.1547 pu of rated', () => {
    const made = onGrid({}, { irradiance: 0.4 });
    made.supply(1, 60.5);
    made.rig.run(40 * S);
    expect(made.rig.value('pv1.p') / 5000).toBeCloseTo(0.4 - 0.1547, 3);
    made.rig.happen('pv1', 'irradiance', { value: 1 });
    made.rig.run(60 * S);
    expect(made.rig.value('pv1.p') / 5000).toBeCloseTo(0.4 - 0.1547, 3);
  });

  it('is unknown to the older categories', () => {
    const made = onGrid({ category: '2014' });
    made.supply(1, 60.4);
    made.rig.run(40 * S);
    expect(made.rig.value('pv1.p')).toBeCloseTo(5000, 0);
  });
});

describe('pv as data', () => {
  it('has the channels of its kind in the order in which it writes them', () => {
    const made = onGrid();
    const names = made.rig
      .piece('pv1')
      .channels()
      .map(({ name }) => name.slice('pv1.'.length));
    expect(names).toEqual(['p', 'q', 'i', 'mode', 'energises', 'tripped', 'permit', 'irradiance', 'fMeasured']);
    const out = new Float64Array(names.length).fill(Number.NaN);
    made.rig.piece('pv1').write(out, 0);
    expect(out.every((value) => Number.isFinite(value))).toBe(true);
  });

  it('gives the sensor its power, and to rules what it is: following, joined, never forming', () => {
    const made = onGrid();
    const piece = made.rig.piece('pv1');
    expect(piece.signal!('power')).toBeCloseTo(5000, 0);
    expect(piece.source!.following().energises).toBe(true);
    expect(piece.source!.forms()).toBe(false);
    expect(piece.source!.joined()).toBe(true);
  });

  it('energises above 2 % of rated current: not at 1.9 % of sun, at 2.1 %', () => {
    expect(onGrid({}, { irradiance: 0.019 }).rig.value('pv1.energises')).toBe(0);
    expect(onGrid({}, { irradiance: 0.021 }).rig.value('pv1.energises')).toBe(1);
  });

  // The defaults that other tests do not pin by what they do.
  it('keeps its stated defaults', () => {
    const byName = Object.fromEntries(pv.spec.params.map(({ name, default: value }) => [name, value]));
    expect(byName).toMatchObject({
      category: 'II',
      currentLimit: 1.2,
      loop: 6,
      damping: 0.9,
      frequencyLag: 20 * MS,
      voltageLag: 10 * MS,
      filter: 10e-6,
      ceiling: 1.33,
      noise: 0.001,
      detection: 'SFS',
      cf0: 0.02,
      sfsGain: 0.07,
      sfsClamp: 0.3,
      smsAngle: 10,
      smsReach: 3,
      svsGain: 2.5,
      switching: 16 * MS,
      contactDelay: 30 * MS,
    });
    for (const { source, about } of pv.spec.params) expect([source, about].every((text) => text.length > 3)).toBe(true);
  });
});

describe('island detection', () => {
  it('no longer works once the method has failed: a matched island goes on', () => {
    const made = new IslandRig({ units: [{ filter: 0 }], load: { power_W: 5000, qf: 1 } });
    made.rig.happen('pv1', 'fail to detect');
    made.rig.run(2 * S);
    made.open();
    made.rig.run(5 * S);
    expect(made.rig.value('pv1.energises')).toBe(1);
    const sound = new IslandRig({ units: [{ filter: 0 }], load: { power_W: 5000, qf: 1 } });
    sound.rig.run(2 * S);
    sound.open();
    sound.rig.run(5 * S);
    expect(sound.rig.value('pv1.energises')).toBe(0);
  });

  it('gives the same run for the same seed and another for another', () => {
    const run = (seed: number): unknown => {
      const made = new IslandRig({ units: [{ cf0: 0, filter: 0 }], load: { power_W: 5000, qf: 1 }, seed });
      made.rig.run(1 * S);
      made.open();
      made.rig.run(3 * S);
      return [made.rig.happenings, made.rig.piece('pv1').digestState(3 * S)];
    };
    expect(run(7)).toEqual(run(7));
    expect(run(7)).not.toEqual(run(8));
  });

  // Uniform noise of 1 mHz on the measured frequency of a matched island with no bias, six seeds: 625 to 767 ms in a model
  // made apart from this one, upward or downward by chance.
  it('leaves its unstable balance by noise alone, within the published-model band widened by 20 %', () => {
    for (let seed = 1; seed <= 6; seed += 1) {
      const made = new IslandRig({
        units: [{ cf0: 0, filter: 0, switching: 0 }],
        load: { power_W: 5000, qf: 1 },
        seed,
      });
      made.rig.run(100 * MS);
      made.open();
      made.rig.run(3 * S);
      expect(made.trip()![1]).toBeGreaterThan(625 * 0.8);
      expect(made.trip()![1]).toBeLessThan(767 * 1.2);
    }
  });
});
