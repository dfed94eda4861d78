import { describe, expect, it } from 'vitest';
import { SABOTEURS } from '../../harness/campaign/saboteurs/index.ts';
import { RULES } from '../../harness/rules/index.ts';
import { PROOFS } from '../../harness/rules/proofs.ts';
import { judgeExpectations } from '../../harness/run/expectation.ts';
import type { RunResult } from '../../harness/run/result.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { variantsOf } from '../../harness/scenario/variants.ts';
import { CATALOGUE } from '../../sim/equipment/catalogue.ts';
import { play, scenarioFile } from '../helpers/sites.ts';

// A rule that no scenario brings near its limit may have the limit wrong, and one that never fails alone says nothing of its own.

const SCAN_us = 10_000;
/** About one per cent. */
const SHARE = 0.011;

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

/** A time by a scan, anything by about one per cent; yes or no only where nothing finer is to be had. */
function isSmall({ path, values: [a, b] }: Difference, scenario: Scenario, because: string | undefined): boolean {
  if (typeof a === 'boolean' && typeof b === 'boolean') return because !== undefined;
  if (typeof a !== 'number' || typeof b !== 'number') return false;
  const size = Math.abs(a - b);
  return size <= SHARE * Math.max(Math.abs(a), Math.abs(b)) || (isTime(path, scenario) && size <= SCAN_us);
}

function isTime(path: string, { site }: Scenario): boolean {
  const [, piece, param] = /^\/site\/pieces\/(\d+)\/params\/(\w+)$/.exec(path) ?? [];
  const spec = CATALOGUE.find(({ spec: { kind } }) => kind === site.pieces[Number(piece)]?.kind)?.spec;
  return path.endsWith('_us') || spec?.params.find(({ name }) => name === param)?.unit === 'µs';
}

const entries = Object.entries(PROOFS).map(([rule, proof]) => ({ rule, ...proof }));
const insides = entries.flatMap(({ rule, inside, because }) => (inside ? [{ rule, inside, because }] : []));
const beyonds = entries.flatMap(({ rule, beyond }) => (beyond ? [{ rule, beyond }] : []));
const pairs = entries.flatMap(({ inside, beyond, because }) => (inside && beyond ? [{ inside, beyond, because }] : []));
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

  it.each(pairs)('$inside and $beyond differ in one value, by a scan or about one per cent', (pair) => {
    const inside = scenarioOf(pair.inside);
    const found = differences(inside, scenarioOf(pair.beyond));
    expect(found.map((difference) => [difference, isSmall(difference, inside, pair.because)])).toEqual([
      [expect.anything(), true],
    ]);
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
