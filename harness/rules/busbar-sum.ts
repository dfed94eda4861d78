import type { Id } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atMost, type Book } from './book.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { type Happenings, originOf } from './happenings.ts';
import { toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import { rootOf } from './root.ts';
import { SlidingMean } from './sliding-mean.ts';
import { busesBehindMain } from './smallest-rating.ts';

/** Bits of who feeds the busbar. */
const BY = { nobody: 0, inverter: 1, vehicle: 2, main: 4 } as const;

interface Feeder {
  readonly source: SourceFacts;
  readonly at: Readonly<Record<'i' | 'energises' | 'path1' | 'path2', number>>;
}

/**
 * What feeds the busbar behind the main: 1.25 of the current of its sources (all that stand behind the main and energise)
 * and, while a path joins one of them to a street that is live, the rating of the main. By the currents that flow, not by
 * the ratings of the sources: what a controller never lets run together is not added up.
 */
export class BusbarSum {
  readonly #book: Book;
  readonly #happenings: Happenings;
  readonly #feeders: readonly Feeder[];
  readonly #street: Readonly<Record<'present1' | 'present2', number>>;
  readonly #busbar_A: number;
  readonly #main_A: number;
  readonly #square = new SlidingMean<undefined>(toUs(limit('own.source.current').values.time_s));
  readonly #vehicles: readonly Id[];
  /** Who feeds it in the frame that holds; one-second values are taken while that stays as it is. */
  #feeds: number = BY.nobody;

  constructor({ facts, channels, book, happenings }: Desk) {
    this.#book = book;
    this.#happenings = happenings;
    this.#street = channels.of(facts.serviceBus, 'present1', 'present2');
    const { busbar } = facts.site.settings;
    const behind = busesBehindMain(facts);
    const main = facts.devices.find(({ kind, params }) => kind === 'breaker' && params.role === 'main');
    this.#busbar_A = typeof busbar === 'number' && behind !== undefined ? busbar : 0;
    this.#main_A = typeof main?.params.rating === 'number' ? main.params.rating : 0;
    const sources = this.#busbar_A > 0 ? facts.following.filter(({ at }) => behind!.has(at)) : [];
    this.#vehicles = facts.forming.map((source) => source.id);
    this.#feeders = sources.map((source) => ({
      source,
      at: channels.of(source.id, 'i', 'energises', 'path1', 'path2'),
    }));
  }

  frame({ at_us, now }: Moment): void {
    const isLive = isOn(now, this.#street.present1) || isOn(now, this.#street.present2);
    let sum_A = 0;
    let feeds: number = BY.nobody;
    for (const { source, at } of this.#feeders) {
      if (!isOn(now, at.energises)) continue;
      sum_A += now[at.i]!;
      feeds |= source.kind === 'vehicle' ? BY.vehicle : BY.inverter;
      if (isLive && (isOn(now, at.path1) || isOn(now, at.path2))) feeds |= BY.main;
    }
    const square = sum_A * sum_A;
    if (feeds === this.#feeds) {
      if (feeds !== BY.nobody) this.#square.take(at_us, square, undefined);
      return;
    }
    this.#close(at_us);
    this.#feeds = feeds;
    if (feeds !== BY.nobody) this.#square.start(at_us, square);
  }

  end(at_us: number): void {
    this.#close(at_us);
  }

  #close(at_us: number): void {
    if (this.#feeds === BY.nobody) return;
    this.#square.passTo(at_us, undefined);
    const { highest } = this.#square;
    if (highest === undefined) return;
    const { source_pu, bus_pu } = limit('nec.source.busbar').values;
    const found = source_pu * rootOf(highest.mean_V) + ((this.#feeds & BY.main) === 0 ? 0 : this.#main_A);
    const most = bus_pu * this.#busbar_A;
    const about = 'what feeds the busbar: 1.25 of its sources, one-second rms, and the main';
    const value = atMost(found, most, most);
    this.#book.add({
      margin: { value, at_us: highest.at_us, found, limit: most, scale: most, unit: 'A', about },
      limit: 'nec.source.busbar',
      against: this.#against(),
    });
  }

  /** A vehicle that gives was told to; inverters alone are what the site was built with. */
  #against(): Origin {
    if ((this.#feeds & BY.vehicle) === 0) return 'site';
    return originOf(this.#happenings.latest(this.#vehicles, ['starts', 'forms']));
  }
}
