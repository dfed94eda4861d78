import type { SchedulerLike } from 'rxjs';
import type { ActorOptions, AnyActorLogic } from 'xstate';
import type { Id } from '../site-description.ts';
import type { SimUs } from '../units.ts';

/** Order of what falls on one instant. Shuffled ties move inside one rank only. */
export const RANKS = ['plant', 'protection', 'sensing', 'scan', 'operator', 'record'] as const;
export type Rank = (typeof RANKS)[number];

export type XstateClock = NonNullable<ActorOptions<AnyActorLogic>['clock']>;

/** One queue for everything, by (instant, rank, order of setting); see sim/time/kernel.ts. */
export interface Kernel {
  readonly now_us: SimUs;
  /** Sets a timer and returns its handle. A due instant before `now_us`, or one that is no whole number, is an assertion;
   *  one beyond 2^53 never fires. */
  at(due_us: SimUs, rank: Rank, owner: Id, name: string, fire: () => void): number;
  /** Takes a timer back; unknown and fired handles are ignored. */
  cancel(handle: number): void;
  /** Timers of one owner in order of firing, for state digests. */
  pending(owner: Id): { readonly name: string; readonly in_us: number }[];
  /** Milliseconds in (as xstate counts), rounded to whole µs once. A negative delay is an assertion. */
  clockFor(owner: Id, rank: Rank): XstateClock;
  /** Milliseconds as well. */
  readonly scheduler: SchedulerLike;
}

/** Everything random in a run. Each component has its own stream, so that a draw added to one leaves the others alone. */
export interface Chance {
  readonly seed: number;
  /** Uniform in [0, 1), one after the other. The same name gives a new generator that starts over. */
  stream(name: string): () => number;
  /** Uniform in [-1, 1), by (seed, name, sample number): a sample that is skipped shifts nobody else's. */
  noise(name: string, sample: number): number;
}
