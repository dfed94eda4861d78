import type { Id, Piece } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { atMost, yesOrNo } from './book.ts';
import { type Channels, isOn } from './channels.ts';
import { falls, moves, rises } from './edges.ts';
import type { SourceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { toUs } from './intervals.ts';
import { type Desk, type Moment, rule } from './judge.ts';

/** A source that overload or fault has stopped is not started again and again, nor onto the same load. */
export const restartLimit = rule({
  id: 'restart-limit',
  about:
    'A source that stopped on overload or fault starts again 3 times in 10 minutes at most, from the second time on without its load.',
  limit: 'own.restart.count',
  needs: 'phasor',
  scale: '3 restarts; a restart onto the same load counts 1',
  preside: (desk) => {
    const additions = new Additions(desk);
    const sources = desk.facts.forming.map((source) => new Restarts(desk, source, additions));
    return {
      frame: (moment) => {
        additions.frame(moment);
        for (const source of sources) source.frame(moment);
      },
      end: () => {},
    };
  },
});

/** Codes of `<vehicle>.fault` that are an overload or a fault: overload, undervoltage, earth fault, neutral lost, overcharge, internal. */
const STOPPING_FAULTS: readonly number[] = [1, 2, 4, 5, 6, 8];

interface Taker {
  readonly id: Id;
  /** On or struck. */
  readonly on: number;
  /** Of the bus that it stands on. */
  readonly part: number;
  readonly state: number | undefined;
}

/** Loads and short circuits, and which of them was added last. */
class Additions {
  readonly takers: readonly Taker[];
  last: { readonly taker: Taker; readonly at_us: number } | undefined;

  constructor({ facts, channels }: Desk) {
    this.takers = facts.site.pieces.flatMap((piece) => takerOf(channels, piece) ?? []);
  }

  /** A load is added when it is switched on, or when it does something else while it is on, as a motor that starts. */
  frame(moment: Moment): void {
    for (const taker of this.takers) {
      const isNew = rises(moment, taker.on) || (taker.state !== undefined && moves(moment, taker.state));
      if (isNew && isOn(moment.now, taker.on)) this.last = { taker, at_us: moment.at_us };
    }
  }
}

function takerOf(channels: Channels, { id, kind, at }: Piece): Taker | undefined {
  if (kind !== 'fault' && kind !== 'load') return undefined;
  const part = channels.index(`${at[0]}.part`);
  if (kind === 'fault') return { id, part, on: channels.index(`${id}.struck`), state: undefined };
  return { id, part, on: channels.index(`${id}.on`), state: channels.index(`${id}.state`) };
}

class Restarts {
  readonly #desk: Desk;
  readonly #source: Id;
  readonly #additions: Additions;
  readonly #forms: number;
  readonly #fault: number;
  readonly #part: number;
  readonly #window_us = toUs(limit('own.restart.count').values.time_s);
  #formedAt_us = Number.NEGATIVE_INFINITY;
  #stoppedAt_us = Number.NEGATIVE_INFINITY;
  #hasStopped = false;
  /** Came last before it stopped; where nothing came since it started again, what stopped it before and is still on. */
  #culprit: Taker | undefined;
  #wereOn: readonly Taker[] = [];
  #restarts_us: readonly number[] = [];

  constructor(desk: Desk, source: SourceFacts, additions: Additions) {
    this.#desk = desk;
    this.#source = source.id;
    this.#additions = additions;
    this.#forms = desk.channels.index(`${source.id}.forms`);
    this.#fault = desk.channels.index(`${source.id}.fault`);
    this.#part = desk.channels.index(`${source.at}.part`);
  }

  frame(moment: Moment): void {
    const { at_us, now } = moment;
    if (rises(moment, this.#forms)) {
      if (this.#hasStopped) this.#restart(at_us, now);
      this.#hasStopped = false;
      this.#formedAt_us = at_us;
    } else if (falls(moment, this.#forms)) this.#stoppedAt_us = at_us;
    if (at_us === this.#stoppedAt_us && !this.#hasStopped && STOPPING_FAULTS.includes(now[this.#fault]!)) {
      this.#stop(now);
    }
  }

  #stop(now: Float64Array): void {
    this.#hasStopped = true;
    this.#desk.book.arm();
    const { last, takers } = this.#additions;
    const recent = this.#recent(this.#stoppedAt_us).length;
    if (last !== undefined && last.at_us >= this.#formedAt_us) this.#culprit = last.taker;
    else if (recent === 0 || (this.#culprit && !this.#feeds(now, this.#culprit))) this.#culprit = undefined;
    this.#wereOn = takers.filter((taker) => this.#feeds(now, taker));
    this.#desk.book.add(this.#count(this.#stoppedAt_us, recent));
  }

  #restart(at_us: number, now: Float64Array): void {
    this.#restarts_us = [...this.#recent(at_us), at_us];
    const { book } = this.#desk;
    book.add(this.#count(at_us, this.#restarts_us.length));
    if (this.#restarts_us.length < 2 || this.#wereOn.length === 0) return;
    const culprit = this.#culprit;
    const isRid =
      culprit === undefined ? this.#wereOn.some((taker) => !this.#feeds(now, taker)) : !this.#feeds(now, culprit);
    const load = culprit === undefined ? 'all that it had when it stopped' : culprit.id;
    const about = `${this.#source} restarts a second time onto ${load}`;
    book.add(yesOrNo(at_us, isRid, 'own.restart.load', this.#against(), about));
  }

  /** On, and not behind something that is open. */
  #feeds(values: Float64Array, { on, part }: Taker): boolean {
    return isOn(values, on) && values[part] === values[this.#part];
  }

  #recent(at_us: number): readonly number[] {
    return this.#restarts_us.filter((restart_us) => at_us - restart_us < this.#window_us);
  }

  #count(at_us: number, found: number) {
    const most = limit('own.restart.count').values.count_1;
    const about = `restarts of ${this.#source} within 10 minutes`;
    const value = atMost(found, most, most);
    return {
      margin: { value, at_us, found, limit: most, scale: most, unit: 'count' as const, about },
      limit: 'own.restart.count' as const,
      against: this.#against(),
    };
  }

  #against() {
    return originOf(this.#desk.happenings.latest([this.#source], ['forms']));
  }
}
