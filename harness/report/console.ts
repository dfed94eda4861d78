import { ORIGINS } from '../../sim/telemetry.ts';
import { timeText } from '../../sim/units.ts';
import type { Grade } from '../rules/rule.ts';
import { printable } from '../scenario/reader/problem.ts';
import type { Colour, Paint } from './colour.ts';
import { explainVerdict, HAPPENED, marginText, verdictOf } from './explain.ts';
import { hang, wrap } from './layout.ts';
import {
  againstOf,
  exitOf,
  type Judged,
  judgedOf,
  notesBySite,
  type Report,
  type RuleBook,
  replayCommand,
  rulesOfGrade,
  shellWord,
  uncoveredOf,
  warningsOf,
} from './report.ts';
import { type Row, renderRows } from './table.ts';

export interface View {
  readonly columns: number;
  readonly paint: Paint;
  /** Folder of the reports, as seen from where the user stands: traces are named from there. */
  readonly out: string;
  /** Only what is not as expected, and the last line. */
  readonly quiet: boolean;
}

/** Columns from which a table has room for twelve signs of a digest beside the names. */
const WIDE = 100;

/** Sign, word and colour of each state that a scenario can end in. */
const states = {
  'as expected': ['✓', 'as expected', 'green'],
  'unlike expected': ['✗', 'unlike', 'red'],
  'not exercised': ['○', 'unexercised', 'yellow'],
  refused: ['!', 'refused', 'red'],
  crashed: ['!', 'our fault', 'red'],
} as const satisfies Record<string, readonly [string, string, Colour]>;
type State = keyof typeof states;

const badge = (state: State): string => `${states[state][0]} ${states[state][1]}`;

/** The whole report as text: table, what was not as expected, what the verdicts rest on, one line of sums. Ends in a newline. */
export function renderConsole(report: Report, book: RuleBook, view: View): string {
  const judged = judgedOf(report);
  const lines = view.quiet ? [] : [...table(report, view), ''];
  for (const entry of judged) if (entry.judgement.exit !== 0) lines.push(...failure(entry, book, view), '');
  // What was wrong with them has been said on the other stream; the table has named them, unless there is none.
  if (view.quiet)
    for (const entry of report.entries)
      if (entry.kind !== 'judged') lines.push(view.paint('red', `${badge(entry.kind)}  ${printable(entry.file)}`));
  const notes = siteNotes(judged, view);
  if (notes.length > 0) lines.push(...notes, '');
  if (!view.quiet && judged.length > 0) lines.push(...grounds(judged, view), '');
  lines.push(...wrap(sums(report), view.columns));
  return `${lines.join('\n')}\n`;
}

function table(report: Report, view: View): string[] {
  const rows = report.entries.map((entry): Row => {
    if (entry.kind !== 'judged') {
      const state = states[entry.kind];
      return { cells: [entry.file, badge(entry.kind), '', '', '', ''], colour: state[2] };
    }
    const [judged] = judgedOf({ ...report, entries: [entry] });
    const { status, tightest } = judged!.judgement; // One judged entry in, one out.
    const { scenario, simulated_us, digests } = entry.result;
    const margin = tightest === undefined ? '-' : marginText(tightest.margin.value);
    const of = judged!.variants.length;
    const cells = [
      of > 1 ? `${scenario.id} (worst of ${of})` : scenario.id,
      badge(status),
      tightest?.rule ?? '-',
      margin,
      timeText(simulated_us),
      digests.run.slice(0, view.columns < WIDE ? 8 : 12),
    ] as const;
    return { cells, colour: states[status][2] };
  });
  return rows.length === 0 ? ['no scenario was run'] : renderRows(rows, view.columns, view.paint);
}

/** One block for a scenario that is not as expected, with everything needed to look into it. */
function failure({ result, judgement, trace, variants }: Judged, book: RuleBook, view: View): string[] {
  const { columns, paint } = view;
  const [, , colour] = states[judgement.status];
  const lines = wrap(`${badge(judgement.status)}: ${result.scenario.id}`, columns).map((line) => paint(colour, line));
  if (result.scenario.title !== '') lines.push(...hang(1, '', 0, result.scenario.title, columns));
  const { variant } = result;
  if (variant !== undefined)
    lines.push(...hang(2, 'variant', 9, `${variant.number} of ${variant.of}: ${variant.name}`, columns));
  const others = othersText(variants, variant?.number);
  if (others !== undefined) lines.push(...hang(2, 'others', 9, others, columns));
  for (const { kind, rule, text } of judgement.findings) {
    lines.push(...hang(1, '', 0, `${kind}: ${text}`, columns));
    const verdict = verdictOf(result, rule);
    if (verdict === undefined) continue;
    let above = '';
    for (const [label, said] of explainVerdict(result, verdict, book)) {
      lines.push(...hang(4, label === above ? '' : label, 8, said, columns));
      above = label === HAPPENED ? label : '';
    }
  }
  // One line each, however wide: they are there to be copied.
  lines.push(`  trace     ${trace === undefined ? 'none' : printable(shellWord(pathFrom(view.out, trace)))}`);
  lines.push(`  replay    ${paint('bold', replayCommand(result))}`);
  return lines;
}

