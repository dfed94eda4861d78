import type { OperatorFunction } from 'rxjs';
import type { Id } from '../../sim/site-description.ts';
import type { Origin, Telemetry, Unit } from '../../sim/telemetry.ts';
import type { SiteFacts } from './facts.ts';

/** How far a rule was from being broken: (limit - found) / scale for an upper limit, (found - limit) / scale for a lower
 *  one. Negative is a violation, 0 is not. Clamped to -10 … +1. */
export interface Margin {
  readonly value: number;
  readonly at_us: number;
  readonly found: number;
  readonly limit: number;
  readonly scale: number;
  readonly unit: Unit;
  /** What was measured, and where, in a few words: "leg L2 at bus house, one-cycle rms". */
  readonly about: string;
}

export type Outcome =
  | { readonly is: 'pass'; readonly worst: Margin }
  | { readonly is: 'fail'; readonly worst: Margin; readonly against: Origin }
  /** unresolved: the margin is smaller than the level's resolution; run it with waveforms. */
  | { readonly is: 'not exercised'; readonly why: 'never armed' | 'cut short' | 'unresolved' };

/** confirmed: seen at a source; weak: seen only at a weak or partial one; memory: from memory of the named clause. */
export type Grade = 'confirmed' | 'weak' | 'memory' | 'site setting' | 'common practice';

/** Violations counted by whom they are held against. */
export type Counts = Readonly<Record<Origin, number>>;

/** Something to know beside the verdict: it changes neither margin nor outcome. */
export interface Note {
  /** warning: worse than it should be, and no violation. report: what followed, or what is held against nobody. */
  readonly is: 'warning' | 'report';
  readonly at_us: number;
  readonly text: string;
  /** The numbers in the text, SI; each name ends in its unit. */
  readonly found: Readonly<Record<string, number>>;
}

export interface Verdict {
  readonly rule: Id;
  /** How often it was armed. */
  readonly armed: number;
  readonly outcome: Outcome;
  /** Of the limit that the worst margin was measured against. */
  readonly grade: Grade;
  /** Key of that limit in harness/limits; absent where nothing was measured. */
  readonly limit?: string;
  readonly violations: Counts;
  /** In the order in which they were noted; absent where there is nothing to say. */
  readonly notes?: readonly Note[];
}

export interface Rule {
  readonly id: Id;
  /** One sentence: what must hold. */
  readonly about: string;
  /** Key into harness/limits of its main limit. */
  readonly limit: string;
  readonly needs: 'phasor' | 'wave';
  /** What a margin is divided by, in words, for the reports. */
  readonly scale: string;
  /** Emits one verdict, at `end`. State lives inside the subscription. */
  judge(facts: SiteFacts): OperatorFunction<Telemetry, Verdict>;
}
