import type { Entry, Report, RuleBook } from '../../../harness/report/report.ts';
import type { Counts, Grade, Outcome, Verdict } from '../../../harness/rules/rule.ts';
import type { RunResult } from '../../../harness/run/result.ts';
import type { Expectations, Scenario } from '../../../harness/scenario/model.ts';
import type { HappeningRecord, Origin } from '../../../sim/telemetry.ts';
import type { SimUs } from '../../../sim/units.ts';

// Results made by hand, for what is said about them: no number here came out of a simulation.

export const none: Counts = { controller: 0, person: 0, equipment: 0, utility: 0, site: 0 };
export const at = (time_us: number): SimUs => time_us as SimUs;

export function scenario(id: string, expect: Partial<Expectations> = {}, title = ''): Scenario {
  return {
    schema: 1,
    id,
    title,
    tags: [],
    seed: 1,
    site: { schema: 1, id: 'house', buses: [], pieces: [], settings: {} },
    start: {},
    end_us: at(12_500_000),
    happenings: [],
    waveforms: 'none',
    expect: { pass: [], fail: [], statements: [], ...expect },
  };
}

const margin = (value: number, found: number, limit: number) => ({
  value,
  at_us: 5_016_667,
  found,
  limit,
  scale: limit,
  unit: 'V' as const,
  about: 'leg L2 at bus house, one-cycle rms',
});

const verdict = (rule: string, outcome: Outcome, grade: Grade = 'confirmed', violations: Counts = none): Verdict => ({
  rule,
  armed: outcome.is === 'not exercised' && outcome.why === 'never armed' ? 0 : 1,
  outcome,
  grade,
  violations,
});

export const passes = (rule: string, value: number, grade: Grade = 'confirmed'): Verdict =>
  verdict(rule, { is: 'pass', worst: margin(value, 118.5, 132) }, grade);
export const fails = (rule: string, value: number, against: Origin, grade: Grade = 'confirmed'): Verdict =>
  verdict(rule, { is: 'fail', worst: margin(value, 160, 132), against }, grade, { ...none, [against]: 2 });
export const idle = (rule: string, why: 'never armed' | 'cut short' | 'unresolved' = 'never armed'): Verdict =>
  verdict(rule, { is: 'not exercised', why });

export const happenings: readonly HappeningRecord[] = [
  { kind: 'happening', at_us: at(0), number: 1, piece: 'gateway', did: 'boots', origin: 'site', cause: undefined },
  {
    kind: 'happening',
    at_us: at(5_000_000),
    number: 2,
    piece: 'main',
    did: 'open',
    origin: 'person',
    cause: undefined,
  },
  { kind: 'happening', at_us: at(5_012_000), number: 3, piece: 'main', did: 'parts L1', origin: 'person', cause: 2 },
  {
    kind: 'happening',
    at_us: at(9_000_000),
    number: 4,
    piece: 'pv',
    did: 'ceases',
    origin: 'equipment',
    cause: undefined,
  },
];

export function result(of: Scenario, verdicts: readonly Verdict[], more: Partial<RunResult> = {}): RunResult {
  return {
    scenario: of,
    file: `scenarios/hand/${of.id}.yaml`,
    controller: 'reference',
    verdicts,
    statements: [],
    happenings,
    neverCame: [],
    siteNotes: [],
    simulated_us: 12_500_000,
    complete: true,
    digests: { scenario: 'a'.repeat(64), controller: 'b'.repeat(64), run: `0123456789abcdef${'0'.repeat(48)}` },
    counts: { solves: 180, scans: 120, frames: 210 },
    ...more,
  };
}

export const interlockNote = {
  code: 'NOTE-INTERLOCK',
  pieces: ['vehicle'],
  text: 'interlock: none; only the gateway keeps it from forming on a closed relay',
} as const;
export const siteNote = { code: 'NOTE-UNSAID', pieces: [], text: 'busbar not said, and not judged' } as const;

export const book: RuleBook = {
  rules: [
    {
      id: 'no-backfeed',
      about: 'Nothing of the house energises the utility when it is dead.',
      limit: 'dead',
      scale: '50 V',
    },
    { id: 'leg-voltage', about: 'Each leg stays inside its band.', limit: 'leg-band', scale: 'the limit' },
    {
      id: 'reference-order',
      about: 'The last reference is not taken from a running inverter.',
      limit: 'nowhere',
      scale: '1',
    },
  ],
  describeLimit: (key) =>
    ({ dead: { clause: 'IEEE 1547-2018, clause 8.1.1' }, 'leg-band': { clause: 'ANSI C84.1-2020, table 1, range B' } })[
      key
    ],
};

export const expected = result(scenario('outage-neighbours', { pass: ['no-backfeed'] }), [
  passes('no-backfeed', 0.41),
  passes('leg-voltage', 0.1023, 'memory'),
  idle('reference-order'),
]);

export const violated = result(
  scenario('pv-left-on-at-a-disconnection-by-hand', { pass: ['leg-voltage'] }, 'PV left on, unequal legs'),
  [passes('no-backfeed', 1), fails('leg-voltage', -0.2121, 'person', 'weak'), idle('reference-order')],
);

/** A rule that kept its limit with a warning beside it, and one with a report. */
export const noted = result(scenario('warm-evening'), [
  {
    ...passes('leg-voltage', 0.05, 'weak'),
    limit: 'dead',
    notes: [{ is: 'warning', at_us: 61_000_000, text: 'leg L1 at 109 V', found: { mean_V: 109, limit_V: 110 } }],
  },
  {
    ...fails('reference-order', -10, 'person'),
    notes: [{ is: 'report', at_us: 5_000_000, text: 'pv ceased after 115 ms', found: { lasted_us: 115_000 } }],
  },
]);

export const unexercised = result(scenario('quiet-day', { pass: ['reference-order'] }), [
  passes('no-backfeed', 0.5),
  idle('leg-voltage', 'unresolved'),
  idle('reference-order'),
]);

export const judged = (of: RunResult, trace?: string): Entry => ({
  kind: 'judged',
  result: of,
  ...(trace === undefined ? {} : { trace }),
});

export function report(entries: readonly Entry[], more: Partial<Report> = {}): Report {
  return { version: '0.1.0', controller: 'reference', entries, selected: entries.length, interrupted: false, ...more };
}

export const threeRuns = report([
  judged(expected, 'traces/a.csv'),
  judged(violated, 'traces/b.csv'),
  judged(unexercised, 'traces/c.csv'),
]);