const OTHERS_MAX = 8;

/** How many variants besides the one shown are not as expected, and which. */
function othersText(variants: Judged['variants'], shown: number | undefined): string | undefined {
  const others = variants.filter(({ exit, number }) => exit !== 0 && number !== shown).map(({ number }) => number);
  if (others.length === 0) return undefined;
  const left = others.length - OTHERS_MAX;
  const named = others.slice(0, OTHERS_MAX).join(', ') + (left > 0 ? ` and ${left} more` : '');
  return `${others.length} more of ${variants.length} variants ${others.length === 1 ? 'is' : 'are'} not as expected: ${named}`;
}

/** A path below a folder: `./out/` and `traces/a.csv` give `out/traces/a.csv`. */
function pathFrom(folder: string, path: string): string {
  const plain = folder
    .replaceAll('\\', '/')
    .replace(/^(\.\/+)+(?=.)/, '')
    .replace(/(?<=.)\/+$/, '');
  return plain === '' || plain === '.' ? path : plain.endsWith('/') ? plain + path : `${plain}/${path}`;
}

/** What is allowed at a site and must be said all the same: in a quiet report as well. */
function siteNotes(judged: readonly Judged[], { columns }: View): string[] {
  const bySite = [...notesBySite(judged.map(({ result }) => result))];
  return bySite.flatMap(([site, notes]) => [
    ...wrap(`allowed at site ${site}, and not to be forgotten:`, columns),
    ...notes.flatMap((note) => hang(1, '', 0, note, columns)),
  ]);
}

const gradeHeads: readonly (readonly [Grade, string])[] = [
  ['memory', 'limits from memory, not seen at a source'],
  ['weak', 'limits from a weak or partial source'],
  ['site setting', 'limits that are settings of the site'],
  ['common practice', 'limits of common practice, no source'],
];

/** What the verdicts rest on and what they leave out. Said at each run, or it is soon forgotten. */
function grounds(judged: readonly Judged[], { columns }: View): string[] {
  const results = judged.map(({ result }) => result);
  const against = againstOf(results);
  const lines = [`violations against: ${ORIGINS.map((origin) => `${origin} ${against[origin]}`).join(', ')}`];
  for (const [rule, scenarios] of warningsOf(results)) lines.push(`warnings of ${rule} in: ${scenarios.join(', ')}`);
  for (const [grade, head] of gradeHeads) {
    const rules = rulesOfGrade(results, grade);
    if (rules.length > 0) lines.push(`${head}: ${rules.join(', ')}`);
  }
  const uncovered = uncoveredOf(results);
  if (uncovered.length > 0) lines.push(`exercised by no scenario here: ${uncovered.join(', ')}`);
  return lines.flatMap((line) => wrap(line, columns - 2).map((part, row) => (row === 0 ? part : `  ${part}`)));
}

function sums(report: Report): string {
  const counts = new Map<string, number>();
  const judged = judgedOf(report);
  for (const { judgement } of judged) counts.set(judgement.status, (counts.get(judgement.status) ?? 0) + 1);
  for (const { kind } of report.entries) if (kind !== 'judged') counts.set(kind, (counts.get(kind) ?? 0) + 1);
  const parts = Object.keys(states).flatMap((state) => (counts.has(state) ? [`${counts.get(state)} ${state}`] : []));
  const left = report.selected - report.entries.length;
  if (report.interrupted) parts.push(`${left} not finished: interrupted`);
  const many = report.selected === 1 ? '1 scenario' : `${report.selected} scenarios`;
  return `${many}: ${parts.length === 0 ? 'nothing was run' : parts.join(', ')}; exit ${exitOf(report)}`;
}

/** One line that is written over again while the run goes on. */
export function progressLine(done: number, of: number, running: readonly string[], columns: number): string {
  const line = `${done} of ${of} done${running.length === 0 ? '' : `; running ${running.join(', ')}`}`;
  const signs = [...line];
  return signs.length < columns ? line : `${signs.slice(0, columns - 2).join('')}…`;
}
