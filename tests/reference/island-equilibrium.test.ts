import { describe, expect, it } from 'vitest';
import { pv } from '../../sim/equipment/pv.ts';
import type { Bag } from '../../sim/site-description.ts';
import { IslandRig, NO_TRIPS, PLAIN } from '../sim/equipment/island-rig.ts';
import { frequencyOfAngle, frequencyOfMethod } from './island-theory.ts';

const OPENED_us = 100_000;
const degree = Math.PI / 180;

/** An island of one 5 kW unit (or several) on a matched load, `for_s` after the opening. */
function island(
  units: Bag | readonly Bag[],
  load: { qf?: number; power_W?: number },
  for_s: number,
  seed = 1,
): IslandRig {
  const list = Array.isArray(units) ? (units as readonly Bag[]) : [units as Bag];
  const made = new IslandRig({
    units: list.map((params) => ({ ...PLAIN, ...params })),
    load: { power_W: 5000 * list.length, ...load },
    seed,
  });
  made.rig.run(OPENED_us);
  made.open();
  made.rig.run(OPENED_us + for_s * 1e6);
  return made;
}

// Arithmetic of a constant power behind a current limit on a resistance, rated 5 kW, limit 1.2: V/Vn = min(√n, 1.2 n).
describe('voltage of an island against V/Vn = min(√n, k n / s)', () => {
  for (const [n, irradiance, printed] of [
    [2, 1, 141.42],
    [0.8, 1, 89.44],
    [0.5, 1, 60],
    [0.31, 1, 37.2],
    [0.5, 0.5, 70.71],
  ] as const) {
    it(`stands at ${printed} % of nominal for n = ${n} at ${irradiance} of rated`, () => {
      const made = new IslandRig({
        units: [{ ...PLAIN, ...NO_TRIPS, detection: 'none' }],
        load: { power_W: (5000 * irradiance) / n, qf: 1 },
        start: { irradiance },
      });
      made.rig.run(OPENED_us);
      made.open();
      made.rig.run(OPENED_us + 1_500_000);
      expect(made.volts_V / 240).toBeCloseTo(Math.min(Math.sqrt(n), (1.2 * n) / irradiance), 4);
      expect((100 * made.volts_V) / 240).toBeCloseTo(printed, 2);
    });
  }

  it('follows the limit: 5 % more of it shows as 0.63 pu at n = 0.5, and its default is 1.2', () => {
    const made = island({ ...NO_TRIPS, detection: 'none', currentLimit: 1.26 }, { qf: 1, power_W: 10_000 }, 1.5);
    expect(made.volts_V / 240).toBeCloseTo(0.63, 4);
    expect(pv.spec.params.find(({ name }) => name === 'currentLimit')?.default).toBe(1.2);
  });
});

// The load takes the angle that it is given: tan θ = Qf (f/f0 - f0/f). The printed digits are those of the formula.
describe('frequency of an island against tan θ = Qf (f/f0 - f0/f)', () => {
  it('holds 60.000 ± 0.005 Hz for 1.5 s on a matched load with no method', () => {
    const made = island({ detection: 'none' }, { qf: 1 }, 1.5);
    expect(Math.abs(made.f_Hz - 60)).toBeLessThan(0.005);
    expect(made.trip()).toBeUndefined();
    expect(made.ceased).toBe(false);
  });

  for (const [bias, qf, printed] of [
    [1, 1, 60.5259],
    [1, 2.5, 60.2098],
  ] as const) {
    it(`moves to ${printed} Hz with the current ${bias} degree early at Qf ${qf}`, () => {
      const made = island({ ...NO_TRIPS, detection: 'none', bias }, { qf }, 2);
      expect(made.f_Hz).toBeCloseTo(frequencyOfAngle(bias * degree, qf), 3);
      expect(made.f_Hz).toBeCloseTo(printed, 3);
    });
  }

  // AFD leads by π cf/2: Ropp et al. 2000.
  for (const [cf0, qf, printed] of [
    [0.02, 1, 60.9502],
    [0.02, 2.5, 60.3783],
    [0.05, 1, 62.4075],
    [0.05, 2.5, 60.9519],
  ] as const) {
    it(`moves to ${printed} Hz with AFD ${cf0} at Qf ${qf}`, () => {
      const made = island({ ...NO_TRIPS, detection: 'AFD', cf0 }, { qf }, 3);
      expect(made.f_Hz).toBeCloseTo(frequencyOfAngle((Math.PI * cf0) / 2, qf), 3);
      expect(made.f_Hz).toBeCloseTo(printed, 3);
    });
  }

  // SFS leads by π/2 (cf0 + K (f - 60)).
  for (const [cf0, sfsGain, printed] of [
    [0.02, 0.03, 60.8861],
    [0.05, 0.03, 62.3319],
  ] as const) {
    it(`settles at ${printed} Hz with SFS ${cf0} / ${sfsGain} at Qf 2.5 and its trips off`, () => {
      const made = island({ ...NO_TRIPS, detection: 'SFS', cf0, sfsGain }, { qf: 2.5 }, 5);
      const lead = (f: number): number => (Math.PI / 2) * (cf0 + sfsGain * (f - 60));
      expect(made.f_Hz).toBeCloseTo(frequencyOfMethod(lead, 2.5, [60, 64]), 3);
      expect(made.f_Hz).toBeCloseTo(printed, 3);
    });
  }

  it('is not detected with SFS 0.02 / 0.03 at Qf 2.5: 60.8861 Hz is below 62.0 Hz', () => {
    expect(island({ detection: 'SFS', sfsGain: 0.03 }, { qf: 2.5 }, 5).trip()).toBeUndefined();
  });

  // SMS leads by 10° sin(π/2 (f - 60)/3): two solutions, of which 60 Hz does not hold.
  it('leaves 60 Hz for a second solution 1.535 Hz away with SMS 10 degrees / 3 Hz at Qf 2.5', () => {
    const made = island({ ...NO_TRIPS, detection: 'SMS', noise: 0.001 }, { qf: 2.5 }, 20, 2);
    const lead = (f: number): number => 10 * degree * Math.sin(((Math.PI / 2) * (f - 60)) / 3);
    const up_Hz = frequencyOfMethod(lead, 2.5, [60.5, 63]);
    const down_Hz = frequencyOfMethod(lead, 2.5, [57, 59.5]);
    expect(up_Hz).toBeCloseTo(61.535, 3);
    expect(Math.min(Math.abs(made.f_Hz - up_Hz), Math.abs(made.f_Hz - down_Hz))).toBeLessThan(0.005);
    expect(made.trip()).toBeUndefined();
  });
});

