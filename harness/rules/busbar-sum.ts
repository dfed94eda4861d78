import { limit } from '../limits/index.ts';
import { atMost, type Book } from './book.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { type Happenings, originOf } from './happenings.ts';
import { toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import { SlidingMean } from './sliding-mean.ts';
import { busesBehindMain } from './smallest-rating.ts';

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
  /** Of the frame that holds: whether the main feeds as well; undefined while no source does. */
  #withMain: boolean | undefined;

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
    this.#feeders = sources.map((source) => ({
      source,
      at: channels.of(source.id, 'i', 'energises', 'path1', 'path2'),
    }));
  }

  frame({ at_us, now }: Moment): void {
    let sum_A = 0;
    const isLive = isOn(now, this.#street.present1) || isOn(now, this.#street.present2);
    let withMain: boolean | undefined;
    for (const { at } of this.#feeders) {
      if (!isOn(now, at.energises)) continue;
      sum_A += now[at.i]!;
      withMain = withMain === true || (isLive && (isOn(now, at.path1) || isOn(now, at.path2)));
    }
    if (withMain === this.#withMain) {
      if (withMain !== undefined) this.#square.take(at_us, sum_A * sum_A, undefined);
      return;
    }
    this.#close(at_us);
    this.#withMain = withMain;
    if (withMain !== undefined) this.#square.start(at_us, sum_A * sum_A);
  }

  end(at_us: number): void {
    this.#close(at_us);
  }

  #close(at_us: number): void {
    if (this.#withMain === undefined) return;
    this.#square.passTo(at_us, undefined);
    const { highest } = this.#square;
    if (highest === undefined) return;
    const { source_pu, bus_pu } = limit('nec.source.busbar').values;
    const found = source_pu * Math.sqrt(highest.mean_V) + (this.#withMain ? this.#main_A : 0);
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
  #against() {
    const vehicles = this.#feeders.filter(({ source }) => source.kind === 'vehicle').map(({ source }) => source.id);
    return originOf(this.#happenings.latest(vehicles, ['starts', 'forms']));
  }
}
