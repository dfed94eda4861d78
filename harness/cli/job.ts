import type { ControllerFault, RunResult, VariantId } from '../run/result.ts';
import type { Scenario } from '../scenario/model.ts';
import type { ControllerSpec } from './controller-spec.ts';

/** One scenario to run in a thread. */
export interface Job {
  readonly file: string;
  readonly scenario: Scenario;
  /** Which of the variants of its file it is. */
  readonly variant?: VariantId;
  /** Where its trace is written; absent: none is. */
  readonly tracePath?: string;
}

/** What a thread is started with. */
export interface ThreadData {
  readonly controller: ControllerSpec;
  readonly guard: SharedArrayBuffer;
}

/** What comes back. */
export type Answer =
  | { readonly kind: 'judged'; readonly result: RunResult }
  /** The controller's module does not load or is none. */
  | { readonly kind: 'controller refused'; readonly message: string }
  /** The thread had to be ended, or the controller ended it. */
  | { readonly kind: 'controller lost'; readonly fault: ControllerFault }
  | { readonly kind: 'crashed'; readonly message: string; readonly stack: string };
