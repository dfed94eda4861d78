import type { Id, Piece } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { atMost, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import { BusLevel } from './bus-level.ts';
import { isOn } from './channels.ts';
import { originOf } from './happenings.ts';
import { Deadline, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** A fault in an island is not fed for long, and not again and again. */
export const islandFault = rule({
  id: 'island-fault',
  about:
    'Half a second after a fault has struck in a formed island the faulted part is dead; one restart onto it at most.',
  limit: 'own.island-fault.time',
  needs: 'phasor',
  scale: '500 ms; one restart',
  preside: (desk) => {
    const faults = desk.facts.site.pieces
      .filter(({ kind }) => kind === 'fault')
      .map((piece) => new FaultWatch(desk, piece));
    return {
      frame: (moment) => {
        for (const fault of faults) fault.frame(moment);
      },
      end: (at_us) => {
        for (const fault of faults) fault.end(at_us);
      },
    };
  },
});

interface LoadedBus {
  readonly bus: Id;
  readonly part: number;
  readonly forming: number;
}

type Names = 'part' | 'forming' | 'following' | 'present1' | 'present2';

/** One fault at its bus: dead is no source there and no voltage above 0.10 pu, for 100 ms, from the start of those. */
class FaultWatch implements Judge {
  readonly #desk: Desk;
  readonly #id: Id;
  readonly #bus: Id;
  readonly #struck: number;
  readonly #at: Readonly<Record<Names, number>>;
  readonly #level: BusLevel;
  readonly #loads: readonly LoadedBus[];
  readonly #sources: readonly Id[];
  readonly #time = new Deadline(toUs(limit('own.island-fault.time').values.time_s));
  readonly #deadTime_us = toUs(limit('own.dead-bus').values.time_s);
  #dead_us: number | undefined;
  #fed: readonly Id[] = [];
  /** Of those, what had gone dark as the fault was dead. */
  #dark: readonly LoadedBus[] = [];
  /** Times that a source has formed onto it after it was dead; undefined until it was. */
  #restarts: number | undefined;
  #energised = false;

  constructor({ facts, channels, ...desk }: Desk, { id, at }: Piece) {
    this.#desk = { facts, channels, ...desk };
    this.#id = id;
    this.#bus = at[0]!;
    this.#struck = channels.index(`${id}.struck`);
    this.#at = channels.of(this.#bus, 'part', 'forming', 'following', 'present1', 'present2');
    this.#level = new BusLevel(channels, this.#bus);
    this.#loads = [...facts.loadAt].map((bus) => ({ bus, ...channels.of(bus, 'part', 'forming') }));
    this.#sources = facts.forming.map((source) => source.id);
  }

  frame({ at_us, now, before }: Moment): void {
    this.#settle(at_us);
    const struck = isOn(now, this.#struck);
    if (!struck) {
      this.#close(at_us);
      this.#restarts = undefined;
    }
    const energised = struck && isOn(now, this.#at.forming);
    if (energised && !this.#energised) this.#feeds(at_us, now, before);
    this.#energised = energised;
    if (this.#time.from_us === undefined || !this.#isDead(now)) this.#dead_us = undefined;
    else if (this.#dead_us === undefined) {
      this.#dead_us = at_us;
      this.#dark = this.#loads.filter(({ bus, forming }) => this.#fed.includes(bus) && !isOn(now, forming));
    }
  }

  end(at_us: number): void {
    this.#settle(at_us);
    if (this.#time.from_us === undefined) return;
    if (this.#dead_us === undefined && this.#time.isBrokenAt(at_us)) this.#close(at_us);
    else this.#desk.book.owe();
  }

  /** A source forms onto it: by the strike, or by a start. */
  #feeds(at_us: number, now: Float64Array, before: Float64Array | undefined): void {
    const { book, happenings } = this.#desk;
    const strikes = before === undefined || !isOn(before, this.#struck);
    const cause = strikes ? happenings.latest([this.#id], ['strike']) : happenings.latest(this.#sources, ['forms']);
    if (this.#restarts !== undefined) {
      this.#restarts += 1;
      const most = limit('own.island-fault.restarts').values.count_1;
      const about = `restarts onto ${this.#id}`;
      const value = atMost(this.#restarts, most, 1);
      const margin = { value, at_us, found: this.#restarts, limit: most, scale: 1, unit: 'count' as const, about };
      book.add({ margin, limit: 'own.island-fault.restarts', against: originOf(cause) });
    }
    if (this.#time.from_us !== undefined) return;
    book.arm();
    this.#time.open(at_us, originOf(cause));
    const part = now[this.#at.part]!;
    this.#fed = this.#loads.filter((load) => now[load.part] === part && load.bus !== this.#bus).map(({ bus }) => bus);
  }

  #settle(at_us: number): void {
    const dead_us = this.#dead_us;
    if (dead_us === undefined || at_us - dead_us < this.#deadTime_us) return;
    this.#close(dead_us);
    this.#restarts ??= 0;
  }

  #isDead(values: Float64Array): boolean {
    const { forming, following, present1, present2 } = this.#at;
    const isFed = [forming, following, present1, present2].some((index) => isOn(values, index));
    return !isFed && this.#level.momentary(values) <= limit('own.dead-bus').values.level_pu;
  }

  #close(at_us: number): void {
    const { against, limit_us } = this.#time;
    const found_us = this.#time.close(at_us);
    const dark = this.#dead_us === undefined ? [] : this.#dark;
    this.#dead_us = undefined;
    if (found_us === undefined) return;
    const also = dark.length === 0 ? '' : `; with it went dark: ${dark.map(({ bus }) => bus).join(', ')}`;
    const about = `${this.#id} at ${this.#bus} from its start until that part is dead${also}`;
    const resolution = { phasor: HALF_CYCLE_US / limit_us, wave: WAVE_CROSSING_US / limit_us, edges_us: [at_us] };
    const key = 'own.island-fault.time';
    this.#desk.book.add(timeFinding({ at_us, found_us, limit_us, key, against, about, resolution }));
  }
}
