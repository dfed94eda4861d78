import type { Origin } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { atLeast, type Book, type Finding, HALF_CYCLE_US, timeFinding, upperMargin, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { type Evidence, EvidenceWatch } from './evidence.ts';
import type { SourceFacts } from './facts.ts';
import { type Happenings, MAKES, originOf } from './happenings.ts';
import { Deadline, toUs } from './intervals.ts';
import { Isolation } from './isolation.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { RecentPeak } from './recent-peak.ts';

/** A forming source starts on a bus that is cut off, dead, free of inverters that may come back, and known to be so. */
export const deadBusForm = rule({
  id: 'dead-bus-form',
  about:
    'A forming source begins only behind an open and proven relay, on a dead bus without running or waiting inverters.',
  limit: 'own.dead-bus',
  needs: 'phasor',
  scale: '50 ms of separation, 0.10 pu, 50 ms of age, 100 ms from loss of proof to source off; a yes or no counts 1',
  preside: (desk) => {
    const sources = desk.facts.forming.map((source) => new DeadBusForm(desk, source));
    return {
      frame: (moment) => {
        for (const source of sources) source.frame(moment);
      },
      end: (at_us) => {
        for (const source of sources) source.end(at_us);
      },
    };
  },
});

const NO_LIES = { contacts: false, taps: false };

interface Neighbour {
  readonly source: SourceFacts;
  readonly part: number;
  readonly tripped: number;
  readonly permit: number | undefined;
}

class DeadBusForm implements Judge {
  readonly #source: SourceFacts;
  readonly #book: Book;
  readonly #happenings: Happenings;
  readonly #relays: readonly string[];
  readonly #isolation: Isolation;
  readonly #evidence: EvidenceWatch;
  readonly #peak = new RecentPeak(toUs(limit('own.dead-bus').values.time_s));
  readonly #proofLost = new Deadline(toUs(limit('own.proof-lost').values.time_s));
  readonly #own: Readonly<Record<'forms' | 'energises' | 'reference', number>>;
  readonly #bus: Readonly<Record<'v1' | 'v2' | 'v12' | 'u1' | 'u2' | 'u12' | 'part', number>>;
  readonly #neighbours: readonly Neighbour[];
  #lied = NO_LIES;
  #unprovedFromStart = false;

  constructor({ facts, channels, book, happenings }: Desk, source: SourceFacts) {
    this.#source = source;
    this.#book = book;
    this.#happenings = happenings;
    this.#relays = facts.relays.map((relay) => relay.id);
    this.#isolation = new Isolation(facts, channels, source.at);
    this.#evidence = new EvidenceWatch(channels);
    this.#own = channels.of(source.id, 'forms', 'energises', 'reference');
    this.#bus = channels.of(source.at, 'v1', 'v2', 'v12', 'u1', 'u2', 'u12', 'part');
    this.#neighbours = facts.following
      .filter((other) => other.id !== source.id)
      .map((other) => ({
        source: other,
        part: channels.index(`${other.at}.part`),
        tripped: channels.index(`${other.id}.tripped`),
        permit: other.kind === 'pv' ? channels.index(`${other.id}.permit`) : undefined,
      }));
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    this.#isolation.frame(moment);
    this.#compareEvidence(moment);
    const forms = this.#isForming(now);
    const began = forms && before !== undefined && !this.#isForming(before);
    if (began) {
      this.#book.arm();
      this.#judgeStart(at_us, now);
    }
    this.#watchProof(at_us, forms && !this.#isolation.isProved(now), began);
    this.#peak.take(at_us, this.#strangeLevel(now));
  }

  end(at_us: number): void {
    if (this.#proofLost.isBrokenAt(at_us)) this.#closeProof(at_us);
    else if (this.#proofLost.from_us !== undefined) this.#book.owe();
  }

  /** A contact or a tap that lied to the controller at the deciding scan answers for what the controller believed. */
  #compareEvidence(moment: Moment): void {
    const known = this.#evidence.inForce();
    this.#evidence.frame(moment);
    const evidence = this.#evidence.inForce();
    if (evidence === undefined || evidence === known) return;
    const isLive = this.#level(moment.now) > limit('own.dead-bus').values.level_pu;
    this.#lied = { contacts: evidence.provedOpen && !this.#isolation.isOpen, taps: evidence.readDead && isLive };
  }

  #judgeStart(at_us: number, now: Float64Array): void {
    const evidence = this.#evidence.inForce();
    const forms = originOf(this.#happenings.latest([this.#source.id], ['forms']));
    const lied = evidence === undefined ? NO_LIES : this.#lied;
    this.#book.add(this.#separation(at_us, lied.contacts ? 'equipment' : forms));
    this.#book.add(this.#deadness(at_us, lied.taps ? 'equipment' : forms));
    for (const neighbour of this.#neighbours) {
      if (now[neighbour.part] === now[this.#bus.part]) this.#book.add(this.#quiet(at_us, now, neighbour, forms));
    }
    this.#book.add(...this.#known(at_us, evidence, forms));
  }

  #separation(at_us: number, against: Origin): Finding {
    const least_us = toUs(limit('own.separation').values.time_s);
    const found = this.#isolation.openFor(at_us);
    const about = `${this.#source.id} forms, time since all line poles of the relay are open`;
    const value = atLeast(found, least_us, least_us);
    return {
      margin: { value, at_us, found, limit: least_us, scale: least_us, unit: 'µs', about },
      limit: 'own.separation',
      against,
    };
  }

  /** Where a window half a cycle longer or shorter would turn the answer, it is not known at this level. */
  #deadness(at_us: number, against: Origin): Finding {
    const most = limit('own.dead-bus').values.level_pu;
    const found = this.#peak.before(at_us);
    const sides = [-HALF_CYCLE_US, HALF_CYCLE_US].map((wider_us) => this.#peak.before(at_us, wider_us) <= most);
    const doubtful = sides.some((isDead) => isDead !== found <= most);
    const about = `largest voltage on the bus of ${this.#source.id} in the 100 ms before it forms, pu`;
    const margin = upperMargin(at_us, found, most, '1', about);
    const edges_us = [at_us - toUs(limit('own.dead-bus').values.time_s), at_us];
    return {
      margin,
      limit: 'own.dead-bus',
      against,
      ...(doubtful && { resolution: { phasor: Infinity, wave: 0, edges_us } }),
    };
  }

  #quiet(at_us: number, now: Float64Array, { source, tripped, permit }: Neighbour, against: Origin): Finding {
    const isQuiet = isOn(now, tripped) || (permit !== undefined && !isOn(now, permit));
    const about = `${source.id} has tripped or lost its permit as ${this.#source.id} forms beside it`;
    return yesOrNo(at_us, isQuiet, 'own.isolated-and-quiet', against, about);
  }

  #known(at_us: number, evidence: Evidence | undefined, against: Origin): Finding[] {
    const key: LimitKey = 'own.evidence-age';
    const about = `${this.#source.id} forms on an order whose scan saw both poles proved open and neither closed`;
    const proved = yesOrNo(at_us, evidence?.provedOpen ?? false, key, against, about);
    if (evidence === undefined) return [proved];
    const limit_us = toUs(limit(key).values.time_s);
    const age = { at_us: evidence.at_us, found_us: evidence.age_us, limit_us, key, against };
    return [
      proved,
      timeFinding({ ...age, about: 'age of the oldest contact reading at the scan that ordered to form' }),
    ];
  }

  /** Not proved from the start: the start opened the interval. Else what was done to or by the relay at this instant did. */
  #watchProof(at_us: number, isUnproved: boolean, began: boolean): void {
    if (!isUnproved) {
      this.#closeProof(at_us);
      return;
    }
    if (this.#proofLost.from_us === undefined) this.#unprovedFromStart = began;
    const forms = this.#happenings.latest([this.#source.id], ['forms']);
    const moved = this.#happenings.latestOf(this.#relays);
    this.#proofLost.open(at_us, originOf(began ? forms : moved?.at_us === at_us ? moved : undefined));
  }

  /** A proving contact leads its pole: of a relay that closes, the touch that followed says whose doing it was. */
  #whoTookProof(): Origin {
    const touch = this.#unprovedFromStart ? undefined : this.#happenings.latest(this.#relays, MAKES);
    const from_us = this.#proofLost.from_us ?? 0;
    return touch !== undefined && touch.at_us >= from_us ? touch.origin : this.#proofLost.against;
  }

  #closeProof(at_us: number): void {
    const against = this.#whoTookProof();
    const found_us = this.#proofLost.close(at_us);
    if (found_us === undefined) return;
    const about = `${this.#source.id} goes on forming after its relay is no longer proved open`;
    const limit_us = this.#proofLost.limit_us;
    this.#book.add(timeFinding({ at_us, found_us, limit_us, key: 'own.proof-lost', against, about }));
  }

  /** What stands on the bus beyond what the source itself puts there: it begins to energise when its ramp has come to 0.02 pu. */
  #strangeLevel(values: Float64Array): number {
    const own_pu = isOn(values, this.#own.forms) ? values[this.#own.reference]! : 0;
    return Math.max(0, this.#level(values) - own_pu);
  }

  /** One-cycle rms and the value of the moment: the latter shows direct voltage and what decays. */
  #level(values: Float64Array): number {
    const { v1, v2, v12, u1, u2, u12 } = this.#bus;
    const leg_V = Math.max(values[v1]!, values[v2]!, values[u1]!, values[u2]!);
    return Math.max(leg_V / LEG_V, Math.max(values[v12]!, values[u12]!) / LINE_V);
  }

  #isForming(values: Float64Array): boolean {
    return isOn(values, this.#own.forms) && isOn(values, this.#own.energises);
  }
}
