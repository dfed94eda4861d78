import type { Id } from '../../sim/site-description.ts';
import { type Channels, isOn } from './channels.ts';
import { conductsAny, type Poles, polesOf } from './contacts.ts';
import type { SiteFacts } from './facts.ts';
import { Since } from './intervals.ts';
import type { Moment } from './judge.ts';

/** Relays that stand between one bus and the service: how long all their line poles have been open, and their proofs. */
export class Isolation {
  readonly #poles: readonly Poles[];
  readonly #proofs: readonly number[];
  readonly #facts: SiteFacts;
  readonly #bus: Id;
  readonly #open = new Since();

  constructor(facts: SiteFacts, channels: Channels, bus: Id) {
    this.#facts = facts;
    this.#bus = bus;
    const between = facts.relays.filter((relay) => separates(facts, bus, (id) => id === relay.id));
    const relays = between.length > 0 ? between : facts.relays;
    this.#poles = facts.relays.map((relay) => polesOf(channels, relay));
    this.#proofs = relays.flatMap((relay) =>
      polesOf(channels, relay).legs.map(({ leg }) => channels.index(`${relay.id}.openProved${leg === 'L1' ? 1 : 2}`)),
    );
  }

  /** Where several relays lie in a row one open relay is enough; where they lie side by side all must be open. */
  frame({ at_us, now, before }: Moment): void {
    const changed =
      before === undefined || this.#poles.some((poles) => conductsAny(before, poles) !== conductsAny(now, poles));
    if (!changed) return;
    const open = new Set(this.#poles.filter((poles) => !conductsAny(now, poles)).map(({ device }) => device.id));
    this.#open.update(
      at_us,
      separates(this.#facts, this.#bus, (id) => open.has(id)),
    );
  }

  get isOpen(): boolean {
    return this.#open.from_us !== undefined;
  }

  openFor(at_us: number): number {
    return this.#open.heldAt(at_us);
  }

  /** Every contact that proves a pole open says so, as the contacts are. */
  isProved(values: Float64Array): boolean {
    return this.#proofs.every((index) => isOn(values, index));
  }
}

/** Whether the bus is cut off from the service when those relays are open and everything else is closed: a main is no relay. */
function separates({ site, serviceBus, relays }: SiteFacts, bus: Id, isOpen: (relay: Id) => boolean): boolean {
  const shut = new Set(relays.filter((relay) => isOpen(relay.id)).map((relay) => relay.id));
  const seen = new Set<Id>([serviceBus]);
  const queue: Id[] = [serviceBus];
  for (let head = 0; head < queue.length; head += 1) {
    const here = queue[head]!;
    for (const { id, at } of site.pieces) {
      if (shut.has(id) || !at.includes(here)) continue;
      for (const far of at) {
        if (seen.has(far)) continue;
        seen.add(far);
        queue.push(far);
      }
    }
  }
  return !seen.has(bus);
}
