import type { Grade } from '../rules/rule.ts';
import type { LimitSource } from './sources.ts';

/** Unit of one value, written at the end of its name: `time_s`, `level_pu`. A bare number ends in `_1`. */
export type ValueName = `${string}_${'s' | 'pu' | 'Hz' | 'deg' | 'percent' | 'V' | 'A' | 'Hz_per_s' | '1'}`;

/** One published or chosen limit as data. */
export interface Limit<V extends ValueName = ValueName> {
  /** SI numbers by name; the name ends in the unit. */
  readonly values: Readonly<Record<V, number>>;
  readonly document: string;
  readonly edition: string;
  /** Clause, table or figure; empty where the document has none or the number is ours. */
  readonly clause: string;
  readonly grade: Grade;
  /** Where the number was seen, or what it rests on: a key of sources.ts. */
  readonly source: LimitSource;
  /** One line. */
  readonly about: string;
}

export interface Document {
  readonly document: string;
  readonly edition: string;
}

/** One row of a table: keeps the names of the values in the type, so that a misspelt one does not compile. */
export function row<V extends ValueName>(
  of: Document,
  clause: string,
  grade: Grade,
  source: LimitSource,
  about: string,
  values: Readonly<Record<V, number>>,
): Limit<V> {
  return { values, ...of, clause, grade, source, about };
}

export const IEEE_1547: Document = { document: 'IEEE 1547', edition: '2018, with amendment 1547a-2020' };
export const NO_DOCUMENT: Document = { document: 'none', edition: '' };
