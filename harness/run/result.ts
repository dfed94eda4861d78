import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord } from '../../sim/telemetry.ts';
import type { Verdict } from '../rules/rule.ts';
import type { Scenario } from '../scenario/model.ts';
import type { SiteNote } from '../scenario/site-notes.ts';

/** What one statement of a scenario came to. */
export interface StatementResult {
  /** In words, as the reports print it. */
  readonly text: string;
  readonly holds: boolean;
  /** Instant at which it was broken; absent where it holds, and where it merely never came true. */
  readonly at_us?: number;
  readonly detail: string;
}

/** What the controller under test did that no controller may do. A verdict about the controller, never an error of the bench. */
export interface ControllerFault {
  readonly kind: 'throws' | 'nonsense' | 'never returns';
  readonly at_us: number;
  readonly message: string;
}

/** Hex SHA-256 each, or 'none' where there was nothing to take it of (a run that never came back). */
export interface RunDigests {
  readonly scenario: string;
  readonly controller: string;
  readonly run: string;
}

/** One of the scenarios that a file with `vary` stands for. */
export interface VariantId {
  /** From 1. */
  readonly number: number;
  readonly of: number;
  /** What it varies, in words. */
  readonly name: string;
}

/** One judged run as plain data: everything that a report may say about it, and nothing of the machine that it ran on. */
export interface RunResult {
  readonly scenario: Scenario;
  /** As given on the command line, relative, forward slashes. */
  readonly file: string;
  readonly variant?: VariantId;
  /** 'reference', 'saboteur:skips-sync-check' or 'module:./x.js'. */
  readonly controller: string;
  /** In the order of the list of rules. */
  readonly verdicts: readonly Verdict[];
  readonly statements: readonly StatementResult[];
  readonly happenings: readonly HappeningRecord[];
  /** Happenings of the file, by id, that did not take place. */
  readonly neverCame: readonly Id[];
  /** What its site may do and every report must say. */
  readonly siteNotes: readonly SiteNote[];
  readonly simulated_us: number;
  readonly complete: boolean;
  readonly digests: RunDigests;
  readonly counts: { readonly solves: number; readonly scans: number; readonly frames: number };
  readonly controllerFault?: ControllerFault;
  /** Why the run ended before its time. */
  readonly cutShort?: string;
}
