import type { Id } from '../../sim/site-description.ts';
import { ORIGINS, type Origin } from '../../sim/telemetry.ts';
import type { Counts, Grade } from '../rules/rule.ts';
import { type Judgement, judgeExpectations } from '../run/expectation.ts';
import type { RunResult } from '../run/result.ts';
import type { SiteNote } from '../scenario/site-notes.ts';

/** What became of one file. */
export type Entry =
  | {
      readonly kind: 'judged';
      /** Of several variants the worst: it speaks for the file. */
      readonly result: RunResult;
      /** Path of the trace, relative to the output folder. */
      readonly trace?: string;
      readonly variants?: readonly VariantOutcome[];
    }
  /** The file is no scenario: complaints as the reader words them. The user's part: exit code 2. */
  | { readonly kind: 'refused'; readonly file: string; readonly problems: readonly string[] }
  /** We fell over: exit code 3, never a pass and never a verdict. */
  | { readonly kind: 'crashed'; readonly file: string; readonly message: string };

/** What became of one variant of a file. */
export interface VariantOutcome {
  readonly number: number;
  readonly name: string;
  readonly status: Judgement['status'];
  readonly exit: Judgement['exit'];
  readonly tightest?: { readonly rule: Id; readonly margin: number };
  readonly digest: string;
}

/** Where a limit comes from, by its key in the table of limits. */
export interface LimitWords {
  /** Standard, edition and clause, as they are printed. */
  readonly clause: string;
}

/** What reports may ask about rules and limits; the tables behind it are handed in. */
export interface RuleBook {
  /** In the order in which rules are judged. */
  readonly rules: readonly {
    readonly id: Id;
    readonly about: string;
    readonly limit: string;
    readonly scale: string;
  }[];
  describeLimit(key: string): LimitWords | undefined;
}

/** Everything that the reports are made of: pure data, so that any of them can be made again later, to the byte. */
export interface Report {
  readonly version: string;
  readonly controller: string;
  /** In the order of the files. */
  readonly entries: readonly Entry[];
  /** Scenarios that were selected; more than `entries` when the run was interrupted. */
  readonly selected: number;
  readonly interrupted: boolean;
}

export const EXIT = {
  asExpected: 0,
  unlikeExpected: 1,
  usersFault: 2,
  ourFault: 3,
  nothingSelected: 4,
  notExercised: 5,
  interrupted: 130,
} as const;
export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

const byWeight: readonly ExitCode[] = [130, 3, 2, 1, 5, 4];

/** Of several codes the one that says most: the first of 130, 3, 2, 1, 5, 4; otherwise 0. */
export function weightiest(codes: readonly ExitCode[]): ExitCode {
  return byWeight.find((code) => codes.includes(code)) ?? EXIT.asExpected;
}

export function exitOf(report: Report): ExitCode {
  return weightiest([
    ...(report.interrupted ? [EXIT.interrupted] : []),
    ...(report.selected === 0 ? [EXIT.nothingSelected] : []),
    ...report.entries.map(exitOfEntry),
  ]);
}

function exitOfEntry(entry: Entry): ExitCode {
  if (entry.kind === 'crashed') return EXIT.ourFault;
  if (entry.kind === 'refused') return EXIT.usersFault;
  return judgeExpectations(entry.result).exit;
}

export interface Judged {
  readonly result: RunResult;
  readonly judgement: Judgement;
  readonly trace: string | undefined;
  readonly variants: readonly VariantOutcome[];
}

export function judgedOf(report: Report): Judged[] {
  return report.entries.flatMap((entry) =>
    entry.kind === 'judged'
      ? [
          {
            result: entry.result,
            judgement: judgeExpectations(entry.result),
            trace: entry.trace,
            variants: entry.variants ?? [],
          },
        ]
      : [],
  );
}

/** Violations by whom they are held against. Every report shows all five. */
export function againstOf(results: readonly RunResult[]): Counts {
  const sums: Record<Origin, number> = { controller: 0, person: 0, equipment: 0, utility: 0, site: 0 };
  for (const { verdicts } of results)
    for (const { violations } of verdicts) for (const origin of ORIGINS) sums[origin] += violations[origin];
  return sums;
}

/** Rules that no scenario exercised: what the whole run says nothing about. */
export function uncoveredOf(results: readonly RunResult[]): Id[] {
  const exercised = new Set<Id>();
  const seen = new Set<Id>();
  for (const { rule, outcome } of results.flatMap(({ verdicts }) => verdicts)) {
    seen.add(rule);
    if (outcome.is !== 'not exercised') exercised.add(rule);
  }
  return [...seen].filter((rule) => !exercised.has(rule));
}

/** Rules whose verdicts rest on limits of one grade, in the order in which they are met. */
export function rulesOfGrade(results: readonly RunResult[], grade: Grade): Id[] {
  const verdicts = results.flatMap((result) => result.verdicts);
  return [
    ...new Set(
      verdicts
        .filter((verdict) => verdict.grade === grade && verdict.outcome.is !== 'not exercised')
        .map(({ rule }) => rule),
    ),
  ];
}

/** A note of a site in one line: what it is about, and what is said of it. */
export const noteText = ({ pieces, text }: SiteNote): string =>
  pieces.length === 0 ? text : `${pieces.join(', ')}: ${text}`;

/** Notes of all sites, each told once a site, in the order in which they are met; and of which scenarios, if not of all there. */
export function notesBySite(results: readonly RunResult[]): ReadonlyMap<Id, readonly string[]> {
  const ids = [...new Set(results.map(({ scenario }) => scenario.site.id))];
  const told = ids.map((id): [Id, readonly string[]] => {
    const here = results.filter(({ scenario }) => scenario.site.id === id);
    const having = new Map<string, RunResult[]>();
    for (const result of here) {
      for (const text of new Set(result.siteNotes.map(noteText)))
        having.set(text, [...(having.get(text) ?? []), result]);
    }
    return [id, [...having].map(([text, some]) => (some.length === here.length ? text : `${text} (${inWhich(some)})`))];
  });
  return new Map(told.filter(([, notes]) => notes.length > 0));
}

/** By an override a note may hold of some scenarios only. */
function inWhich(results: readonly RunResult[]): string {
  const [first = '', ...more] = results.map(({ scenario }) => scenario.id);
  return `in ${first}${more.length === 0 ? '' : ` and ${more.length} more`}`;
}

/** Rules that passed or failed with a warning beside it, each with the scenarios in which they did. */
export function warningsOf(results: readonly RunResult[]): ReadonlyMap<Id, readonly Id[]> {
  const warned = new Map<Id, Id[]>();
  for (const { scenario, verdicts } of results) {
    for (const { rule, notes } of verdicts) {
      if (!notes?.some((note) => note.is === 'warning')) continue;
      warned.set(rule, [...(warned.get(rule) ?? []), scenario.id]);
    }
  }
  return warned;
}

/** The one command that runs it again; quoted where a shell would take the name apart. */
export function replayCommand({ file, scenario, controller, variant }: RunResult): string {
  const attached = controller === 'reference' ? '' : ` --controller ${shellWord(controller)}`;
  const chosen = variant === undefined ? '' : ` --variant ${variant.number}`;
  return `npx deadbus run ${shellWord(file)} --seed ${scenario.seed}${chosen}${attached}`;
}

/** As a shell takes it: quoted where it would take it apart. */
export function shellWord(text: string): string {
  return /^[\w./:@%+=,-]+$/.test(text) ? text : `'${text.replaceAll("'", "'\\''")}'`;
}
