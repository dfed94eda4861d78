import { type HappeningRecord, ORIGINS } from '../../sim/telemetry.ts';
import type { Margin, Verdict } from '../rules/rule.ts';
import type { RunResult } from '../run/result.ts';
import { clauseOf, happeningBefore, verdictOf } from './explain.ts';
import {
  againstOf,
  type Entry,
  exitOf,
  type Judged,
  judgedOf,
  type Report,
  type RuleBook,
  replayCommand,
  uncoveredOf,
} from './report.ts';

/** Grows by one when a reader of the older form would misread the newer one; added keys do not count. */
export const RESULTS_SCHEMA_VERSION = 1;

/**
 * The results as JSON, two blanks to a level, ending in a newline. Keys come in a fixed order; no wall clock and no path of the
 * machine goes in, so that two runs of the same files give the same bytes. Numbers are in the shortest form that reads back to the
 * same double; one that JSON has no form for is written as the string "Infinity", "-Infinity" or "NaN".
 */
export function renderJson(report: Report, book: RuleBook): string {
  const judged = judgedOf(report);
  const results = judged.map(({ result }) => result);
  const body = {
    schemaVersion: RESULTS_SCHEMA_VERSION,
    tool: { name: 'deadbus', version: report.version },
    controller: report.controller,
    exit: exitOf(report),
    interrupted: report.interrupted,
    selected: report.selected,
    violationsAgainst: againstOf(results),
    notExercisedAnywhere: uncoveredOf(results),
    scenarios: report.entries.map((entry) => entryOf(entry, book)),
  };
  return `${JSON.stringify(body, everyNumber, 2)}\n`;
}

const everyNumber = (_key: string, value: unknown): unknown =>
  typeof value === 'number' && !Number.isFinite(value) ? String(value) : value;

function entryOf(entry: Entry, book: RuleBook): unknown {
  if (entry.kind === 'refused') return { file: entry.file, status: 'refused', problems: entry.problems };
  if (entry.kind === 'crashed') return { file: entry.file, status: 'crashed', message: entry.message };
  const [judged] = judgedOf({ version: '', controller: '', entries: [entry], selected: 1, interrupted: false });
  return scenarioOf(judged!, book); // One judged entry in, one out.
}

function scenarioOf({ result, judgement, trace, variants }: Judged, book: RuleBook): unknown {
  const { scenario, digests, counts, controllerFault: fault } = result;
  const { tightest } = judgement;
  return {
    file: result.file,
    status: judgement.status,
    exit: judgement.exit,
    id: scenario.id,
    title: scenario.title,
    tags: scenario.tags,
    seed: scenario.seed,
    simulated_us: result.simulated_us,
    end_us: scenario.end_us,
    complete: result.complete,
    cutShort: result.cutShort,
    controllerFault: fault === undefined ? undefined : { kind: fault.kind, at_us: fault.at_us, message: fault.message },
    digests: { scenario: digests.scenario, controller: digests.controller, run: digests.run },
    counts: { solves: counts.solves, scans: counts.scans, frames: counts.frames },
    tightest: tightest === undefined ? undefined : { rule: tightest.rule, margin: tightest.margin.value },
    findings: judgement.findings.map(({ kind, rule, text }) => ({ kind, rule, text, before: beforeOf(result, rule) })),
    verdicts: result.verdicts.map((verdict) => verdictJson(verdict, result, book)),
    statements: result.statements.map(({ text, holds, at_us, detail }) => ({ text, holds, at_us, detail })),
    siteNotes: result.siteNotes.map(({ code, pieces, text }) => ({ code, pieces, text })),
    happenings: result.happenings.length,
    timeline: result.happenings.map(happeningJson),
    trace,
    replay: replayCommand(result),
    variant: result.variant,
    variants: variants.length === 0 ? undefined : variants,
  };
}

function verdictJson(verdict: Verdict, { scenario }: RunResult, book: RuleBook): unknown {
  const { rule, armed, outcome, grade, violations, notes } = verdict;
  const known = book.rules.find(({ id }) => id === rule);
  return {
    rule,
    is: outcome.is,
    expected: scenario.expect.fail.some((entry) => entry.rule === rule)
      ? 'fail'
      : scenario.expect.pass.includes(rule)
        ? 'pass'
        : undefined,
    why: outcome.is === 'not exercised' ? outcome.why : undefined,
    against: outcome.is === 'fail' ? outcome.against : undefined,
    armed,
    worst: outcome.is === 'not exercised' ? undefined : marginJson(outcome.worst),
    grade,
    clause: clauseOf(verdict, book),
    scale: known?.scale,
    violations: Object.fromEntries(ORIGINS.map((origin) => [origin, violations[origin]])),
    notes: notes?.map(({ is, at_us, text, found }) => ({ is, at_us, text, found })),
  };
}

const marginJson = ({ value, at_us, found, limit, scale, unit, about }: Margin): unknown => ({
  value,
  at_us,
  found,
  limit,
  scale,
  unit,
  about,
});

function beforeOf(result: RunResult, rule: string | undefined): unknown {
  const outcome = verdictOf(result, rule)?.outcome;
  if (outcome === undefined || outcome.is === 'not exercised') return undefined;
  const before = happeningBefore(result.happenings, outcome.worst.at_us);
  if (before === undefined) return undefined;
  const { number, at_us, piece, did, origin } = before;
  return { number, at_us, piece, did, origin };
}

const happeningJson = ({ number, at_us, piece, did, origin, cause }: HappeningRecord): unknown => ({
  number,
  at_us,
  piece,
  did,
  origin,
  cause,
});
