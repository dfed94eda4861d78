import type { Id } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atLeast, atMost, type Finding, upperMargin } from './book.ts';
import { isOn } from './channels.ts';
import { originOf } from './happenings.ts';
import { STOOD_US, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** Contacts are not worn out by the controller. */
export const relayDuty = rule({
  id: 'relay-duty',
  about:
    'Relay, neutral former and plug contactor make twice a minute at most, the relay rests before it makes again, none breaks above its rating.',
  limit: 'own.relay-duty.makes',
  needs: 'phasor',
  scale: '2 makes, 10 s, the rating of the contact',
  preside: (desk) => {
    const duties = contactsOf(desk).map((contact) => new Duty(desk, contact));
    return {
      frame: (moment) => {
        for (const duty of duties) duty.frame(moment);
      },
      end: () => {},
    };
  },
});

interface Contact {
  readonly piece: Id;
  /** State of each pole with the current in it. */
  readonly poles: readonly { readonly state: number; readonly current: number }[];
  readonly rating_A: number | undefined;
  readonly makes: readonly string[];
  readonly breaks: readonly string[];
  /** Whether it must rest before it makes again: an outage may find any other contact just opened, and the house must come back. */
  readonly rests: boolean;
}

function contactsOf({ facts, channels }: Desk): Contact[] {
  const makes = ['touches L1', 'touches L2', 'welds L1', 'welds L2'];
  const breaks = ['parts L1', 'parts L2'];
  const rating = (value: unknown): number | undefined => (typeof value === 'number' ? value : undefined);
  const one = (state: number, current: number) => [{ state, current }];
  return facts.site.pieces.flatMap(({ id, kind, params }): Contact[] => {
    const index = (name: string): number => channels.index(`${id}.${name}`);
    if (kind === 'relay') {
      const poles = [
        { state: index('L1'), current: index('i1') },
        { state: index('L2'), current: index('i2') },
      ];
      return [{ piece: id, poles, rating_A: rating(params.rating), makes, breaks, rests: true }];
    }
    if (kind === 'former') {
      const poles = one(index('contactor'), index('neutralCurrent'));
      return [{ piece: id, poles, rating_A: rating(params.rating), makes, breaks, rests: false }];
    }
    if (kind !== 'vehicle') return [];
    const poles = one(index('contactor'), index('i'));
    const rating_A = rating(params.supplyBreaker);
    return [{ piece: id, poles, rating_A, makes: ['joins'], breaks: ['leaves'], rests: false }];
  });
}

/** One contact. Open for less than 50 ms is a bounce of the make before it. */
class Duty implements Judge {
  readonly #desk: Desk;
  readonly #contact: Contact;
  readonly #bounce_us = toUs(limit('own.touch-apart').values.time_s);
  readonly #window_us = toUs(limit('own.relay-duty.makes').values.time_s);
  #openedAt_us = 0;
  #makes_us: readonly number[] = [];

  constructor(desk: Desk, contact: Contact) {
    this.#desk = desk;
    this.#contact = contact;
  }

  frame({ at_us, now, before }: Moment): void {
    if (before === undefined) {
      this.#openedAt_us = at_us - STOOD_US;
      return;
    }
    let broken_A = -1;
    for (const { state, current } of this.#contact.poles) {
      if (isOn(before, state) && !isOn(now, state)) broken_A = Math.max(broken_A, Math.abs(before[current]!));
    }
    if (broken_A >= 0) this.#break(at_us, broken_A);
    const was = this.#conducts(before);
    const is = this.#conducts(now);
    if (was && !is) this.#openedAt_us = at_us;
    else if (!was && is && at_us - this.#openedAt_us >= this.#bounce_us) this.#make(at_us);
  }

  end(): void {}

  #conducts(values: Float64Array): boolean {
    return this.#contact.poles.some(({ state }) => isOn(values, state));
  }

  #make(at_us: number): void {
    const { book } = this.#desk;
    const { piece, makes, rests } = this.#contact;
    const against = this.#originOf(makes);
    book.arm();
    this.#makes_us = [...this.#makes_us.filter((make_us) => at_us - make_us < this.#window_us), at_us];
    const most = limit('own.relay-duty.makes').values.count_1;
    const found = this.#makes_us.length;
    const about = `makes of ${piece} within a minute`;
    const value = atMost(found, most, most);
    book.add({
      margin: { value, at_us, found, limit: most, scale: most, unit: 'count', about },
      limit: 'own.relay-duty.makes',
      against,
    });
    if (rests) book.add(this.#pause(at_us, against));
  }

  #pause(at_us: number, against: Origin): Finding {
    const least_us = toUs(limit('own.relay-duty.pause').values.time_s);
    const found = at_us - this.#openedAt_us;
    const about = `${this.#contact.piece} makes, time since it opened`;
    const value = atLeast(found, least_us, least_us);
    return {
      margin: { value, at_us, found, limit: least_us, scale: least_us, unit: 'µs', about },
      limit: 'own.relay-duty.pause',
      against,
    };
  }

  #break(at_us: number, current_A: number): void {
    const { piece, rating_A, breaks } = this.#contact;
    if (rating_A === undefined || rating_A <= 0) return;
    this.#desk.book.arm();
    const most_A = rating_A * limit('own.relay-duty.load').values.share_pu;
    const about = `current that ${piece} breaks`;
    const margin = upperMargin(at_us, current_A, most_A, 'A', about);
    this.#desk.book.add({ margin, limit: 'own.relay-duty.load', against: this.#originOf(breaks) });
  }

  #originOf(doings: readonly string[]): Origin {
    return originOf(this.#desk.happenings.latest([this.#contact.piece], doings));
  }
}
