import { LIMIT_SOURCES, LIMITS, type Limit } from '../limits/index.ts';
import { padEnd, widthOf, wrap } from '../report/layout.ts';
import { RULES } from '../rules/index.ts';
import { PROOFS, type Proof } from '../rules/proofs.ts';
import type { Rule } from '../rules/rule.ts';
import type { Io } from './io.ts';

/** What is said where nothing shows that a rule is built. */
const NOT_BUILT = 'not built';
const heads = ['rule', 'limit', 'inside', 'beyond', 'caught alone'] as const;
const gap = '  ';
/** Narrower columns than this cut names and clauses to pieces: a rule then takes a small block. */
const narrowestColumn = 24;

/** `deadbus rules`: each rule, what its limit rests on, and the three things that show that it works. */
export function printRules(io: Pick<Io, 'out' | 'columns'>): void {
  io.out(`${renderRules(RULES, PROOFS, io.columns).join('\n')}\n`);
}

export function renderRules(
  rules: readonly Pick<Rule, 'id' | 'about' | 'limit'>[],
  proofs: Readonly<Record<string, Proof>>,
  columns: number,
): string[] {
  const first = Math.max(widthOf(heads[0]), ...rules.map(({ id }) => widthOf(id)));
  const each = Math.floor((columns - first) / (heads.length - 1)) - gap.length;
  const entries = rules.map((rule) => ({
    about: rule.about,
    proof: proofs[rule.id] ?? {},
    cells: cellsOf(rule, proofs),
  }));
  const lines =
    each < narrowestColumn ? entries.flatMap((entry) => block(entry, columns)) : table(entries, first, each, columns);
  const built = entries.filter(({ proof }) => isBuilt(proof)).length;
  return [
    ...lines,
    '',
    ...wrap(
      'inside: a scenario that passes the rule by less than 5 % of its scale; beyond: the same, moved, fails it; caught alone: a fault that no other rule sees. Scenarios stand below scenarios/.',
      columns,
    ),
    `${rules.length} rules, ${built} built`,
  ];
}

interface Entry {
  readonly about: string;
  readonly proof: Proof;
  readonly cells: readonly string[];
}

function cellsOf({ id, limit }: Pick<Rule, 'id' | 'limit'>, proofs: Readonly<Record<string, Proof>>): string[] {
  const { inside, beyond, alone, because } = proofs[id] ?? {};
  const or = (name: string | undefined): string => name ?? because ?? NOT_BUILT;
  return [id, restsOn(limit), or(inside), or(beyond), alone === undefined ? or(undefined) : caught(alone)];
}

const caught = ({ saboteur, scenario }: NonNullable<Proof['alone']>): string =>
  saboteur === undefined ? scenario : `saboteur ${saboteur} in ${scenario}`;

/** A place that a reason fills counts as one that is not empty. */
const isBuilt = ({ inside, beyond, alone, because }: Proof): boolean =>
  because !== undefined || (inside !== undefined && beyond !== undefined && alone !== undefined);

/** Document, clause and grade of the main limit. */
function restsOn(key: string): string {
  const { document, clause, grade, source } = (LIMITS as Readonly<Record<string, Limit>>)[key]!;
  const text =
    document === 'none' ? LIMIT_SOURCES[source] : [document, clause].filter((part) => part !== '').join(', ');
  return `${text} (${grade})`;
}

function table(entries: readonly Entry[], first: number, each: number, columns: number): string[] {
  const line = (cells: readonly string[]): string =>
    cells
      .map((cell, i) => padEnd(cell, i === 0 ? first : each))
      .join(gap)
      .trimEnd();
  return [
    line(heads),
    ...entries.flatMap((entry) => {
      const wrapped = entry.cells.map((cell, i) => (i === 0 ? [cell] : wrap(cell, each)));
      const height = Math.max(...wrapped.map(({ length }) => length));
      const rows = Array.from({ length: height }, (_, row) => line(wrapped.map((cell) => cell[row] ?? '')));
      return [...rows, ...below(entry, columns)];
    }),
  ];
}

function block(entry: Entry, columns: number): string[] {
  const [id = '', ...cells] = entry.cells;
  const facts = cells.flatMap((cell, i) => indented(`${heads[i + 1]}: ${cell}`, columns));
  return [id, ...facts, ...below(entry, columns)];
}

/** What must hold; and where a name stands that does less than it should, why. */
function below({ about, proof }: Entry, columns: number): string[] {
  const says =
    proof.because !== undefined && proof.inside !== undefined ? indented(`inside: ${proof.because}`, columns) : [];
  return [...indented(about, columns), ...says];
}

const indented = (text: string, columns: number): string[] => wrap(text, columns - 4).map((part) => `    ${part}`);