describe('several inverters on one island', () => {
  const active = { detection: 'SFS', noise: 0.001 };
  const passive = { detection: 'none', noise: 0.001 };

  // Sum of four equal currents, one of them ahead by π/2 (0.02 + 0.07 (f - 60)): the angle of the sum in closed form.
  it('settles at 61.4263 Hz with one active unit in four, undetected by a 62.0 Hz trip', () => {
    const lead = (f: number): number => {
      const theta = (Math.PI / 2) * (0.02 + 0.07 * (f - 60));
      return Math.atan2(Math.sin(theta), 3 + Math.cos(theta));
    };
    expect(frequencyOfMethod(lead, 1, [60.1, 63])).toBeCloseTo(61.4263, 4);
    const still = [active, passive, passive, passive].map((params) => ({ ...params, noise: 0 }));
    expect(island(still, { qf: 1 }, 20).f_Hz).toBeCloseTo(61.4263, 3);
    // Near its critical gain the island multiplies the noise of 1 mHz several times.
    const made = island([active, passive, passive, passive], { qf: 1 }, 5);
    expect(Math.abs(made.f_Hz - 61.4263)).toBeLessThan(0.03);
    for (const id of ['pv1', 'pv2', 'pv3', 'pv4']) expect(made.trip(id)).toBeUndefined();
  });

  it('is detected with two active units in four: mean gain 0.035 above the critical 0.0212 per Hz', () => {
    const made = island([active, active, passive, passive], { qf: 1 }, 2);
    expect(made.ceased).toBe(true);
    expect(made.trip()?.[0]).toBe('trips OF2');
    expect(made.trip()?.[1]).toBeGreaterThan(417 * 0.9);
    expect(made.trip()?.[1]).toBeLessThan(417 * 1.1);
  });
});

// Loss of stability at the resonance: dθ/df = 2 Qf/f0. SFS π K/2, SMS (π/2) θm/(fm - 60), constant-power SVS kv = 2.
describe('critical gains', () => {
  const away = (params: Bag, qf: number, f0_Hz: number): number => {
    const made = new IslandRig({ units: [{ ...PLAIN, ...NO_TRIPS, ...params }], load: { power_W: 5000, qf, f0_Hz } });
    made.rig.run(OPENED_us);
    made.open();
    made.rig.run(OPENED_us + 30_000_000);
    return Math.abs(made.f_Hz - 60);
  };

  for (const [qf, printed] of [
    [1, 0.02122],
    [2.5, 0.05305],
  ] as const) {
    it(`of SFS at Qf ${qf} lies at 4 Qf/(π 60) = ${printed} per Hz: 5 % below holds, 5 % above runs away`, () => {
      const critical = (4 * qf) / (Math.PI * 60);
      expect(critical).toBeCloseTo(printed, 5);
      const with_ = (share: number) => away({ detection: 'SFS', cf0: 0, sfsGain: share * critical }, qf, 60.01);
      expect(with_(0.95)).toBeLessThan(0.25);
      expect(with_(1.05)).toBeGreaterThan(0.8);
    });
  }

  for (const [qf, printed] of [
    [1, 1.2159],
    [2.5, 3.0396],
  ] as const) {
    it(`of SMS at Qf ${qf} lies at 12 Qf/π² = ${printed} degrees per Hz: 5 % below holds, 5 % above leaves`, () => {
      const critical = (12 * qf) / Math.PI ** 2;
      expect(critical).toBeCloseTo(printed, 4);
      const with_ = (share: number) => away({ detection: 'SMS', smsAngle: 3 * share * critical }, qf, 60.01);
      expect(with_(0.95)).toBeLessThan(0.35);
      expect(with_(1.05)).toBeGreaterThan(0.8);
    });
  }

  it('of SVS on a constant-power base is 2: at 1.8 a mismatch of 0.4 % holds, at 2.2 it runs away', () => {
    const volts = (svsGain: number): number => {
      const made = island({ ...NO_TRIPS, detection: 'SVS', svsGain }, { qf: 1, power_W: 5020 }, 5);
      return Math.abs(made.volts_V / 240 - 1);
    };
    expect(volts(1.8)).toBeLessThan(0.025);
    expect(volts(2.2)).toBeGreaterThan(0.1);
  });
});
