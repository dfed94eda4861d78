import type { Bag, Id, Plain, SiteDescription } from '../../sim/site-description.ts';
import type { SimUs } from '../../sim/units.ts';

/** The scenario after validation: plain data, free of node:*, yaml and zod, so that page, campaign and replay can hold it. */

/** A channel compared with a value; true once it has held without a break for `held_us`. */
export interface Condition {
  readonly channel: string;
  readonly is: '<' | '>' | '=';
  readonly value: Plain;
  readonly held_us: number;
}

/** At an instant, or `delay_us` after another happening of the file (by its id) or after a condition has come true. */
export type When = { readonly at_us: SimUs } | { readonly after: Id | Condition; readonly delay_us: number };

export interface Happening {
  readonly id: Id;
  readonly when: When;
  readonly piece: Id;
  /** Name of one of the `does` of the piece's kind. */
  readonly does: string;
  readonly using: Bag;
}

export type Says = 'within' | 'until' | 'never' | 'at the end';

/** A plain statement about the trace, over channel names.
 *  `within`: becomes true at `from` + limit_us at the latest. `until`: is true from `from` to `from` + limit_us.
 *  `never`: is true at no instant after `from`. `at the end`: is true when the run ends. */
export interface Statement {
  readonly says: Says;
  readonly what: Condition;
  readonly from?: When;
  readonly limit_us?: number;
}

export interface Expectations {
  /** Rules that must be armed and pass. Rules named nowhere must not fail. */
  readonly pass: readonly Id[];
  readonly fail: readonly { readonly rule: Id; readonly because: string }[];
  readonly statements: readonly Statement[];
}

export interface Scenario {
  readonly schema: 1;
  readonly id: Id;
  /** One line for the table and the reports. */
  readonly title: string;
  readonly tags: readonly string[];
  readonly seed: number;
  readonly site: SiteDescription;
  /** `piece.name` → value, by the `start` tables of the kinds. */
  readonly start: Bag;
  readonly end_us: SimUs;
  readonly happenings: readonly Happening[];
  readonly waveforms: 'none' | 'around happenings' | 'always';
  readonly vary?: Readonly<Record<string, readonly Plain[]>>;
  readonly expect: Expectations;
}
