import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { Backing } from './backing.ts';
import type { Finding } from './book.ts';
import { Brownout } from './brownout.ts';
import { BusLevel } from './bus-level.ts';
import { isOn } from './channels.ts';
import { Darkness } from './darkness.ts';
import { Excuses } from './excuses.ts';
import { busesBehind, HandOpenings, RequestWatch } from './hand-opening.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { RelayTrust } from './relay-trust.ts';
import { SelfStops } from './self-stops.ts';
import { StandingFaults } from './standing-faults.ts';
import { UtilityGood } from './utility-good.ts';

/** A backed-up house is not left dark beside a source or a good utility, and a low voltage is told. */
export const outageTime = rule({
  id: 'outage-time',
  about:
    'A backed-up section is not dark for longer than its cause allows, still less for ever; low voltage is told within 10 s.',
  limit: 'own.outage.awake',
  needs: 'phasor',
  scale: 'the time that the cause of the darkness allows',
  preside: (desk) => new OutageTime(desk),
});

interface Section {
  readonly part: number;
  readonly bus: Id;
  readonly level: BusLevel;
  readonly backing: Backing;
  /** Relays between it and the street. */
  readonly relays: readonly { readonly part: number; readonly good: UtilityGood }[];
  readonly faults: StandingFaults;
  readonly darkness: Darkness;
  readonly brownout: Brownout;
}

class OutageTime implements Judge {
  readonly #desk: Desk;
  readonly #openings: HandOpenings;
  readonly #requests: RequestWatch;
  readonly #excuses: Excuses;
  readonly #selfStops: SelfStops;
  readonly #trust: RelayTrust;
  readonly #goods: readonly UtilityGood[];
  readonly #sections: readonly Section[];
  readonly #lockout: number;

  constructor(desk: Desk) {
    const { facts, channels, happenings } = desk;
    this.#desk = desk;
    this.#lockout = channels.index('gateway.lockout');
    this.#openings = new HandOpenings(facts, channels, happenings);
    this.#requests = new RequestWatch(facts, channels);
    this.#selfStops = new SelfStops(desk);
    this.#trust = new RelayTrust(desk);
    this.#excuses = new Excuses(facts, channels, happenings);
    const witnesses = { excuses: this.#excuses, selfStops: this.#selfStops, trust: this.#trust };
    const relays = facts.relays.map((relay) => ({
      behind: busesBehind(facts, relay),
      part: channels.index(`${relay.at[1]}.part`),
      good: new UtilityGood(channels, relay.at[0]),
    }));
    this.#goods = relays.map(({ good }) => good);
    const backedUp = [...facts.loadAt].filter((bus) => facts.sectionOf.get(bus) === 'H');
    this.#sections = backedUp.map((bus) => ({
      bus,
      part: channels.index(`${bus}.part`),
      level: new BusLevel(channels, bus),
      backing: new Backing(desk, bus),
      relays: relays.filter(({ behind }) => behind.has(bus)),
      faults: new StandingFaults(desk, bus),
      darkness: new Darkness(desk, bus, witnesses),
      brownout: new Brownout(desk, bus, this.#excuses),
    }));
  }

  frame(moment: Moment): void {
    const { at_us, now } = moment;
    this.#openings.frame(moment);
    this.#requests.frame(moment);
    this.#selfStops.frame(moment);
    this.#trust.frame(moment);
    const findings: Finding[] = [];
    for (const section of this.#sections) findings.push(...this.#look(section, moment));
    for (const good of this.#goods) good.frame(at_us, now);
    this.#excuses.take(at_us, now);
    this.#desk.book.add(...findings);
  }

  end(at_us: number): void {
    this.#trust.end(at_us);
    this.#desk.book.add(
      ...this.#sections.flatMap(({ darkness, brownout }) => [...darkness.end(at_us), ...brownout.end(at_us)]),
    );
  }

  #look(section: Section, moment: Moment): Finding[] {
    const { at_us, now } = moment;
    const { bus, part, level, backing, relays, darkness, brownout } = section;
    backing.frame(now);
    const lowest_pu = level.lowest(now);
    const isDark = lowest_pu < limit('own.outage.dark').values.level_pu;
    const found = brownout.take(moment, !isDark && lowest_pu < limit('own.outage.low').values.level_pu);
    if (!isDark) return [...found, ...darkness.lift(at_us)];
    // Nobody may light what is locked out, and nobody can light what is shorted.
    const barred = isOn(now, this.#lockout) || this.#trust.isLocked || section.faults.stands(now);
    const main = this.#openings.before(bus);
    const asked = this.#requests.holdsAt(at_us);
    // Where no contact shows the main and its opening means isolation, every outage may be a hand's.
    const staysDark = main?.means === 'isolation' || this.#openings.isBlind(bus);
    const within = relays.filter((relay) => now[relay.part] === now[part]);
    darkness.take(moment, {
      offer: barred || (staysDark && !asked) ? undefined : backing.offer(now),
      byHand: main?.opened_us !== undefined,
      utilityGood: !barred && within.some(({ good }) => good.isGoodIn(now)),
      hadGood_us: Math.max(0, ...within.map(({ good }) => good.goodFor(at_us))),
    });
    return found;
  }
}
