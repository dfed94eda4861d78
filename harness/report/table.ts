import type { Colour, Paint } from './colour.ts';
import { padEnd, padStart, widthOf, wrap } from './layout.ts';

export interface Row {
  readonly cells: readonly [
    scenario: string,
    verdict: string,
    rule: string,
    margin: string,
    time: string,
    digest: string,
  ];
  readonly colour: Colour;
}

const heads = ['scenario', 'verdict', 'tightest rule', 'margin', 'time', 'digest'] as const;
const gap = '  ';
/** Below this the column of names is no use as a column, and each row becomes a small block. */
const narrowestName = 14;

/** A table that fits the columns given: names wrap first, and where even that does not do, each scenario takes two lines. */
export function renderRows(rows: readonly Row[], columns: number, paint: Paint): string[] {
  const widths = heads.map((head, column) =>
    Math.max(widthOf(head), ...rows.map(({ cells }) => widthOf(cells[column]!))),
  );
  const others = widths.slice(1).reduce((sum, width) => sum + width + gap.length, 0);
  const nameWidth = Math.min(widths[0]!, columns - others);
  if (nameWidth < Math.min(widths[0]!, narrowestName)) return rows.flatMap((row) => block(row, columns, paint));
  widths[0] = nameWidth;
  const head = line(heads, widths);
  return [paint('dim', head), ...rows.flatMap((row) => tableRow(row, widths, paint))];
}

function tableRow({ cells, colour }: Row, widths: readonly number[], paint: Paint): string[] {
  const [first = '', ...more] = wrap(cells[0], widths[0]!);
  const verdict = padEnd(cells[1], widths[1]!);
  const [whole, padded] = [line([first, ...cells.slice(1)], widths), padEnd(first, widths[0]!)];
  // Only the verdict is coloured, and only after everything has been measured.
  return [
    padded + gap + paint(colour, verdict.trimEnd()) + whole.slice(padded.length + gap.length + cells[1].length),
    ...more.map((part) => part.trimEnd()),
  ];
}

function line(cells: readonly string[], widths: readonly number[]): string {
  const isNumber = (column: number): boolean => column === 3 || column === 4;
  const padded = cells.map((cell, column) => (isNumber(column) ? padStart : padEnd)(cell, widths[column]!));
  return padded.join(gap).trimEnd();
}

function block(
  { cells: [scenario, verdict, rule, margin, time, digest], colour }: Row,
  columns: number,
  paint: Paint,
): string[] {
  const names = wrap(scenario, columns - 4).map((part) => `    ${part}`);
  const facts = [`${rule} ${margin}`.trim(), time, digest].filter((fact) => fact !== '').join(' · ');
  return [
    paint(colour, verdict),
    ...names,
    ...(facts === '' ? [] : wrap(facts, columns - 4).map((part) => `    ${part}`)),
  ];
}
