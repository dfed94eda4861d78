import type { Id } from '../../sim/site-description.ts';
import { type Channels, isOn } from './channels.ts';
import { conductsAny, type Poles, polesOf } from './contacts.ts';
import type { DeviceFacts, SiteFacts } from './facts.ts';
import { type Happenings, originOf, PARTS } from './happenings.ts';
import { STOOD_US } from './intervals.ts';
import type { Moment } from './judge.ts';
import { handOpeningOf, requestLapseOf } from './settings.ts';
import { neighbours } from './site-facts.ts';

/** `gateway.in.request`: a person asks for the island. */
export const REQUEST_FORM = 1;

/** A main breaker that a hand may open. */
export interface Main {
  readonly device: DeviceFacts;
  /** What it means when a hand opens it. */
  readonly means: 'isolation' | 'outage';
  /** Everything behind it, away from the street. */
  readonly behind: ReadonlySet<Id>;
  /** Since when a hand has it open, every line pole; undefined while it is closed, or open for another reason. */
  opened_us: number | undefined;
  /** No line pole conducts, whoever opened it: a contact shows no more than that. */
  isOpen: boolean;
}

/** Mains, and whether a hand has opened them. */
export class HandOpenings {
  readonly mains: readonly Main[];
  readonly #poles: readonly Poles[];
  readonly #happenings: Happenings;

  constructor(facts: SiteFacts, channels: Channels, happenings: Happenings) {
    const devices = facts.devices.filter(({ kind, params }) => kind === 'breaker' && params.role !== 'branch');
    this.#happenings = happenings;
    this.#poles = devices.map((device) => polesOf(channels, device));
    this.mains = devices.map((device) => ({
      device,
      means: handOpeningOf(facts, device),
      behind: busesBehind(facts, device),
      opened_us: undefined,
      isOpen: false,
    }));
  }

  frame({ at_us, now, before }: Moment): void {
    for (const [index, main] of this.mains.entries()) {
      const poles = this.#poles[index]!;
      main.isOpen = !conductsAny(now, poles);
      if (!main.isOpen) main.opened_us = undefined;
      else if (before !== undefined && conductsAny(before, poles)) {
        const origin = originOf(this.#happenings.latest([main.device.id], PARTS));
        main.opened_us = origin === 'person' ? at_us : undefined;
      }
    }
  }

  /** No contact shows the main before that bus, and its opening means isolation. */
  isBlind(bus: Id): boolean {
    return this.mains.some(
      ({ device, means, behind }) => means === 'isolation' && device.params.aux === false && behind.has(bus),
    );
  }

  /** The open main between that bus and the street. */
  before(bus: Id): Main | undefined {
    return this.mains.find(({ isOpen, behind }) => isOpen && behind.has(bus));
  }
}

/** Whether a person on the spot has asked to form, and not too long ago. */
export class RequestWatch {
  readonly #request: number;
  readonly #onSite: number;
  readonly #lapse_us: number;
  #asked_us: number | undefined;

  constructor(facts: SiteFacts, channels: Channels) {
    this.#request = channels.index('gateway.in.request');
    this.#onSite = channels.index('gateway.in.onSite');
    this.#lapse_us = requestLapseOf(facts);
  }

  frame({ at_us, now, before }: Moment): void {
    if (!this.#asks(now)) return;
    if (before === undefined) this.#asked_us = at_us - STOOD_US;
    else if (!this.#asks(before)) this.#asked_us = at_us;
  }

  holdsAt(at_us: number): boolean {
    return this.#asked_us !== undefined && at_us - this.#asked_us <= this.#lapse_us;
  }

  #asks(values: Float64Array): boolean {
    return values[this.#request] === REQUEST_FORM && isOn(values, this.#onSite);
  }
}

/** What the device parts from the street when it opens. */
export function busesBehind({ site }: SiteFacts, device: DeviceFacts): ReadonlySet<Id> {
  const behind = new Set<Id>([device.at[1]]);
  const queue: Id[] = [device.at[1]];
  for (let head = 0; head < queue.length; head += 1) {
    for (const { piece, far } of neighbours(site, queue[head]!)) {
      if (piece.id === device.id || behind.has(far)) continue;
      behind.add(far);
      queue.push(far);
    }
  }
  return behind;
}
