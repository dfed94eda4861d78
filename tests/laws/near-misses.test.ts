import { describe, expect, it } from 'vitest';
import { SABOTEURS } from '../../harness/campaign/saboteurs/index.ts';
import { RULES } from '../../harness/rules/index.ts';
import { PROOFS } from '../../harness/rules/proofs.ts';
import { judgeExpectations } from '../../harness/run/expectation.ts';
import type { RunResult } from '../../harness/run/result.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { variantsOf } from '../../harness/scenario/variants.ts';
import { play, scenarioFile } from '../helpers/sites.ts';

// A rule that no scenario brings near its limit may have the limit wrong, and one that never fails alone says nothing of its own.

const SCAN_us = 10_000;
/** About one per cent. */
const SHARE = 0.0105;

/** The first of its variants, where it has several. */
const scenarioOf = (name: string): Scenario => variantsOf(scenarioFile(`scenarios/${name}.yaml`))[0]!.scenario;

const verdictOf = ({ verdicts }: RunResult, rule: string): RunResult['verdicts'][number] =>
  verdicts.find((verdict) => verdict.rule === rule)!;

const failing = ({ verdicts }: RunResult): string[] =>
  verdicts.filter(({ outcome }) => outcome.is === 'fail').map(({ rule }) => rule);

const against = ({ verdicts }: RunResult): string[] =>
  verdicts.filter(({ violations }) => violations.controller > 0).map(({ rule }) => rule);

/** Every single value of a scenario by its path, without its names and what it expects. */
function valuesOf(scenario: Scenario): Map<string, unknown> {
  const { id: _id, title: _title, tags: _tags, expect: _expect, ...plays } = scenario;
  const values = new Map<string, unknown>();
  const visit = (path: string, value: unknown): void => {
    if (typeof value !== 'object' || value === null) values.set(path, value);
    else for (const [key, each] of Object.entries(value)) visit(`${path}/${key}`, each);
  };
  visit('', plays);
  return values;
}

interface Difference {
  readonly path: string;
  readonly values: readonly [unknown, unknown];
}

function differences(a: Scenario, b: Scenario): Difference[] {
  const [of, other] = [valuesOf(a), valuesOf(b)];
  return [...new Set([...of.keys(), ...other.keys()])]
    .filter((path) => !Object.is(of.get(path), other.get(path)))
    .map((path) => ({ path, values: [of.get(path), other.get(path)] }));
}

/** By a scan, where it is the instant of a happening; else by about one per cent. */
function isSmall({ path, values: [a, b] }: Difference): boolean {
  if (typeof a !== 'number' || typeof b !== 'number') return false;
  const size = Math.abs(a - b);
  return /\/(at|delay)_us$/.test(path) ? size <= SCAN_us : size <= SHARE * Math.max(Math.abs(a), Math.abs(b));
}

const entries = Object.entries(PROOFS).map(([rule, proof]) => ({ rule, ...proof }));
const insides = entries.flatMap(({ rule, inside, because }) => (inside ? [{ rule, inside, because }] : []));
const beyonds = entries.flatMap(({ rule, beyond }) => (beyond ? [{ rule, beyond }] : []));
const pairs = entries.flatMap(({ rule, inside, beyond }) => (inside && beyond ? [{ rule, inside, beyond }] : []));
const alones = entries.flatMap(({ rule, alone }) => (alone ? [{ rule, ...alone }] : []));

describe('PROOFS', () => {
  it('has an entry for each rule, in their order', () => {
    expect(Object.keys(PROOFS)).toEqual(RULES.map(({ id }) => id));
  });

  it('names inside and beyond together, and gives reasons as sentences', () => {
    for (const { rule, inside, beyond, because } of entries) {
      expect([rule, inside === undefined]).toEqual([rule, beyond === undefined]);
      expect([rule, because === undefined || /^[a-z].*[^.]$/.test(because)]).toEqual([rule, true]);
    }
  });

  it.each(insides)('$inside passes $rule by less than 5 % of its scale', ({ rule, inside, because }) => {
    const result = play(scenarioOf(inside));
    expect(judgeExpectations(result).findings).toEqual([]);
    const { outcome } = verdictOf(result, rule);
    expect(outcome.is).toBe('pass');
    if (outcome.is !== 'pass') return;
    expect(outcome.worst.value).toBeGreaterThanOrEqual(0);
    // Where a reason is given, the margin of what was measured cannot be that small: then it must indeed not be.
    expect(outcome.worst.value < 0.05).toBe(because === undefined);
  });

  it.each(beyonds)('$beyond fails $rule', ({ rule, beyond }) => {
    const result = play(scenarioOf(beyond));
    expect(judgeExpectations(result).findings).toEqual([]);
    expect(failing(result)).toContain(rule);
  });

  it.each(pairs)('$inside and $beyond differ in one value, by a scan or about one per cent', ({ inside, beyond }) => {
    const found = differences(scenarioOf(inside), scenarioOf(beyond));
    expect(found.map((difference) => [difference, isSmall(difference)])).toEqual([[expect.anything(), true]]);
  });

  it.each(alones)('$rule alone fails in $scenario', ({ rule, scenario, saboteur: id }) => {
    const read = scenarioOf(scenario);
    const sound = play(read);
    if (id === undefined) {
      expect(judgeExpectations(sound).findings).toEqual([]);
      expect(failing(sound)).toEqual([rule]);
      return;
    }
    expect(against(sound)).toEqual([]);
    const saboteur = SABOTEURS.find((each) => each.id === id)!;
    const caught = play(read, { controllerName: `saboteur:${id}`, controller: saboteur.make(read.site) });
    expect(against(caught)).toEqual([rule]);
  });
});
