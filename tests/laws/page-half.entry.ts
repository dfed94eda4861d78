import { generateScenario } from '../../harness/campaign/generate.ts';
import { LIMITS } from '../../harness/limits/index.ts';
import { runScenario } from '../../harness/run/run-scenario.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';

// What a page runs, with texts at its border: a scenario goes in as JSON, what came of it goes out as JSON.

export function play(scenarioJson: string): string {
  const scenario = JSON.parse(scenarioJson) as Scenario;
  const { digests, verdicts, statements, counts } = runScenario(scenario, {
    file: 'page',
    controllerName: 'reference',
    controller: createReferenceController(scenario.site),
  });
  return JSON.stringify({ digests, verdicts, statements, counts });
}

export function generate(siteJson: string, seed: number, count: number): string {
  return JSON.stringify(generateScenario(JSON.parse(siteJson), seed, count));
}

export const limits = (): string => JSON.stringify(LIMITS);
