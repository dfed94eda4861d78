import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { type Finding, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import type { Excuses } from './excuses.ts';
import { CYCLE_US, isLate, toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';

/** A section that is neither dark nor well fed: it is told by another value of `gateway.reason`, or it ends. */
export class Brownout {
  readonly #desk: Desk;
  readonly #bus: Id;
  readonly #excuses: Excuses;
  readonly #reason: number;
  readonly #limit_us = toUs(limit('own.outage.low').values.time_s);
  readonly #least_us = toUs(limit('own.outage.dark').values.time_s);
  #changed: { readonly at_us: number; readonly reason: number } | undefined;
  #low: { readonly from_us: number; readonly reason: number; isTold: boolean } | undefined;

  constructor(desk: Desk, bus: Id, excuses: Excuses) {
    this.#desk = desk;
    this.#bus = bus;
    this.#excuses = excuses;
    this.#reason = desk.channels.index('gateway.reason');
  }

  take({ at_us, now, before }: Moment, isLow: boolean): Finding[] {
    const low = this.#low;
    if (before !== undefined && before[this.#reason] !== now[this.#reason])
      this.#changed = { at_us, reason: before[this.#reason]! };
    if (!isLow) {
      this.#low = undefined;
      return low === undefined || low.isTold ? [] : this.#found(low.from_us, at_us);
    }
    if (low === undefined) this.#low = { from_us: at_us, ...this.#atStart(at_us, now[this.#reason]!) };
    else if (!low.isTold && now[this.#reason] !== low.reason) {
      low.isTold = true;
      return this.#found(low.from_us, at_us);
    }
    return [];
  }

  /** A gateway may see the voltage fall before a whole cycle has: what it said in the last cycles is said of this. */
  #atStart(at_us: number, reason: number): { readonly reason: number; isTold: boolean } {
    const changed = this.#changed;
    const isTold = changed !== undefined && at_us - changed.at_us <= 3 * CYCLE_US && changed.reason !== reason;
    return { reason, isTold };
  }

  end(at_us: number): Finding[] {
    const low = this.#low;
    if (low === undefined || low.isTold) return [];
    if (isLate(at_us - low.from_us, this.#limit_us)) return this.#found(low.from_us, at_us);
    this.#desk.book.arm();
    this.#desk.book.owe();
    return [];
  }

  #found(from_us: number, at_us: number): Finding[] {
    const found_us = at_us - from_us;
    if (found_us <= this.#least_us) return [];
    this.#desk.book.arm();
    const limit_us = this.#limit_us;
    const resolution = { phasor: HALF_CYCLE_US / limit_us, wave: WAVE_CROSSING_US / limit_us, edges_us: [from_us] };
    const against = this.#excuses.isHinderedAt(at_us, from_us) ? 'equipment' : 'controller';
    const about = `${this.#bus} below 0.88 pu, until told`;
    return [timeFinding({ at_us, found_us, limit_us, key: 'own.outage.low', against, about, resolution })];
  }
}
