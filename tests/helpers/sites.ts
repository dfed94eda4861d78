import { readFileSync } from 'node:fs';
import { RULES } from '../../harness/rules/index.ts';
import type { RunResult } from '../../harness/run/result.ts';
import { type RunScenarioOptions, runScenario } from '../../harness/run/run-scenario.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { readScenarioFile } from '../../harness/scenario/reader/read-file.ts';
import { readScenarioText, type ScenarioTables } from '../../harness/scenario/reader/read-scenario.ts';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';
import { GATEWAY_KIND, SITE_SETTINGS } from '../../sim/gateway/spec.ts';
import type { SiteDescription } from '../../sim/site-description.ts';

// Scenarios and sites of the built-in suite, read as the command line reads them. Paths are from the project's root.

export const TABLES = {
  kinds: KINDS,
  gateway: GATEWAY_KIND,
  settings: SITE_SETTINGS,
  rules: RULES.map(({ id }) => id),
};

/** The tables, with the built-in sites by their file's name. */
export const withSites = (tables: typeof TABLES): ScenarioTables => ({
  ...tables,
  loadSite: (site) => readFileSync(`scenarios/sites/${site.split('/').at(-1)}`),
});

/** A built-in site by its name. */
export function siteOf(name: string): SiteDescription {
  return scenarioText(`scenario: bare\ntitle: Nothing happens\nsite: ${name}.yaml\nend: 1 s\n`).site;
}

/** A scenario from its text; sites are looked up among the built-in ones. */
export function scenarioText(text: string): Scenario {
  const read = readScenarioText(new TextEncoder().encode(text), 'test.yaml', withSites(TABLES));
  if ('problems' in read) throw new Error(read.problems.map((problem) => JSON.stringify(problem)).join('\n'));
  return read.scenario;
}

export function scenarioFile(path: string): Scenario {
  const read = readScenarioFile(path, path, TABLES);
  if ('problems' in read) throw new Error(read.problems.join('\n'));
  return read.scenario;
}

/** Plays a scenario against the reference controller. */
export function play(scenario: Scenario, options: Partial<RunScenarioOptions> = {}): RunResult {
  return runScenario(scenario, {
    file: 'test.yaml',
    controllerName: 'reference',
    controller: createReferenceController(scenario.site),
    ...options,
  });
}
