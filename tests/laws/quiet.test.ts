import { describe, expect, it } from 'vitest';
import { generateScenario } from '../../harness/campaign/generate.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { builtinFiles } from '../helpers/builtin.ts';
import { play, scenarioFile, siteOf } from '../helpers/sites.ts';

/** What must not depend on how often we look: digest, verdicts with margins, statements. */
function judged(scenario: Scenario, restless: boolean) {
  const { digests, verdicts, statements, counts } = play(scenario, { restless });
  return { seen: { run: digests.run, verdicts, statements }, counts };
}

/** Forced steps cost what the quiet saves: of every fourth scenario the first minute, of some the way back as well. */
const WHOLE = ['outage/evening', 'outage/return-at-noon'];
const isWhole = (file: string): boolean => WHOLE.some((name) => file === `scenarios/${name}.yaml`);
const cut = (scenario: Scenario, most_s: number): Scenario => ({
  ...scenario,
  end_us: Math.min(scenario.end_us, most_s * 1e6) as Scenario['end_us'],
});

describe('a quiet stretch', () => {
  const files = builtinFiles().filter((file, i) => i % 4 === 0 || isWhole(file));
  it.each(files)('%s: steps and scans forced at every instant change no bit', (file) => {
    const scenario = cut(scenarioFile(file), isWhole(file) ? 420 : 60);
    const rested = judged(scenario, false);
    const forced = judged(scenario, true);
    expect(forced.seen).toEqual(rested.seen);
    expect(forced.counts.scans).toBeGreaterThan(rested.counts.scans);
  });

  it.each([1, 2, 3, 4, 5, 6])('generated scenario %i: the same', (seed) => {
    const scenario = cut(generateScenario(siteOf('juniper-lane'), seed, 6), 420);
    expect(judged(scenario, true).seen).toEqual(judged(scenario, false).seen);
  });
});
