import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atMost, type Finding, yesOrNo } from './book.ts';
import { type BusLife, isLive, lifeOf } from './contacts.ts';
import type { SiteFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { Deadline, isLate, STOOD_US, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** The neutral of what is energised is earthed once. */
export const oneBond = rule({
  id: 'one-bond',
  about:
    'Each energised section with load has exactly one bond from neutral to earth, apart from 100 ms while it is switched.',
  limit: 'nec.one-bond',
  needs: 'phasor',
  scale: '100 ms while it is switched; more counts 1 at least',
  preside: (desk) => new OneBond(desk),
});

interface Place {
  readonly bus: Id;
  readonly bonds: number;
  readonly life: BusLife;
  readonly wrong: Deadline;
  isArmed: boolean;
  /** Who brought about the number of bonds that stands. */
  against: Origin;
}

/** What changes the number of bonds of a neutral: jumpers, broken neutrals, poles that switch the neutral. */
const DOINGS = ['bond parted', 'bond joined', 'neutral lost', 'neutral back', 'parts N', 'touches N', 'welds N'];

class OneBond implements Judge {
  readonly #desk: Desk;
  readonly #places: readonly Place[];
  readonly #movers: readonly Id[];

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#movers = facts.site.pieces.map(({ id }) => id);
    this.#places = loadedPremises(facts).map((bus) => ({
      bus,
      bonds: channels.index(`${bus}.bonds`),
      life: lifeOf(channels, bus),
      wrong: new Deadline(toUs(limit('own.bond-switching').values.time_s)),
      isArmed: false,
      against: 'site',
    }));
  }

  frame({ at_us, now, before }: Moment): void {
    const findings: Finding[] = [];
    for (const place of this.#places) {
      const { bonds, life, wrong } = place;
      if (before !== undefined && before[bonds] !== now[bonds]) place.against = originOf(this.#lastMove());
      const live = isLive(now, life);
      if (live && now[bonds] !== 1) wrong.open(before === undefined ? at_us - STOOD_US : at_us, place.against);
      else findings.push(...closed(place, at_us));
      if (live) findings.push(...this.#arm(place, at_us, now[bonds]!));
      else place.isArmed = false;
    }
    this.#desk.book.add(...findings);
  }

  end(at_us: number): void {
    const findings: Finding[] = [];
    for (const place of this.#places) {
      if (place.wrong.isBrokenAt(at_us)) findings.push(...closed(place, at_us));
      else if (place.wrong.from_us !== undefined) this.#desk.book.owe();
    }
    this.#desk.book.add(...findings);
  }

  #lastMove(): HappeningRecord | undefined {
    return this.#desk.happenings.latest(this.#movers, DOINGS);
  }

  #arm(place: Place, at_us: number, bonds: number): Finding[] {
    if (place.isArmed) return [];
    place.isArmed = true;
    this.#desk.book.arm();
    if (bonds !== 1) return [];
    return [yesOrNo(at_us, true, 'nec.one-bond', 'site', `exactly one bond at the neutral of ${place.bus}`)];
  }
}

function closed({ bus, wrong }: Place, at_us: number): Finding[] {
  const { against, limit_us } = wrong;
  const found = wrong.close(at_us);
  if (found === undefined) return [];
  const share = atMost(found, limit_us, limit_us);
  // Longer than it takes to switch is a violation of the whole scale.
  const value = isLate(found, limit_us) ? Math.min(-1, share) : share;
  const about = `no bond, or more than one, at the live neutral of ${bus}`;
  const margin = { value, at_us, found, limit: limit_us, scale: limit_us, unit: 'µs' as const, about };
  return [{ margin, limit: isLate(found, limit_us) ? 'nec.one-bond' : 'own.bond-switching', against }];
}

/** Buses of the premises with load: the street's own bonds are not ours. */
function loadedPremises({ site, loadAt }: SiteFacts): Id[] {
  return site.buses.filter(({ id, side }) => side === 'premises' && loadAt.has(id)).map(({ id }) => id);
}
