import type { Id } from '../../sim/site-description.ts';
import { isOn } from './channels.ts';
import type { Desk } from './judge.ts';

/** Whether a fault stands in the part that a bus belongs to. */
export class StandingFaults {
  readonly #part: number;
  readonly #faults: readonly { readonly struck: number; readonly part: number }[];

  constructor({ facts, channels }: Desk, bus: Id) {
    this.#part = channels.index(`${bus}.part`);
    this.#faults = facts.site.pieces
      .filter(({ kind }) => kind === 'fault')
      .map(({ id, at }) => ({ struck: channels.index(`${id}.struck`), part: channels.index(`${at[0]}.part`) }));
  }

  stands(now: Float64Array): boolean {
    return this.#faults.some(({ struck, part }) => isOn(now, struck) && now[part] === now[this.#part]);
  }
}
