import type { Id } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atMost, timeFinding, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { falls } from './edges.ts';
import { originOf } from './happenings.ts';
import { Deadline, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { COMMAND } from './vehicle-work.ts';

/** Current down, contactor open, plug free: in that order, and at once where the plug has gone already. */
export const plugOrder = rule({
  id: 'plug-order',
  about: 'The supply contactor opens without current, at once when the pilot is lost, and before the plug is unlocked.',
  limit: 'iec-61851-1.plug.pilot-lost',
  needs: 'phasor',
  scale: '100 ms from the loss of the pilot; 1 A at an opening; an unlocking with the contactor closed counts 1',
  preside: (desk) => {
    const plugs = desk.facts.forming.map((source) => new Plug(desk, source.id));
    return {
      frame: (moment) => {
        for (const plug of plugs) plug.frame(moment);
      },
      end: (at_us) => {
        for (const plug of plugs) plug.end(at_us);
      },
    };
  },
});

const AT_REST: readonly number[] = [COMMAND.idle, COMMAND.stop];
/** What a person does who wants the vehicle to end, and what lets go of the lock. */
const ASKS = ['stop', 'leave'] as const;
const UNLOCKS = ['unlocks', 'lock broken', 'lose lock', 'mend lock'] as const;

class Plug implements Judge {
  readonly #desk: Desk;
  readonly #id: Id;
  readonly #own: Readonly<Record<'plugged' | 'contactor' | 'locked' | 'i', number>>;
  readonly #orders: Readonly<Record<'vehicleCommand' | 'plugLock', number>>;
  readonly #pilotLost = new Deadline(toUs(limit('iec-61851-1.plug.pilot-lost').values.time_s));
  #releasedAt_us: number | undefined;

  constructor(desk: Desk, id: Id) {
    this.#desk = desk;
    this.#id = id;
    this.#own = desk.channels.of(id, 'plugged', 'contactor', 'locked', 'i');
    this.#orders = desk.channels.of('gateway', 'vehicleCommand', 'plugLock');
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    if (before === undefined) return;
    this.#followOrder(moment);
    const wasLost = this.#pilotLost.from_us !== undefined;
    if (falls(moment, this.#own.plugged) && isOn(before, this.#own.contactor)) {
      this.#desk.book.arm();
      this.#pilotLost.open(at_us, 'equipment');
    }
    if (!isOn(now, this.#own.contactor)) this.#closePilot(at_us);
    if (falls(moment, this.#own.contactor) && !wasLost && isOn(now, this.#own.plugged)) this.#opens(moment);
    if (falls(moment, this.#own.locked) && isOn(now, this.#own.plugged)) this.#unlocks(at_us, now);
  }

  end(at_us: number): void {
    if (this.#pilotLost.isBrokenAt(at_us)) this.#closePilot(at_us);
    else if (this.#pilotLost.from_us !== undefined) this.#desk.book.owe();
  }

  #followOrder({ at_us, now, before }: Moment): void {
    const rests = AT_REST.includes(now[this.#orders.vehicleCommand]!);
    const rested = AT_REST.includes(before![this.#orders.vehicleCommand]!);
    if (!rests) this.#releasedAt_us = undefined;
    else if (!rested) this.#releasedAt_us = at_us;
  }

  /** A pull on the plug is nobody's fault; what comes too late after it is the equipment's. */
  #closePilot(at_us: number): void {
    const found_us = this.#pilotLost.close(at_us);
    if (found_us === undefined) return;
    const { limit_us } = this.#pilotLost;
    const about = `${this.#id}, from the loss of the pilot until its contactor is open`;
    const key = 'iec-61851-1.plug.pilot-lost';
    this.#desk.book.add(timeFinding({ at_us, found_us, limit_us, key, against: 'equipment', about }));
  }

  /** Whoever asked: the gateway, a person, or the vehicle itself. Forced open after 7 s it is reported and not judged. */
  #opens({ at_us, before }: Moment): void {
    const { book, happenings } = this.#desk;
    const { current_A: most, time_s } = limit('own.plug.current').values;
    const found = Math.abs(before![this.#own.i]!);
    book.arm();
    const asked_us = Math.max(
      this.#releasedAt_us ?? Number.NEGATIVE_INFINITY,
      happenings.latest([this.#id], ASKS)?.at_us ?? Number.NEGATIVE_INFINITY,
    );
    const forced = found > most && Number.isFinite(asked_us) && at_us - asked_us >= toUs(time_s);
    const about = `current of ${this.#id} as its contactor opens`;
    if (forced) {
      const text = `${about}, forced open ${time_s} s after the release was asked`;
      book.note({ is: 'report', at_us, text, found: { current_A: found } });
    }
    const value = forced ? 0 : atMost(found, most, most);
    const against = originOf(happenings.latest([this.#id], ['leaves']));
    book.add({
      margin: { value, at_us, found, limit: most, scale: most, unit: 'A', about },
      limit: 'own.plug.current',
      against,
    });
  }

  #unlocks(at_us: number, now: Float64Array): void {
    const isOpen = !isOn(now, this.#own.contactor);
    const about = `the plug of ${this.#id} is unlocked once its contactor is open`;
    this.#desk.book.arm();
    this.#desk.book.add(yesOrNo(at_us, isOpen, 'own.plug.unlock', this.#whoUnlocked(at_us, now), about));
  }

  #whoUnlocked(at_us: number, now: Float64Array): Origin {
    const record = this.#desk.happenings.latest([this.#id], UNLOCKS);
    if (record !== undefined && record.at_us === at_us) return record.origin;
    return isOn(now, this.#orders.plugLock) ? 'equipment' : 'controller';
  }
}
