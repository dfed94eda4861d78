import type { Origin } from '../../sim/telemetry.ts';
import { US_PER_S } from '../../sim/units.ts';

/** One cycle of 60 Hz, rounded up: a whole one has passed after 16 667 µs. */
export const CYCLE_US = 16_667;
/** What stands at the first frame has stood for an hour: a run begins in a settled state. */
export const STOOD_US = 3600 * US_PER_S;

/** Seconds of a published limit as whole microseconds. */
export const toUs = (time_s: number): number => Math.round(time_s * US_PER_S);

/** A limit met exactly is kept; one microsecond more breaks it. */
export const isLate = (elapsed_us: number, limit_us: number): boolean => elapsed_us > limit_us;

/** One interval that must end within `limit_us`. */
export class Deadline {
  readonly limit_us: number;
  #from_us: number | undefined;
  #against: Origin = 'site';

  constructor(limit_us: number) {
    this.limit_us = limit_us;
  }

  get from_us(): number | undefined {
    return this.#from_us;
  }

  get against(): Origin {
    return this.#against;
  }

  open(at_us: number, against: Origin): void {
    if (this.#from_us !== undefined) return;
    this.#from_us = at_us;
    this.#against = against;
  }

  /** Time since it was opened, µs, and forgets it; undefined when it was not open. */
  close(at_us: number): number | undefined {
    if (this.#from_us === undefined) return undefined;
    const elapsed_us = Math.max(0, at_us - this.#from_us);
    this.#from_us = undefined;
    return elapsed_us;
  }

  /** At the end of a run: already broken, or still owed. */
  isBrokenAt(at_us: number): boolean {
    return this.#from_us !== undefined && isLate(at_us - this.#from_us, this.limit_us);
  }
}

/** Since when a condition holds without a break. */
export class Since {
  #from_us: number | undefined;
  #fresh = true;

  update(at_us: number, holds: boolean): void {
    if (!holds) this.#from_us = undefined;
    else this.#from_us ??= this.#fresh ? at_us - STOOD_US : at_us;
    this.#fresh = false;
  }

  get from_us(): number | undefined {
    return this.#from_us;
  }

  /** 0 when it does not hold. */
  heldAt(at_us: number): number {
    return this.#from_us === undefined ? 0 : at_us - this.#from_us;
  }
}
