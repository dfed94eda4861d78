import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord } from '../../sim/telemetry.ts';
import { type Channels, isOn } from './channels.ts';
import type { SiteFacts } from './facts.ts';
import type { Happenings } from './happenings.ts';
import { STOOD_US } from './intervals.ts';
import type { Moment } from './judge.ts';

/** When and by what a part lost the last leg of the utility and the last forming source. */
export interface Birth {
  readonly at_us: number;
  readonly cause: HappeningRecord | undefined;
  /** The part holds a piece of the service, as it is connected now. */
  readonly holdsService: boolean;
}

interface BusState {
  readonly id: Id;
  readonly inS: boolean;
  readonly at: Readonly<Record<'present1' | 'present2' | 'forming' | 'part', number>>;
}

/**
 * Births of parts without reference. A part that splits passes its birth on to each piece; of parts that join the older
 * birth counts; a reference that arrives ends it, and when that leaves a new one is born.
 */
export class Births {
  readonly #buses: readonly BusState[];
  readonly #happenings: Happenings;
  readonly #births = new Map<Id, Birth>();

  constructor(facts: SiteFacts, channels: Channels, happenings: Happenings) {
    this.#happenings = happenings;
    this.#buses = facts.site.buses.map(({ id }) => ({
      id,
      inS: facts.sectionOf.get(id) === 'S',
      at: channels.of(id, 'present1', 'present2', 'forming', 'part'),
    }));
  }

  frame({ at_us, now, before }: Moment): void {
    if (before !== undefined && !this.#hasChanged(now, before)) return;
    const referenced = new Set<number>();
    const withService = new Set<number>();
    for (const { at, inS } of this.#buses) {
      if (isOn(now, at.present1) || isOn(now, at.present2) || isOn(now, at.forming)) referenced.add(now[at.part]!);
      if (inS) withService.add(now[at.part]!);
    }
    const oldest = new Map<number, Birth>();
    for (const { id, at } of this.#buses) {
      const part = now[at.part]!;
      if (referenced.has(part)) continue;
      const known = oldest.get(part);
      const own = this.#births.get(id) ?? this.#newBirth(before === undefined ? at_us - STOOD_US : at_us, before);
      if (known === undefined || own.at_us < known.at_us) oldest.set(part, own);
    }
    for (const { id, at } of this.#buses) {
      const part = now[at.part]!;
      const birth = oldest.get(part);
      if (birth === undefined) this.#births.delete(id);
      else this.#births.set(id, { ...birth, holdsService: withService.has(part) });
    }
  }

  #hasChanged(now: Float64Array, before: Float64Array): boolean {
    return this.#buses.some(
      ({ at }) =>
        now[at.part] !== before[at.part] ||
        now[at.forming] !== before[at.forming] ||
        now[at.present1] !== before[at.present1] ||
        now[at.present2] !== before[at.present2],
    );
  }

  /** Of the part that the bus belongs to; undefined while the part has a reference. */
  birthAt(bus: Id): Birth | undefined {
    return this.#births.get(bus);
  }

  #newBirth(at_us: number, before: Float64Array | undefined): Birth {
    const cause = before === undefined ? undefined : this.#happenings.circuitChange();
    return { at_us, cause, holdsService: false };
  }
}
