import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type ItiLevel, itiLowerGrid, itiUpperGrid } from '../limits/iti.ts';
import { type Book, timeFinding } from './book.ts';
import { isOn } from './channels.ts';
import { Excursions } from './excursions.ts';
import type { SiteFacts } from './facts.ts';
import { FeedWatch } from './feed.ts';
import { toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { SteadyVoltage } from './steady-voltage.ts';

/** What 120 V equipment bears on each leg, and 240 V equipment across them, for as long as it lasts. */
export const legVoltage = rule({
  id: 'leg-voltage',
  about:
    'Each voltage of a section with load stays within the ITI edge as one-cycle rms, and within range B of ANSI C84.1 as a mean over 60 s; crests shorter than half a cycle are left to waveforms.',
  limit: 'iti.upper.110',
  needs: 'phasor',
  scale: 'the time that the edge allows at the level passed; half the width of the range for a mean',
  preside: (desk) => {
    const watches = quantitiesOf(desk).map((quantity) => new VoltageWatch(desk, quantity));
    return {
      frame: (moment) => {
        for (const watch of watches) watch.frame(moment);
      },
      end: (at_us) => {
        for (const watch of watches) watch.end(at_us);
      },
    };
  },
});

const LIVE_pu = limit('own.live').values.level_pu;

export interface Quantity {
  readonly bus: Id;
  readonly name: 'u1' | 'u2' | 'u12';
  readonly nominal_V: number;
  readonly about: string;
}

/** Legs where something stands between line and neutral, L1-L2 where something stands across the legs. */
export function quantitiesOf({ facts }: Desk): Quantity[] {
  const quantities: Quantity[] = [];
  for (const { id } of facts.site.buses) {
    if (facts.legLoadAt.has(id)) {
      quantities.push({ bus: id, name: 'u1', nominal_V: LEG_V, about: `leg L1 at ${id}` });
      quantities.push({ bus: id, name: 'u2', nominal_V: LEG_V, about: `leg L2 at ${id}` });
    }
    if (hasLineLoad(facts, id)) quantities.push({ bus: id, name: 'u12', nominal_V: LINE_V, about: `L1-L2 at ${id}` });
  }
  return quantities;
}

function hasLineLoad({ site }: SiteFacts, bus: Id): boolean {
  return site.pieces.some((piece) => piece.kind === 'load' && piece.at[0] === bus && !piece.legs.includes('N'));
}

/** One voltage against both edges and as a mean. The lower edge counts only while somebody answers for the supply. */
class VoltageWatch implements Judge {
  readonly #desk: Desk;
  readonly #quantity: Quantity;
  readonly #index: number;
  readonly #upper: Excursions;
  readonly #lower: Excursions;
  readonly #steady: SteadyVoltage;
  readonly #feed: FeedWatch;
  readonly #upperGrid = itiUpperGrid();
  readonly #lowerGrid = itiLowerGrid();
  readonly #sources: readonly number[];
  #carried = false;
  #canTakeOver = false;
  #level_pu = Number.NaN;
  #cause: HappeningRecord | undefined;
  /** From when the lower edge counts, and whether that instant has passed. */
  #countsFrom_us: number | undefined;
  #counting = false;

  constructor(desk: Desk, quantity: Quantity) {
    const { facts, channels, book } = desk;
    this.#desk = desk;
    this.#quantity = quantity;
    this.#index = channels.index(`${quantity.bus}.${quantity.name}`);
    this.#sources = facts.forming.map((source) => channels.index(`${source.id}.tripped`));
    this.#feed = new FeedWatch(channels, quantity.bus, facts.serviceBus, facts.forming.length > 0);
    this.#steady = new SteadyVoltage({ book, ...quantity }, channels);
    const reaction_us = (): number => (this.#canTakeOver ? toUs(limit('own.reaction').values.time_s) : 0);
    const shared = { book, about: quantity.about, reaction_us };
    this.#upper = new Excursions({ ...shared, grid: this.#upperGrid, side: 'above' });
    this.#lower = new Excursions({ ...shared, grid: this.#lowerGrid, side: 'below' });
  }

  frame({ at_us, now }: Moment): void {
    this.#startCounting(at_us);
    this.#canTakeOver = this.#sources.some((tripped) => !isOn(now, tripped));
    const level_pu = now[this.#index]! / this.#quantity.nominal_V;
    // What happened since answers for the next change only: a frame that repeats itself shows nothing new.
    if (level_pu !== this.#level_pu) this.#cause = this.#desk.happenings.circuitChange();
    this.#level_pu = level_pu;
    if (!this.#carried && this.#level_pu >= LIVE_pu) {
      this.#carried = true;
      this.#arm(at_us, this.#upperGrid[0]!, 'above');
    }
    this.#upper.take(at_us, this.#level_pu, this.#cause);
    this.#takeLower(at_us, now);
    this.#steady.take(at_us, now, now[this.#index]!, this.#cause);
  }

  end(at_us: number): void {
    this.#startCounting(at_us);
    this.#upper.end(at_us);
    this.#lower.end(at_us);
    this.#steady.end(at_us);
  }

  #takeLower(at_us: number, now: Float64Array): void {
    const countsFrom_us = this.#feed.countsFrom(at_us, now);
    if (countsFrom_us === undefined) {
      this.#lower.release(at_us);
      this.#counting = false;
      this.#countsFrom_us = undefined;
      return;
    }
    // Once it counts it goes on counting; before that, the later of the two instants stands.
    if (!this.#counting) this.#countsFrom_us = countsFrom_us;
    if (this.#counting || countsFrom_us <= at_us) {
      if (!this.#counting) this.#arm(at_us, this.#lowerGrid[0]!, 'below');
      this.#counting = true;
      this.#lower.take(at_us, this.#level_pu, this.#cause);
    }
  }

  /** The pause may end between two frames: what held then is taken at its very end. */
  #startCounting(at_us: number): void {
    const from_us = this.#countsFrom_us;
    if (this.#counting || from_us === undefined || from_us > at_us) return;
    this.#counting = true;
    this.#arm(from_us, this.#lowerGrid[0]!, 'below');
    this.#lower.take(from_us, this.#level_pu, this.#cause);
  }

  /** Armed, and so far not beyond: the best margin there is. */
  #arm(at_us: number, { time_s, level_pu, limit: key }: ItiLevel, side: 'above' | 'below'): void {
    const book: Book = this.#desk.book;
    book.arm();
    const about = `${this.#quantity.about} ${side} ${level_pu} pu, one-cycle rms`;
    book.add(timeFinding({ at_us, found_us: 0, limit_us: toUs(time_s), key, against: 'site', about }));
  }
}
