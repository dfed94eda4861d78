import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';
import { quantityText, timeText } from '../../sim/units.ts';
import type { Grade, Margin, Verdict } from '../rules/rule.ts';
import type { RunResult } from '../run/result.ts';
import type { RuleBook } from './report.ts';

/** A line of an explanation: a short label and what it says. */
export type Line = readonly [label: string, text: string];

/** Label of the happenings of an explanation, one a line. */
export const HAPPENED = 'happened';
const WAY_MAX = 6;

const gradeText: Readonly<Record<Grade, string>> = {
  confirmed: 'confirmed at a source',
  weak: 'seen only at a weak or partial source',
  memory: 'from memory, not seen at a source',
  'site setting': 'a setting of the site',
  'common practice': 'common practice, no source',
};

/** A signed margin with three decimals; a violation too small to show never rounds to a pass. */
export function marginText(value: number): string {
  const text = value.toFixed(3);
  if (value < 0) return Number(text) === 0 ? '-0.001' : text;
  return `+${text.replace('-', '')}`;
}

/** What was found, against which limit, from which clause, when, and what happened on the way there. */
export function explainVerdict(result: RunResult, verdict: Verdict, book: RuleBook): Line[] {
  const { rule, outcome, grade } = verdict;
  const notes = noteLines(verdict);
  if (outcome.is === 'not exercised') return notes;
  const { worst } = outcome;
  const known = book.rules.find(({ id }) => id === rule);
  const clause = clauseOf(verdict, book);
  const way = wayTo(result.happenings, worst.at_us, outcome.is === 'fail' ? outcome.against : undefined);
  return [
    ...(known === undefined ? [] : [['rule', known.about] as const]),
    ['found', foundText(worst)],
    ['margin', `${marginText(worst.value)}${known === undefined ? '' : `, divided by ${known.scale}`}`],
    ['clause', `${clause ?? 'no clause on file'} (${gradeText[grade]})`],
    ...(outcome.is === 'fail' ? [['against', outcome.against] as const] : []),
    ['at', timeText(worst.at_us)],
    ...(way.length === 0 ? ['nothing yet'] : way.map(happeningText)).map((said) => [HAPPENED, said] as const),
    ...notes,
  ];
}

/** Of the limit that the worst margin was measured against; a rule may hold a thing to several. */
export function clauseOf({ rule, limit }: Verdict, book: RuleBook): string | undefined {
  const key = limit ?? book.rules.find(({ id }) => id === rule)?.limit;
  return key === undefined ? undefined : book.describeLimit(key)?.clause;
}

/** What is said beside the verdict, each as `warning` or `report`. */
export function noteLines({ notes }: Verdict): Line[] {
  return (notes ?? []).map(({ is, text, at_us }) => [is, `${text} (at ${timeText(at_us)})`]);
}

export function foundText({ found, limit, unit, about }: Margin): string {
  return `${quantityText(found, unit)}, limit ${quantityText(limit, unit)}${about === '' ? '' : `: ${about}`}`;
}

/** The last happening up to and at an instant, in order of record. */
export function happeningBefore(happenings: readonly HappeningRecord[], at_us: number): HappeningRecord | undefined {
  return happenings.findLast((happening) => happening.at_us <= at_us);
}

/**
 * The way to an instant: the last happening up to it with what brought that about, cause by cause back to the root; the same of the last
 * one by whom it is held against, which orders of the same instant would crowd out; then whatever else happened latest. `WAY_MAX` in
 * all, in order of record. Of a longer chain the root and the last ones stay.
 */
export function wayTo(
  happenings: readonly HappeningRecord[],
  at_us: number,
  against?: Origin,
): readonly HappeningRecord[] {
  const earlier = happenings.filter((happening) => happening.at_us <= at_us);
  const answerable = earlier.findLast(({ origin }) => origin === against);
  const kept = new Set<HappeningRecord>();
  for (const last of [earlier.at(-1), answerable])
    for (const link of shortened(chainOf(last, earlier), WAY_MAX - kept.size)) kept.add(link);
  for (const happening of earlier.toReversed()) if (kept.size < WAY_MAX) kept.add(happening);
  return [...kept].sort((a, b) => a.number - b.number);
}

/** From a happening back to the root of its causes. */
function chainOf(last: HappeningRecord | undefined, all: readonly HappeningRecord[]): readonly HappeningRecord[] {
  const byNumber = new Map(all.map((happening) => [happening.number, happening]));
  const chain: HappeningRecord[] = [];
  for (let link = last; link !== undefined && !chain.includes(link); ) {
    chain.push(link);
    link = link.cause === undefined ? undefined : byNumber.get(link.cause);
  }
  return chain;
}

const shortened = (chain: readonly HappeningRecord[], most: number): readonly HappeningRecord[] =>
  chain.length <= most ? chain : [...chain.slice(0, Math.max(0, most - 1)), ...chain.slice(-1)].slice(0, most);

function happeningText({ number, piece, did, origin, at_us }: HappeningRecord): string {
  return `#${number} ${timeText(at_us)} ${piece} ${did} (${origin})`;
}

export function verdictOf(result: RunResult, rule: Id | undefined): Verdict | undefined {
  return rule === undefined ? undefined : result.verdicts.find((verdict) => verdict.rule === rule);
}
