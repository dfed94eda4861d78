import { describe, expect, it } from 'vitest';
import { generateScenario } from '../../harness/campaign/generate.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import type { Bag, Plain } from '../../sim/site-description.ts';
import type { SimUs } from '../../sim/units.ts';
import { play, scenarioFile, siteOf } from '../helpers/sites.ts';

const NOISE: Bag = { noiseVoltage: 0.2, noiseAngle: 0.1, noiseFrequency: 0.01, noiseCurrent: 0.05, noisePower: 5 };

/** The same scenario with other sensors, its first 66 s: noise makes every sample count. */
function sensed(scenario: Scenario, settings: Bag): Scenario {
  const site = { ...scenario.site, settings: { ...scenario.site.settings, ...settings } };
  return { ...scenario, site, end_us: Math.min(scenario.end_us, 66e6) as SimUs };
}

function judged(scenario: Scenario, restless: boolean) {
  const { digests, verdicts, statements, counts } = play(scenario, { restless });
  return { seen: { run: digests.run, verdicts, statements }, scans: counts.scans };
}

/** Both ways of looking give the same; says how many scans each took. */
function expectTheSame(scenario: Scenario) {
  const rested = judged(scenario, false);
  const forced = judged(scenario, true);
  expect(forced.seen).toEqual(rested.seen);
  return { rested: rested.scans, forced: forced.scans };
}

const FILES = [
  'scenarios/outage/evening.yaml',
  'scenarios/hand/opposing-drifts.yaml',
  'scenarios/hand/pv-left-on.yaml',
];

describe('a quiet stretch', () => {
  it.each(FILES)('%s, samples of 35 ms, 12 ms late: forced steps and scans change no bit', (file) => {
    const scans = expectTheSame(sensed(scenarioFile(file), { sensorSampling: 35_000, sensorLatency: 12_000 }));
    expect(scans.forced).toBeGreaterThan(scans.rested);
  });

  it.each(FILES)('%s, samples of 70 ms with noise: the same', (file) => {
    const scans = expectTheSame(sensed(scenarioFile(file), { sensorSampling: 70_000, ...NOISE }));
    // One scan a sample, not one each grid instant.
    expect(scans.forced).toBeGreaterThan(3 * scans.rested);
  });

  it('noise at every scan, 25 ms late: the same', () => {
    expectTheSame(sensed(scenarioFile(FILES[0]!), { sensorLatency: 25_000, ...NOISE }));
  });

  it.each([11, 12])('generated scenario %i, samples of 1 s, 150 ms late: the same', (seed) => {
    const scenario = generateScenario(siteOf('juniper-lane'), seed, 6);
    expectTheSame(sensed(scenario, { sensorSampling: 1_000_000, sensorLatency: 150_000 }));
  });

  it('sensors that break one after the other, noise and samples of 30 ms: the same', () => {
    const faults: readonly (readonly [string, Readonly<Record<string, Plain>>])[] = [
      ['swap legs', { side: 'utility' }],
      ['reverse current transformer', { input: 'serviceL2' }],
      ['step clock', { by: -2_500_000 }],
      ['stick input', { input: 'pvPower' }],
      ['offset input', { input: 'backupL1', by: 7_500 }],
      ['freeze input', { input: 'utilityL12' }],
      ['scale input', { input: 'utilityL1', factor: 0.4 }],
      ['swap current transformers', { pair: 'service' }],
      ['mend sensors', {}],
    ];
    const base = scenarioFile(FILES[0]!);
    const happenings = faults.map(([does, using], i) => ({
      id: `f${i}`,
      when: { at_us: (3e6 + i * 4_003_007) as SimUs },
      piece: 'gateway',
      does,
      using,
    }));
    const scenario = { ...base, happenings: [...base.happenings, ...happenings] };
    expectTheSame(sensed(scenario, { sensorSampling: 30_000, ...NOISE }));
  });
});
