import fc from 'fast-check';
import type { RunResult } from '../../../harness/run/result.ts';
import { checkSite } from '../../../harness/scenario/site-check.ts';
import { KINDS } from '../../../sim/equipment/catalogue.ts';
import type { Controller } from '../../../sim/gateway/boundary.ts';
import type { SiteDescription } from '../../../sim/site-description.ts';
import { type Case, scenarioOf } from './cases.ts';
import { type Broken, brokenIn, fileOf, playCase } from './counterexample.ts';

export const RULES_OF_THE_LAW = ['no-backfeed', 'dead-bus-form', 'sync-close'] as const;

export interface Law {
  readonly cases: fc.Arbitrary<Case>;
  readonly runs: number;
  /** Whether the law says that this must not come. */
  readonly forbids: (broken: Broken) => boolean;
  readonly controllerOf?: (site: SiteDescription) => Controller;
}

/** In how many of the runs each rule had something to judge. */
export type Armed = Record<string, number>;

/** Shrinking ends after so many runs, so that the file is printed before the patience of the runner ends. */
const SHRINKS_max = 150;

/** The shrunk counterexample as a scenario file; undefined where every run kept the law. */
export function counterexampleOf(law: Law): { readonly file: string | undefined; readonly armed: Armed } {
  const armed: Armed = {};
  let shrinks = -1;
  const property = fc.property(law.cases, (one) => {
    if (shrinks >= 0) shrinks += 1;
    if (shrinks > SHRINKS_max) return true;
    const { result, wrong } = judge(law, one);
    for (const { rule, armed: times } of result.verdicts) if (times > 0) armed[rule] = (armed[rule] ?? 0) + 1;
    const kept = wrong.length === 0 && result.controllerFault === undefined;
    if (!kept && shrinks < 0) shrinks = 0;
    return kept;
  });
  const { failed, counterexample } = fc.check(property, { numRuns: law.runs });
  if (!failed || counterexample === null) return { file: undefined, armed };
  const one = counterexample[0];
  // Where it was the bench that threw, it throws here again.
  const { result, wrong } = judge(law, one);
  return { file: fileOf(scenarioOf(one), result, wrong), armed };
}

function judge(
  { forbids, controllerOf }: Law,
  one: Case,
): { readonly result: RunResult; readonly wrong: readonly Broken[] } {
  const scenario = scenarioOf(one);
  const refused = checkSite(scenario.site, KINDS);
  if (refused.length > 0) throw new Error(`the law made a site that is refused: ${JSON.stringify(refused)}`);
  const result = playCase(scenario, controllerOf);
  return { result, wrong: brokenIn(result, RULES_OF_THE_LAW).filter(forbids) };
}
