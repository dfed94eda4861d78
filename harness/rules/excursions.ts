import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';
import type { ItiLevel } from '../limits/iti.ts';
import { type Book, type Finding, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import { originOf } from './happenings.ts';
import { isLate, toUs } from './intervals.ts';

interface Run {
  readonly level: ItiLevel;
  readonly from_us: number;
}

/** What the excursions of one voltage are held against, and what they are called in a report. */
export interface ExcursionSpec {
  readonly book: Book;
  /** From the mildest level outwards. */
  readonly grid: readonly ItiLevel[];
  readonly side: 'above' | 'below';
  readonly about: string;
  /** What a level is, after its number; absent: a one-cycle voltage. */
  readonly measure?: string;
  /** Time after which a lost service neutral is the controller's, where a source could have taken over; 0: never. */
  reaction_us(): number;
}

/**
 * Runs of one one-cycle rms voltage beyond each level of an edge. From the crossing of the mildest level until the return is
 * one excursion; its worst level, by time over allowed time, is what is reported.
 */
export class Excursions {
  readonly #spec: ExcursionSpec;
  #open: Run[] = [];
  #closed: { readonly level: ItiLevel; readonly from_us: number; readonly to_us: number }[] = [];
  #cause: HappeningRecord | undefined;

  constructor(spec: ExcursionSpec) {
    this.#spec = spec;
  }

  /** `value_pu` holds from `at_us` on; `cause` is what changed the circuit last. */
  take(at_us: number, value_pu: number, cause: HappeningRecord | undefined): void {
    const { grid, side } = this.#spec;
    let passed = 0;
    while (passed < grid.length && isBeyond(value_pu, grid[passed]!.level_pu, side)) passed += 1;
    if (this.#open.length === 0 && passed > 0) this.#cause = cause;
    while (this.#open.length > passed) this.#closed.push({ ...this.#open.pop()!, to_us: at_us });
    while (this.#open.length < passed) this.#open.push({ level: grid[this.#open.length]!, from_us: at_us });
    if (this.#open.length === 0) this.#report();
  }

  /** What lies beyond from now on is no longer judged. */
  release(at_us: number): void {
    while (this.#open.length > 0) this.#closed.push({ ...this.#open.pop()!, to_us: at_us });
    this.#report();
  }

  /** At the end of a run: a run that is too long already counts, one that may yet come back in time is owed. */
  end(at_us: number): void {
    if (this.#open.length === 0) return;
    const broken = this.#open.filter(({ level, from_us }) => isLate(at_us - from_us, toUs(level.time_s)));
    if (broken.length < this.#open.length) this.#spec.book.owe();
    this.#open = broken;
    this.release(at_us);
  }

  #report(): void {
    const closed = this.#closed;
    this.#closed = [];
    if (closed.length === 0) return;
    const reaction_us = this.#spec.reaction_us();
    const handsOver = reaction_us > 0 && this.#cause?.did === 'neutral lost';
    const origin = originOf(this.#cause);
    if (!handsOver) {
      this.#add(closed, origin);
      return;
    }
    const split_us = Math.min(...closed.map(({ from_us }) => from_us)) + reaction_us;
    const early = closed.filter(({ from_us }) => from_us < split_us);
    const late = closed.filter(({ to_us }) => to_us > split_us);
    this.#add(
      early.map((run) => ({ ...run, to_us: Math.min(run.to_us, split_us) })),
      origin,
    );
    this.#add(
      late.map((run) => ({ ...run, from_us: Math.max(run.from_us, split_us) })),
      'controller',
    );
  }

  #add(
    runs: readonly { readonly level: ItiLevel; readonly from_us: number; readonly to_us: number }[],
    against: Origin,
  ): void {
    const findings: Finding[] = runs.map(({ level, from_us, to_us }) => {
      const limit_us = toUs(level.time_s);
      const { about: what, side, measure = 'pu, one-cycle rms' } = this.#spec;
      const about = `${what} ${side} ${level.level_pu} ${measure}`;
      const resolution = {
        phasor: HALF_CYCLE_US / limit_us,
        wave: WAVE_CROSSING_US / limit_us,
        edges_us: [from_us, to_us],
      };
      return timeFinding({
        at_us: to_us,
        found_us: to_us - from_us,
        limit_us,
        key: level.limit,
        against,
        about,
        resolution,
      });
    });
    if (findings.length > 0) this.#spec.book.add(...findings);
  }
}

const isBeyond = (value: number, level: number, side: 'above' | 'below'): boolean =>
  side === 'above' ? value > level : value < level;
