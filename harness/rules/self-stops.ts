import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { isOn } from './channels.ts';
import { toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';

/** When forming sources stopped by themselves: overloaded twice in a row, a source need not be tried a third time at once. */
export class SelfStops {
  readonly #desk: Desk;
  readonly #sources: readonly { readonly id: Id; readonly forms: number }[];
  readonly #window_us = toUs(limit('own.outage.tired').values.time_s);
  readonly #count = limit('own.outage.tired').values.count_1;
  readonly #stops = new Map<Id, readonly number[]>();

  constructor(desk: Desk) {
    this.#desk = desk;
    this.#sources = desk.facts.forming.map(({ id }) => ({ id, forms: desk.channels.index(`${id}.forms`) }));
  }

  frame({ at_us, now, before }: Moment): void {
    if (before === undefined) return;
    for (const { id, forms } of this.#sources) {
      if (!isOn(before, forms) || isOn(now, forms)) continue;
      if (this.#desk.happenings.latest([id], ['stops'])?.origin !== 'equipment') continue;
      this.#stops.set(id, [...(this.#stops.get(id) ?? []), at_us].slice(-this.#count));
    }
  }

  /** From when on that source has to be tried again; long ago: it may be asked for at any time. */
  restsUntil(source: Id): number {
    const stops = this.#stops.get(source) ?? [];
    const first_us = stops[0];
    const last_us = stops.at(-1);
    if (first_us === undefined || last_us === undefined || stops.length < this.#count) return -Infinity;
    return last_us - first_us <= this.#window_us ? first_us + this.#window_us : -Infinity;
  }
}
