import type { Id } from '../../sim/site-description.ts';
import { timeText } from '../../sim/units.ts';
import type { Margin, Verdict } from '../rules/rule.ts';
import type { RunResult } from './result.ts';

export type FindingKind =
  | 'unexpected violation'
  | 'expected violation missing'
  | 'required rule not exercised'
  | 'statement broken'
  | 'controller fault'
  | 'happening never came'
  | 'cut short';

/** One respect in which a run was not what its file says. */
export interface Finding {
  readonly kind: FindingKind;
  readonly rule?: Id;
  readonly text: string;
}

export interface Judgement {
  readonly status: 'as expected' | 'unlike expected' | 'not exercised';
  readonly findings: readonly Finding[];
  /** Smallest margin of all rules that were judged; of equal ones the first in the order of the rules. */
  readonly tightest?: { readonly rule: Id; readonly margin: Margin };
  readonly exit: 0 | 1 | 5;
}

/**
 * Holds a run against what its file expects. Every rule is judged in every scenario, so a rule that the file does not name must
 * not be violated either.
 *
 * A violation that is not expected, an expected one that does not come, a broken statement or a fault of the controller: 1. A
 * rule that the file wants passed but that was not exercised, a happening that never came, or a run cut short: 5. A violation found before the cut stays one.
 */
export function judgeExpectations(result: RunResult): Judgement {
  const findings = [
    ...faultOfController(result),
    ...unexpectedViolations(result),
    ...missingViolations(result),
    ...unexercised(result),
    ...brokenStatements(result),
    ...missedHappenings(result),
    ...cut(result),
  ];
  const unlike = findings.some(({ kind }) => !SHOWS_TOO_LITTLE.includes(kind));
  const tightest = tightestOf(result.verdicts);
  return {
    status: unlike ? 'unlike expected' : findings.length > 0 ? 'not exercised' : 'as expected',
    findings,
    ...(tightest === undefined ? {} : { tightest }),
    exit: unlike ? 1 : findings.length > 0 ? 5 : 0,
  };
}

/** What makes a run say less than its file wants, and nothing wrong. */
const SHOWS_TOO_LITTLE: readonly FindingKind[] = ['required rule not exercised', 'happening never came', 'cut short'];

function tightestOf(verdicts: readonly Verdict[]): { rule: Id; margin: Margin } | undefined {
  let tightest: { rule: Id; margin: Margin } | undefined;
  for (const { rule, outcome } of verdicts) {
    if (outcome.is === 'not exercised') continue;
    if (tightest === undefined || outcome.worst.value < tightest.margin.value)
      tightest = { rule, margin: outcome.worst };
  }
  return tightest;
}

function faultOfController({ controllerFault: fault }: RunResult): Finding[] {
  if (fault === undefined) return [];
  return [
    {
      kind: 'controller fault',
      text: `the controller ${doing[fault.kind]} at ${timeText(fault.at_us)}: ${fault.message}`,
    },
  ];
}

const doing = { throws: 'throws', nonsense: 'answers nonsense', 'never returns': 'never returns' } as const;

function unexpectedViolations({ scenario, verdicts }: RunResult): Finding[] {
  const expected = new Set(scenario.expect.fail.map(({ rule }) => rule));
  return verdicts.flatMap(({ rule, outcome }): Finding[] =>
    outcome.is === 'fail' && !expected.has(rule)
      ? [
          {
            kind: 'unexpected violation',
            rule,
            text: `${rule} is violated, against ${outcome.against}; the file does not expect it`,
          },
        ]
      : [],
  );
}

/** Also where the rule could not be judged: nothing that did not come may count as having come. */
function missingViolations({ scenario, verdicts }: RunResult): Finding[] {
  return scenario.expect.fail.flatMap(({ rule, because }): Finding[] => {
    const outcome = verdicts.find((verdict) => verdict.rule === rule)?.outcome;
    if (outcome?.is === 'fail') return [];
    const instead =
      outcome === undefined
        ? 'no such rule was judged'
        : outcome.is === 'pass'
          ? 'it passes'
          : `not exercised (${outcome.why})`;
    return [
      { kind: 'expected violation missing', rule, text: `${rule} should be violated, because ${because}; ${instead}` },
    ];
  });
}

function unexercised({ scenario, verdicts }: RunResult): Finding[] {
  return scenario.expect.pass.flatMap((rule): Finding[] => {
    const outcome = verdicts.find((verdict) => verdict.rule === rule)?.outcome;
    if (outcome !== undefined && outcome.is !== 'not exercised') return []; // A violation is reported as such.
    const why = outcome === undefined ? 'no such rule was judged' : outcome.why;
    return [{ kind: 'required rule not exercised', rule, text: `${rule} should pass, but was not exercised: ${why}` }];
  });
}

/** In a run that was cut short, a statement without an instant of breaking may still have come true: the cut is reported instead. */
function brokenStatements({ statements, complete }: RunResult): Finding[] {
  return statements
    .filter(({ holds, at_us }) => !holds && (complete || at_us !== undefined))
    .map(({ text, at_us, detail }) => ({
      kind: 'statement broken',
      text: `${text}: broken${at_us === undefined ? '' : ` at ${timeText(at_us)}`}${detail === '' ? '' : `; ${detail}`}`,
    }));
}

/** A run in which the outage never came shows nothing of an outage. */
function missedHappenings({ neverCame, complete }: RunResult): Finding[] {
  if (!complete) return [];
  return neverCame.map((id) => ({
    kind: 'happening never came',
    text: `${id} did not take place: what it waits for never came true`,
  }));
}

function cut({ complete, cutShort, simulated_us, scenario }: RunResult): Finding[] {
  if (complete && cutShort === undefined) return [];
  const text = `the run ended at ${timeText(simulated_us)} of ${timeText(scenario.end_us)}: ${cutShort ?? 'no reason was given'}`;
  return [{ kind: 'cut short', text }];
}
