/** A site as plain data: SI numbers, defaults filled in, no YAML. What page, campaign and replay hand over. */

/** Of a bus or piece: [a-z][a-z0-9-]*. */
export type Id = string;
export type Plain = number | string | boolean;
export type Bag = Readonly<Record<string, Plain>>;
export type Leg = 'L1' | 'L2';
export type Conductor = Leg | 'N';

/** One device. Attached to a bus (`at` has one id) or joining two, the first towards the street. */
export interface Piece {
  readonly id: Id;
  readonly kind: string;
  readonly at: readonly Id[];
  /** Conductors it is connected to, or whose poles it switches. */
  readonly legs: readonly Conductor[];
  /** Values by the names of its kind's table, in SI units, times in µs. */
  readonly params: Bag;
  /** Why a parameter that the file does not give has its value. */
  readonly sources: Readonly<Record<string, string>>;
}

export interface Bus {
  readonly id: Id;
  /** `utility`: belongs to the service; `premises`: behind the first customer device. */
  readonly side: 'utility' | 'premises';
}

export interface SiteDescription {
  readonly schema: 1;
  readonly id: Id;
  readonly buses: readonly Bus[];
  readonly pieces: readonly Piece[];
  readonly settings: Bag;
}

/** SI units in which parameters are kept. `µs` is a whole number; `choice` one of a list; `bool` yes or no; `1` a bare number. */
export type ParamUnit =
  | 'V'
  | 'A'
  | 'W'
  | 'var'
  | 'VA'
  | 'Hz'
  | 'ohm'
  | 'F'
  | 'H'
  | 'Wh'
  | 'deg'
  | 'degC'
  | 'µs'
  | '1'
  | '%'
  | '1/Hz'
  | 'Hz/s'
  | 'm'
  | 'L'
  | 'choice'
  | 'bool'
  | 'text';

/** One parameter: the single source for the validator, the JSON Schema, the docs and the defaults. */
export interface ParamSpec {
  readonly name: string;
  readonly unit: ParamUnit;
  /** One sentence. */
  readonly about: string;
  /** Absent: the file must give it. */
  readonly default?: Plain;
  readonly min?: number;
  readonly max?: number;
  readonly choices?: readonly string[];
  /** Where the default comes from: key of docs/sources.md, "common practice, no source", "from memory: …" or "assumed". */
  readonly source: string;
}

/** Something that can be done to a piece in a scenario. */
export interface DoesSpec {
  readonly name: string;
  readonly about: string;
  readonly using: readonly ParamSpec[];
  /** Who is answerable for it. */
  readonly origin: 'person' | 'equipment' | 'utility' | 'site';
}

/** One kind of equipment as data. */
export interface KindSpec {
  readonly kind: string;
  readonly about: string;
  /** 1: attached to a bus; 2: joins two. */
  readonly joins: 1 | 2;
  /** Allowed sets of conductors; the first is the default. */
  readonly legs: readonly (readonly Conductor[])[];
  readonly params: readonly ParamSpec[];
  readonly does: readonly DoesSpec[];
  /** What a scenario's starting state may say about it, as `piece.name` keys. */
  readonly start: readonly ParamSpec[];
}

/** Typed reading of a validated bag. A miss is our own defect: the validator has filled every default. */
export function numberOf(bag: Bag, name: string): number {
  const value = bag[name];
  if (typeof value !== 'number')
    throw new TypeError(`parameter ${name}: ${String(value)} is no number; was the site validated?`);
  return value;
}

export function textOf(bag: Bag, name: string): string {
  const value = bag[name];
  if (typeof value !== 'string')
    throw new TypeError(`parameter ${name}: ${String(value)} is no text; was the site validated?`);
  return value;
}

export function flagOf(bag: Bag, name: string): boolean {
  const value = bag[name];
  if (typeof value !== 'boolean')
    throw new TypeError(`parameter ${name}: ${String(value)} is no yes or no; was the site validated?`);
  return value;
}
