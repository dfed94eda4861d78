import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { isOn } from './channels.ts';
import { COMMAND_FORM } from './evidence.ts';
import { Since, toUs } from './intervals.ts';
import type { Desk } from './judge.ts';

/** Whether a bus belongs to an island that a source forms by order and that no fault stands in; judged from 1 s after that. */
export class FormedIsland {
  readonly #at: Readonly<Record<'forming' | 'part', number>>;
  readonly #command: number;
  readonly #faults: readonly { readonly struck: number; readonly part: number }[];
  readonly #since = new Since();
  readonly #pause_us = toUs(limit('own.lower-pause').values.time_s);

  constructor({ facts, channels }: Desk, bus: Id) {
    this.#at = channels.of(bus, 'forming', 'part');
    this.#command = channels.index('gateway.vehicleCommand');
    this.#faults = facts.site.pieces
      .filter(({ kind }) => kind === 'fault')
      .map(({ id, at }) => ({ struck: channels.index(`${id}.struck`), part: channels.index(`${at[0]}.part`) }));
  }

  /** The instant from which it counts, if what holds now goes on holding; undefined: not at all. */
  countsFrom(at_us: number, now: Float64Array): number | undefined {
    this.#since.update(at_us, this.#stands(now));
    const { from_us } = this.#since;
    return from_us === undefined ? undefined : Math.max(at_us, from_us + this.#pause_us);
  }

  #stands(now: Float64Array): boolean {
    if (!isOn(now, this.#at.forming) || now[this.#command] !== COMMAND_FORM) return false;
    return !this.#faults.some(({ struck, part }) => isOn(now, struck) && now[part] === now[this.#at.part]);
  }
}
