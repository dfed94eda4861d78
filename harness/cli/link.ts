import { createHash } from 'node:crypto';
import { config } from 'rxjs';
import { assert } from '../../sim/check.ts';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';
import { GATEWAY_KIND, SITE_SETTINGS } from '../../sim/gateway/spec.ts';
import { SABOTEURS } from '../campaign/saboteurs/index.ts';
import { LIMIT_SOURCES, LIMITS, type Limit } from '../limits/index.ts';
import type { LimitWords, RuleBook } from '../report/report.ts';
import { RULES } from '../rules/index.ts';
import { runScenario } from '../run/run-scenario.ts';
import { readScenarioFile } from '../scenario/reader/read-file.ts';
import type { Runner } from './one-run.ts';
import type { Parts } from './run.ts';

// The one place where the command line meets the runner, the reader, the rules and the limits.

const book: RuleBook = { rules: RULES, describeLimit };

function describeLimit(key: string): LimitWords | undefined {
  const found = (LIMITS as Readonly<Record<string, Limit>>)[key];
  if (found === undefined) return undefined;
  const { document, edition, clause, source } = found;
  if (document === 'none') return { clause: LIMIT_SOURCES[source] };
  return {
    clause: [`${document}${edition === '' ? '' : `:${edition}`}`, clause].filter((part) => part !== '').join(', '),
  };
}

export async function assemble(packageRoot: string, version: string): Promise<Parts> {
  const tables = { kinds: KINDS, gateway: GATEWAY_KIND, settings: SITE_SETTINGS, rules: RULES.map(({ id }) => id) };
  return {
    version,
    packageRoot,
    book,
    saboteurs: SABOTEURS.map(({ id }) => id),
    threadFile: new URL('./run-thread.js', import.meta.url),
    readScenarioFile: (path, label) => readScenarioFile(path, label, tables),
  };
}

export const runner: Runner = {
  referenceController: ({ site }) => createReferenceController(site),
  saboteur(id, { site }) {
    const saboteur = SABOTEURS.find((each) => each.id === id);
    assert(saboteur !== undefined, `no saboteur ${id}; was the option checked?`);
    return saboteur.make(site);
  },
  async runScenario(scenario, options) {
    const untaken: unknown[] = [];
    config.onUnhandledError = (cause) => void untaken.push(cause);
    const result = runScenario(scenario, { ...options, sha256: () => createHash('sha256') });
    // An error in a rule goes to nobody, and rxjs tells of it in a timer: it must be heard before there is a verdict.
    await new Promise((later) => setTimeout(later, 1));
    if (untaken.length > 0) throw untaken[0];
    return result;
  },
};
