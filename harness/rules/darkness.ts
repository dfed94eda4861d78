import type { Id } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { US_PER_S } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import type { Offer } from './backing.ts';
import { type Finding, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import type { Excuses } from './excuses.ts';
import { PARTS } from './happenings.ts';
import { isLate, toUs } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import type { RelayTrust } from './relay-trust.ts';
import type { SelfStops } from './self-stops.ts';
import { returnGoodOf } from './settings.ts';

/** What a dark section could be lit by, as things stand. */
export interface Outlook {
  readonly offer: Offer | undefined;
  /** A hand has the main open. */
  readonly byHand: boolean;
  /** A utility that is good waits at an open relay. */
  readonly utilityGood: boolean;
  /** For how long it had been good. */
  readonly hadGood_us: number;
}

/** Who can say why it stays dark. */
export interface Witnesses {
  readonly excuses: Excuses;
  readonly selfStops: SelfStops;
  readonly trust: RelayTrust;
}

/** One thing that could end it, since it could. */
interface Wait {
  readonly from_us: number;
  readonly limit_us: number;
  readonly key: LimitKey;
  readonly what: string;
  /** Of a source: which. */
  readonly source?: Id;
  /** Ordered by then, and dark all the same: the equipment has not followed. */
  readonly orderedBy_us: number;
}

/** A relay that has been told to close for so long has not obeyed. */
const RELAY_PATIENCE_US = US_PER_S;

/**
 * One section while it is dark. A source that can be had, a utility that has been good and the way back are timed each from
 * when it could have lit the section; together they are one finding.
 */
export class Darkness {
  readonly #desk: Desk;
  readonly #bus: Id;
  readonly #excuses: Excuses;
  readonly #selfStops: SelfStops;
  readonly #trust: RelayTrust;
  readonly #movers: readonly Id[];
  readonly #return_us: number;
  readonly #formTime_us: number;
  readonly #least_us = toUs(limit('own.outage.dark').values.time_s);
  #from_us: number | undefined;
  #findings: Finding[] = [];
  #source: Wait | undefined;
  #utility: Wait | undefined;
  #return: Wait | undefined;

  constructor(desk: Desk, bus: Id, { excuses, selfStops, trust }: Witnesses) {
    const { facts } = desk;
    const { formTime } = facts.site.settings;
    this.#desk = desk;
    this.#bus = bus;
    this.#excuses = excuses;
    this.#selfStops = selfStops;
    this.#trust = trust;
    this.#movers = [...facts.forming, ...facts.relays].map(({ id }) => id);
    this.#return_us = returnGoodOf(facts);
    this.#formTime_us = typeof formTime === 'number' ? formTime : 5 * US_PER_S;
  }

  take({ at_us, before }: Moment, { offer, byHand, utilityGood, hadGood_us }: Outlook): void {
    if (this.#from_us === undefined) {
      this.#from_us = at_us;
      if (before !== undefined && utilityGood && hadGood_us >= this.#return_us && this.#stoppedToReturn()) {
        const limit_us = toUs(limit('own.outage.return').values.time_s);
        this.#return = {
          ...this.#waitOf(at_us, limit_us, RELAY_PATIENCE_US),
          key: 'own.outage.return',
          what: 'on the way back',
        };
      }
    }
    if (offer === undefined) this.#source = this.#closed(this.#source, at_us);
    else this.#source ??= this.#sourceWait(at_us, offer, byHand);
    if (utilityGood) this.#utility ??= this.#utilityWait(at_us);
    else {
      this.#utility = this.#closed(this.#utility, at_us);
      // The utility has failed in the gap: it is an outage like another, from the first darkness on.
      this.#return = undefined;
    }
  }

  /** It is lit again, or was not dark at all. */
  lift(at_us: number): Finding[] {
    const from_us = this.#from_us;
    if (from_us === undefined) return [];
    for (const wait of [this.#source, this.#utility, this.#return]) this.#closed(wait, at_us);
    return this.#taken(at_us - from_us);
  }

  /** At the end of a run what is late counts, and what is not is owed. */
  end(at_us: number): Finding[] {
    const from_us = this.#from_us;
    if (from_us === undefined) return [];
    const dark_us = at_us - from_us;
    let owed = false;
    for (const wait of [this.#source, this.#utility, this.#return]) {
      if (wait === undefined || this.#fromOf(wait) >= at_us) continue;
      if (isLate(at_us - this.#fromOf(wait), wait.limit_us)) this.#closed(wait, at_us);
      else owed = true;
    }
    const findings = this.#taken(dark_us);
    if (owed && findings.length === 0) this.#desk.book.arm();
    if (owed) this.#desk.book.owe();
    return findings;
  }

  #taken(dark_us: number): Finding[] {
    const findings = this.#findings;
    this.#findings = [];
    this.#from_us = undefined;
    this.#source = undefined;
    this.#utility = undefined;
    this.#return = undefined;
    if (dark_us <= this.#least_us || findings.length === 0) return [];
    this.#desk.book.arm();
    return findings;
  }

  /** The last that source and relays did was to stop, on the controller's order. */
  #stoppedToReturn(): boolean {
    const doings = ['forms', 'stops', 'touches L1', 'touches L2', ...PARTS];
    const last = this.#desk.happenings.latest(this.#movers, doings);
    return last?.did === 'stops' && last.origin === 'controller';
  }

  #sourceWait(at_us: number, offer: Offer, byHand: boolean): Wait {
    const tried_us = toUs(limit('own.outage.hand-test').values.time_s);
    const limit_us = byHand ? Math.max(tried_us, offer.limit_us) : offer.limit_us;
    const wait = this.#waitOf(at_us, limit_us, offer.boot_us + this.#formTime_us);
    return {
      ...wait,
      key: byHand ? 'own.outage.hand-test' : offer.key,
      what: `beside ${offer.source.id}`,
      source: offer.source.id,
    };
  }

  #utilityWait(at_us: number): Wait {
    const limit_us = this.#return_us + toUs(limit('own.outage.liveness').values.time_s);
    const wait = this.#waitOf(at_us, limit_us, RELAY_PATIENCE_US);
    return { ...wait, key: 'own.outage.liveness', what: 'beside a good utility' };
  }

  #waitOf(from_us: number, limit_us: number, patience_us: number): Omit<Wait, 'key' | 'what'> {
    return { from_us, limit_us, orderedBy_us: from_us + limit_us - Math.min(patience_us, limit_us) };
  }

  /** A former that had let go, or a source that had stopped by itself again, kept it from being lit until then. */
  #fromOf(wait: Wait): number {
    if (wait.source === undefined) return wait.from_us;
    return Math.max(wait.from_us, this.#excuses.mended_us ?? -Infinity, this.#selfStops.restsUntil(wait.source));
  }

  #closed(wait: Wait | undefined, at_us: number): undefined {
    if (wait === undefined) return undefined;
    const { limit_us, key, what } = wait;
    const from_us = this.#fromOf(wait);
    if (at_us < from_us) return undefined;
    const about = `${this.#bus} dark ${what}`;
    const resolution = {
      phasor: HALF_CYCLE_US / limit_us,
      wave: WAVE_CROSSING_US / limit_us,
      edges_us: [from_us, at_us],
    };
    const found_us = at_us - from_us;
    const against = this.#against(
      { ...wait, from_us, orderedBy_us: wait.orderedBy_us + from_us - wait.from_us },
      at_us,
    );
    this.#findings.push(timeFinding({ at_us, found_us, limit_us, key, against, about, resolution }));
    return undefined;
  }

  /** Whoever had no supply could order nothing. */
  #hasRestartedSince(from_us: number): boolean {
    const restart = this.#desk.happenings.latest(['gateway'], ['restart']);
    return restart !== undefined && restart.at_us >= from_us;
  }

  /** The controller lets it be dark, unless it could not see or had ordered in time. */
  #against({ key, from_us, orderedBy_us }: Wait, at_us: number): Origin {
    if (this.#excuses.isHinderedAt(at_us, from_us) || this.#hasRestartedSince(from_us)) return 'equipment';
    const byRelay = key === 'own.outage.liveness' || key === 'own.outage.return';
    const ordered = byRelay
      ? this.#excuses.hadOrderedToClose(orderedBy_us) || this.#trust.hasRefusedSince(from_us)
      : this.#excuses.hadOrderedToForm(orderedBy_us);
    return ordered ? 'equipment' : 'controller';
  }
}
