import { afterAll, describe, expect, it } from 'vitest';
import { SABOTEURS } from '../../harness/campaign/saboteurs/index.ts';
import { RULES } from '../../harness/rules/index.ts';
import { judgeExpectations } from '../../harness/run/expectation.ts';
import type { RunResult } from '../../harness/run/result.ts';
import { play, scenarioFile } from '../helpers/sites.ts';

// A bench that lets a bad controller pass is worth nothing: each of these must be caught, by name and as the controller's own fault.

const references = new Map<string, RunResult>();
afterAll(() => references.clear());

/** The reference controller in a scenario, played once. */
function reference(scenario: string): RunResult {
  const known = references.get(scenario) ?? play(scenarioFile(fileOf(scenario)));
  references.set(scenario, known);
  return known;
}

const fileOf = (scenario: string): string => `scenarios/${scenario}.yaml`;

/** How often the rule was broken by the controller. */
function violations({ verdicts }: RunResult, rule: string): number | undefined {
  return verdicts.find((verdict) => verdict.rule === rule)?.violations.controller;
}

const places = SABOTEURS.flatMap(({ id, caughtBy }) =>
  caughtBy.flatMap(({ rule, scenarios }) => scenarios.map((scenario) => ({ id, rule, scenario }))),
);

describe('SABOTEURS', () => {
  it('are fourteen, each with a name of its own, one line and a rule that there is', () => {
    expect(new Set(SABOTEURS.map(({ id }) => id)).size).toBe(14);
    const rules = RULES.map(({ id }) => id);
    for (const { id, wrong, caughtBy } of SABOTEURS) {
      expect([id, /^[a-z].*[^.]$/.test(wrong) && !wrong.includes('\n')]).toEqual([id, true]);
      expect([id, caughtBy.map(({ rule }) => rules.includes(rule))]).toEqual([id, caughtBy.map(() => true)]);
    }
    for (const { id } of SABOTEURS) expect(places.map((place) => place.id)).toContain(id);
  });

  it.each(places)('$id is caught by $rule in $scenario, where the reference controller does well', (place) => {
    const { id, rule, scenario } = place;
    const sound = reference(scenario);
    expect(judgeExpectations(sound).findings).toEqual([]);
    expect(violations(sound, rule)).toBe(0);

    const saboteur = SABOTEURS.find((each) => each.id === id)!;
    const read = scenarioFile(fileOf(scenario));
    const caught = play(read, { controllerName: `saboteur:${id}`, controller: saboteur.make(read.site) });
    expect(violations(caught, rule)).toBeGreaterThan(0);
    // Whoever only looks at the exit code learns of it too.
    expect(judgeExpectations(caught).status).toBe('unlike expected');
  });
});
