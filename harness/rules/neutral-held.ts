import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';
import { LEG_V } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import type { ItiLevel } from '../limits/iti.ts';
import { timeFinding } from './book.ts';
import { isOn } from './channels.ts';
import { Excursions } from './excursions.ts';
import { type Happenings, originOf, PARTS } from './happenings.ts';
import { Deadline, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** The middle of an island stays the middle, and what holds it there is not overloaded. */
export const neutralHeld = rule({
  id: 'neutral-held',
  about:
    'The legs of an island stay alike, the source stops when nothing holds the neutral, and no neutral former is overloaded.',
  limit: 'own.neutral.loss',
  needs: 'phasor',
  scale: 'the time that each level allows: legs apart by 5 or 15 %, neutral lost, neutral current',
  preside: (desk) => {
    const { facts } = desk;
    const formers = facts.site.pieces.filter(({ kind }) => kind === 'former');
    const ids = formers.map(({ id }) => id);
    const judges: Judge[] = [
      ...[...facts.legLoadAt].map((bus) => new LegsAlike(desk, bus)),
      ...facts.forming.map(({ id, at }) => new NeutralLoss(desk, id, at, ids)),
      ...formers.map(({ id, params }) => new FormerLoad(desk, id, Number(params.rating))),
    ];
    return {
      frame: (moment) => {
        for (const each of judges) each.frame(moment);
      },
      end: (at_us) => {
        for (const each of judges) each.end(at_us);
      },
    };
  },
});

function level(key: 'own.neutral.slow' | 'own.neutral.fast' | 'own.neutral.former' | 'own.neutral.former-short') {
  return { ...limit(key).values, limit: key } satisfies ItiLevel;
}

/** Runs of one quantity over its levels, while it is judged; armed anew each time that begins. */
class Runs {
  readonly #desk: Desk;
  readonly #runs: Excursions;
  readonly #about: string;
  readonly #mildest: ItiLevel;
  #value = Number.NaN;
  #cause: HappeningRecord | undefined;
  #isOn = false;

  constructor(desk: Desk, grid: readonly [ItiLevel, ItiLevel], about: string, measure: string) {
    this.#desk = desk;
    this.#mildest = grid[0];
    this.#about = `${about} above ${grid[0].level_pu} ${measure}`;
    this.#runs = new Excursions({ book: desk.book, grid, side: 'above', about, measure, reaction_us: () => 0 });
  }

  /** `value` undefined: not judged now. */
  take(at_us: number, value: number | undefined): void {
    if (value === undefined) {
      if (this.#isOn) this.#runs.release(at_us);
      this.#isOn = false;
      return;
    }
    if (!this.#isOn) this.#arm(at_us);
    // What happened since answers for the next change only: a frame that repeats itself shows nothing new.
    if (value !== this.#value) this.#cause = this.#desk.happenings.circuitChange();
    this.#value = value;
    this.#runs.take(at_us, value, this.#cause);
  }

  end(at_us: number): void {
    if (this.#isOn) this.#runs.end(at_us);
  }

  #arm(at_us: number): void {
    this.#isOn = true;
    const { book } = this.#desk;
    book.arm();
    const { time_s, limit: key } = this.#mildest;
    const about = this.#about;
    book.add(timeFinding({ at_us, found_us: 0, limit_us: toUs(time_s), key, against: 'site', about }));
  }
}

/** How far the legs of one bus with load on them are apart, in a formed island. */
class LegsAlike implements Judge {
  readonly #at: Readonly<Record<'u1' | 'u2' | 'forming', number>>;
  readonly #runs: Runs;

  constructor(desk: Desk, bus: Id) {
    this.#at = desk.channels.of(bus, 'u1', 'u2', 'forming');
    const grid = [level('own.neutral.slow'), level('own.neutral.fast')] as const;
    this.#runs = new Runs(desk, grid, `difference of the legs at ${bus}`, 'of 120 V, one-cycle rms');
  }

  frame({ at_us, now }: Moment): void {
    const { u1, u2, forming } = this.#at;
    this.#runs.take(at_us, isOn(now, forming) ? Math.abs(now[u1]! - now[u2]!) / LEG_V : undefined);
  }

  end(at_us: number): void {
    this.#runs.end(at_us);
  }
}

/** Neutral current of one former while its contact conducts, on the utility as well. */
class FormerLoad implements Judge {
  readonly #at: Readonly<Record<'contactor' | 'neutralCurrent', number>>;
  readonly #rating_A: number;
  readonly #runs: Runs;

  constructor(desk: Desk, former: Id, rating_A: number) {
    this.#at = desk.channels.of(former, 'contactor', 'neutralCurrent');
    this.#rating_A = rating_A;
    const grid = [level('own.neutral.former'), level('own.neutral.former-short')] as const;
    this.#runs = new Runs(desk, grid, `neutral current of ${former}`, 'of its rating');
  }

  frame({ at_us, now }: Moment): void {
    const { contactor, neutralCurrent } = this.#at;
    this.#runs.take(at_us, isOn(now, contactor) ? now[neutralCurrent]! / this.#rating_A : undefined);
  }

  end(at_us: number): void {
    this.#runs.end(at_us);
  }
}

/** From the loss of what holds the neutral, with load on the legs, to the source that forms off. */
class NeutralLoss implements Judge {
  readonly #desk: Desk;
  readonly #source: Id;
  readonly #formers: readonly Id[];
  readonly #own: Readonly<Record<'forms' | 'energises', number>>;
  readonly #bus: Readonly<Record<'part' | 'neutralHeld', number>>;
  readonly #legLoads: readonly number[];
  readonly #key: LimitKey = 'own.neutral.loss';
  readonly #loss = new Deadline(toUs(limit('own.neutral.loss').values.time_s));

  constructor(desk: Desk, source: Id, bus: Id, formers: readonly Id[]) {
    const { channels, facts } = desk;
    this.#desk = desk;
    this.#source = source;
    this.#formers = formers;
    this.#own = channels.of(source, 'forms', 'energises');
    this.#bus = channels.of(bus, 'part', 'neutralHeld');
    this.#legLoads = [...facts.legLoadAt].map((at) => channels.index(`${at}.part`));
  }

  frame({ at_us, now, before }: Moment): void {
    const lacks = this.#lacksNeutral(now);
    if (!lacks) this.#close(at_us);
    else if (this.#loss.from_us === undefined) {
      this.#desk.book.arm();
      this.#loss.open(at_us, this.#originOf(before));
    }
  }

  end(at_us: number): void {
    if (this.#loss.isBrokenAt(at_us)) this.#close(at_us);
    else if (this.#loss.from_us !== undefined) this.#desk.book.owe();
  }

  #lacksNeutral(values: Float64Array): boolean {
    const part = values[this.#bus.part]!;
    const isLoaded = this.#legLoads.some((at) => values[at] === part);
    return this.#isForming(values) && isLoaded && !isOn(values, this.#bus.neutralHeld);
  }

  #isForming(values: Float64Array): boolean {
    return isOn(values, this.#own.forms) && isOn(values, this.#own.energises);
  }

  /** It formed already: what let go. Else who made it form. */
  #originOf(before: Float64Array | undefined): Origin {
    const { happenings } = this.#desk;
    if (before === undefined) return 'site';
    if (!this.#isForming(before)) return originOf(happenings.latest([this.#source], ['forms']));
    return originOf(this.#letGo(happenings) ?? happenings.circuitChange());
  }

  #letGo(happenings: Happenings): HappeningRecord | undefined {
    return happenings.latest(this.#formers, PARTS);
  }

  #close(at_us: number): void {
    const { against, limit_us } = this.#loss;
    const found_us = this.#loss.close(at_us);
    if (found_us === undefined) return;
    const about = `${this.#source} goes on forming with nothing that holds the neutral`;
    this.#desk.book.add(timeFinding({ at_us, found_us, limit_us, key: this.#key, against, about }));
  }
}
