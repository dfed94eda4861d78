import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { isOn } from './channels.ts';
import { COMMAND_FORM } from './evidence.ts';
import { Since, toUs } from './intervals.ts';
import type { Desk } from './judge.ts';
import { StandingFaults } from './standing-faults.ts';

/** Whether a bus belongs to an island that a source forms by order and that no fault stands in; judged from 1 s after that. */
export class FormedIsland {
  readonly #forming: number;
  readonly #command: number;
  readonly #faults: StandingFaults;
  readonly #since = new Since();
  readonly #pause_us = toUs(limit('own.lower-pause').values.time_s);

  constructor(desk: Desk, bus: Id) {
    this.#forming = desk.channels.index(`${bus}.forming`);
    this.#command = desk.channels.index('gateway.vehicleCommand');
    this.#faults = new StandingFaults(desk, bus);
  }

  /** The instant from which it counts, if what holds now goes on holding; undefined: not at all. */
  countsFrom(at_us: number, now: Float64Array): number | undefined {
    this.#since.update(at_us, this.#stands(now));
    const { from_us } = this.#since;
    return from_us === undefined ? undefined : Math.max(at_us, from_us + this.#pause_us);
  }

  #stands(now: Float64Array): boolean {
    return isOn(now, this.#forming) && now[this.#command] === COMMAND_FORM && !this.#faults.stands(now);
  }
}
