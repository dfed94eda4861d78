import type { RunResult } from '../../../harness/run/result.ts';
import { runScenario } from '../../../harness/run/run-scenario.ts';
import type { Scenario } from '../../../harness/scenario/model.ts';
import { writeScenario } from '../../../harness/scenario/reader/write-scenario.ts';
import type { Controller } from '../../../sim/gateway/boundary.ts';
import { createReferenceController } from '../../../sim/gateway/reference-controller.ts';
import type { SiteDescription } from '../../../sim/site-description.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import { TABLES } from '../../helpers/sites.ts';

/** A rule that was broken, and whom that is held against. */
export interface Broken {
  readonly rule: string;
  readonly against: Origin;
  readonly times: number;
}

/** Plays a scenario of the law; a tag says that ties are shuffled. */
export function playCase(
  scenario: Scenario,
  controllerOf: (site: SiteDescription) => Controller = createReferenceController,
): RunResult {
  return runScenario(scenario, {
    file: 'counterexample.yaml',
    controllerName: 'reference',
    controller: controllerOf(scenario.site),
    shuffleTies: scenario.tags.includes('shuffled-ties'),
  });
}

export function brokenIn({ verdicts }: RunResult, rules: readonly string[]): Broken[] {
  return verdicts
    .filter(({ rule }) => rules.includes(rule))
    .flatMap(({ rule, violations }) =>
      Object.entries(violations).flatMap(([against, times]) =>
        times === 0 ? [] : [{ rule, against: against as Origin, times }],
      ),
    );
}

/** The scenario file of a counterexample, with what it breaks on top. */
export function fileOf(scenario: Scenario, result: RunResult, broken: readonly Broken[]): string {
  const said = broken.map(({ rule, against, times }) => `# breaks ${rule}, ${times} times, against: ${against}`);
  return [...said, `# digest ${result.digests.run}`, writeScenario(scenario, TABLES)].join('\n');
}
