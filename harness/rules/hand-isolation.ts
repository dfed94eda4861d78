import type { Id } from '../../sim/site-description.ts';
import { type Origin, SUPPLY } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { type Finding, HALF_CYCLE_US, yesOrNo } from './book.ts';
import { BusLevel } from './bus-level.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { HandOpenings, type Main, RequestWatch } from './hand-opening.ts';
import { originOf } from './happenings.ts';
import { toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** What a hand has opened to work on stays dead until it is closed again, or until somebody there asks for more. */
export const handIsolation = rule({
  id: 'hand-isolation',
  about:
    'Where a hand-opened main means isolation, nobody forms behind it and no voltage stands there after 5 s, unless asked for on the spot.',
  limit: 'own.hand.forming',
  needs: 'phasor',
  scale: 'a yes or no counts 1',
  preside: (desk) => {
    const openings = new HandOpenings(desk.facts, desk.channels, desk.happenings);
    const requests = new RequestWatch(desk.facts, desk.channels);
    const works = openings.mains
      .filter(({ means }) => means === 'isolation')
      .map((main) => new WorkWatch(desk, main, requests));
    return {
      frame: (moment) => {
        openings.frame(moment);
        requests.frame(moment);
        for (const work of works) work.frame(moment);
      },
      end: (at_us) => {
        for (const work of works) work.end(at_us);
      },
    };
  },
});

const FORMED = SUPPLY.indexOf('formed');

interface Place {
  readonly bus: Id;
  readonly level: BusLevel;
  readonly supply: number;
  readonly sources: readonly { readonly source: SourceFacts; readonly forms: number; readonly energises: number }[];
}

/**
 * The section behind one main while a hand has it open: all that lies behind it and was not fed by a running island at that
 * instant. An island that a person on the spot has asked for may stand until it goes dead.
 */
class WorkWatch implements Judge {
  readonly #desk: Desk;
  readonly #main: Main;
  readonly #requests: RequestWatch;
  readonly #places: readonly Place[];
  readonly #level_pu = limit('own.hand.voltage').values.level_pu;
  readonly #grace_us = toUs(limit('own.hand.voltage').values.time_s);
  #work: { readonly from_us: number; readonly places: readonly Place[] } | undefined;
  #broken = false;
  #excused = false;
  #live: { readonly from_us: number; readonly against: Origin } | undefined;

  constructor(desk: Desk, main: Main, requests: RequestWatch) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#main = main;
    this.#requests = requests;
    this.#places = [...main.behind].map((bus) => ({
      bus,
      level: new BusLevel(channels, bus),
      supply: channels.index(`${bus}.supply`),
      sources: facts.forming
        .filter(({ at }) => at === bus)
        .map((source) => ({ source, ...channels.of(source.id, 'forms', 'energises') })),
    }));
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    const { opened_us } = this.#main;
    if (this.#work !== undefined && opened_us === undefined) this.#close(at_us);
    if (this.#work === undefined && opened_us !== undefined) this.#open(at_us, now);
    if (this.#work === undefined || before === undefined) return;
    for (const place of this.#work.places) this.#watchForming(place, at_us, now, before);
    this.#watchVoltage(this.#work.places, at_us, now);
  }

  end(at_us: number): void {
    if (this.#work === undefined) return;
    if (this.#live !== undefined && at_us <= this.#work.from_us + this.#grace_us) this.#desk.book.owe();
    this.#close(at_us);
  }

  #open(at_us: number, now: Float64Array): void {
    this.#work = { from_us: at_us, places: this.#places.filter(({ supply }) => now[supply] !== FORMED) };
    this.#broken = false;
    this.#excused = false;
    this.#live = undefined;
    if (this.#isLive(this.#work.places, now)) this.#live = { from_us: at_us, against: 'person' };
    this.#desk.book.arm();
  }

  #watchForming({ sources }: Place, at_us: number, now: Float64Array, before: Float64Array): void {
    for (const { source, forms, energises } of sources) {
      const isForming = (values: Float64Array): boolean => isOn(values, forms) && isOn(values, energises);
      if (!isForming(now) || isForming(before)) continue;
      const asked = this.#requests.holdsAt(at_us);
      if (asked) this.#excused = true;
      const against = originOf(this.#desk.happenings.latest([source.id], ['forms']));
      const about = `${source.id} forms behind ${this.#main.device.id}, opened by hand, only as asked on the spot`;
      this.#add(yesOrNo(at_us, asked, 'own.hand.forming', against, about));
    }
  }

  #watchVoltage(places: readonly Place[], at_us: number, now: Float64Array): void {
    const isLive = this.#isLive(places, now);
    const isFormed = places.some(({ sources }) => sources.some(({ forms }) => isOn(now, forms)));
    if (!isLive && !isFormed) this.#excused = false;
    const counts = isLive && !this.#excused;
    if (!counts) this.#settleVoltage(at_us);
    else this.#live ??= { from_us: at_us, against: originOf(this.#desk.happenings.circuitChange()) };
  }

  /** Voltage that stood counts from 5 s after the opening; both its ends are crossings. */
  #settleVoltage(at_us: number): void {
    const live = this.#live;
    const work = this.#work;
    this.#live = undefined;
    if (live === undefined || work === undefined) return;
    const from_us = Math.max(live.from_us, work.from_us + this.#grace_us);
    if (at_us <= from_us) return;
    const about = `voltage on what lies behind ${this.#main.device.id}, opened by hand, 5 s and more after that`;
    const finding = yesOrNo(from_us, false, 'own.hand.voltage', live.against, about);
    const doubtful = at_us - from_us < HALF_CYCLE_US;
    const resolution = { phasor: Infinity, wave: 0, edges_us: [from_us, at_us] };
    this.#add(doubtful ? { ...finding, resolution } : finding);
  }

  #close(at_us: number): void {
    this.#settleVoltage(at_us);
    if (!this.#broken) {
      const about = `what lies behind ${this.#main.device.id} stays dead while a hand has it open`;
      this.#desk.book.add(yesOrNo(at_us, true, 'own.hand.voltage', 'site', about));
    }
    this.#work = undefined;
  }

  #add(finding: Finding): void {
    if (finding.margin.value < 0) this.#broken = true;
    this.#desk.book.add(finding);
  }

  #isLive(places: readonly Place[], values: Float64Array): boolean {
    return places.some(({ level }) => level.highest(values) > this.#level_pu);
  }
}
