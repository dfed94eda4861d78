import type { Id } from '../../sim/site-description.ts';
import { isOn } from './channels.ts';
import type { Desk, Moment } from './judge.ts';

interface Watched {
  /** Channels whose change is a step. */
  readonly states: readonly number[];
  /** Parts of the buses that it stands on. */
  readonly parts: readonly number[];
}

/**
 * Steps of what an island carries: a load that goes on, off or into another state, a contact that moves, an inverter that
 * starts or ceases, a fault that comes or goes. What moves before the island stands is none.
 */
export class LoadSteps {
  readonly #watched: readonly Watched[];
  readonly #buses: readonly { readonly id: Id; readonly part: number; readonly forming: number }[];
  readonly #last = new Map<Id, number>();

  constructor({ facts, channels }: Desk) {
    const { site } = facts;
    const partOf = (bus: Id): number => channels.index(`${bus}.part`);
    const statesOf: Readonly<Record<string, readonly string[]>> = {
      load: ['on', 'state'],
      pv: ['energises'],
      fault: ['struck'],
      former: ['contactor'],
    };
    this.#buses = site.buses.map(({ id }) => ({ id, ...channels.of(id, 'part', 'forming') }));
    this.#watched = site.pieces.flatMap(({ id, kind, at, legs }) => {
      const isSwitch = kind === 'breaker' || kind === 'relay';
      const names = isSwitch ? legs.filter((leg) => leg !== 'N') : (statesOf[kind] ?? []);
      if (names.length === 0) return [];
      return [{ states: names.map((name) => channels.index(`${id}.${name}`)), parts: at.map(partOf) }];
    });
  }

  frame({ at_us, now, before }: Moment): void {
    if (before === undefined) return;
    for (const { states, parts } of this.#watched) {
      if (states.every((index) => before[index] === now[index])) continue;
      for (const { id, part, forming } of this.#buses) {
        if (!isOn(before, forming) || !isOn(now, forming)) continue;
        if (parts.some((other) => now[other] === now[part])) this.#last.set(id, at_us);
      }
    }
  }

  /** Instant of the last step in the part of that bus; long ago where there was none. */
  lastAt(bus: Id): number {
    return this.#last.get(bus) ?? -Infinity;
  }
}
