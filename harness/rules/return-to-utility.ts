import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atLeast, atMost, type Finding, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { conductsAny, type Poles, polesOf, TouchWatch } from './contacts.ts';
import type { DeviceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { HouseSide } from './house-side.ts';
import { Deadline, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { returnGoodOf, transitionOf } from './settings.ts';
import { UtilityGood } from './utility-good.ts';

/** The relay closes on a utility that has proved itself, onto a house that is dead or in step. */
export const returnToUtility = rule({
  id: 'return-to-utility',
  about:
    'The relay closes only on a utility that has been good for T_return, onto a house that nobody feeds, or with a short overlap.',
  limit: 'own.return.good',
  needs: 'phasor',
  scale: 'T_return (300 s), 0.25 pu, 100 ms of overlap; a yes or no counts 1',
  preside: (desk) => new ReturnToUtility(desk),
});

interface Way {
  readonly poles: Poles;
  readonly good: UtilityGood;
  readonly house: HouseSide;
  readonly street: Readonly<Record<'present1' | 'present2', number>>;
  readonly overlap: Deadline;
  /** Its last touch of any pole. */
  touched_us: number;
}

class ReturnToUtility implements Judge {
  readonly #desk: Desk;
  readonly #touches: TouchWatch;
  readonly #ways: readonly Way[];
  readonly #return_us: number;
  readonly #apart_us = toUs(limit('own.touch-apart').values.time_s);

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#touches = new TouchWatch(facts, channels);
    this.#return_us = returnGoodOf(facts);
    this.#ways = facts.relays.map((relay) => ({
      poles: polesOf(channels, relay),
      good: new UtilityGood(channels, relay.at[0]),
      house: new HouseSide(desk, relay.at[1]),
      street: channels.of(relay.at[0], 'present1', 'present2'),
      overlap: new Deadline(toUs(limit('practice.return.overlap').values.time_s)),
      touched_us: Number.NEGATIVE_INFINITY,
    }));
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    for (const { device } of this.#touches.frame(moment)) {
      const way = this.#ways.find(({ poles }) => poles.device.id === device.id);
      if (way === undefined || before === undefined) continue;
      // The first pole is what returns the house; the second, and a bounce, find it there.
      const isSame = at_us - way.touched_us < this.#apart_us || conductsAny(before, way.poles);
      way.touched_us = at_us;
      if (isSame) continue;
      if (isOn(before, way.street.present1) || isOn(before, way.street.present2)) this.#judgeTouch(way, at_us, before);
    }
    for (const way of this.#ways) {
      const overlaps = conductsAny(now, way.poles) && way.house.isFormed(now);
      if (way.overlap.from_us !== undefined && !overlaps) this.#closeOverlap(way, at_us);
      way.good.frame(at_us, now);
      way.house.take(at_us, now);
    }
  }

  end(at_us: number): void {
    for (const way of this.#ways) {
      if (way.overlap.isBrokenAt(at_us)) this.#closeOverlap(way, at_us);
      else if (way.overlap.from_us !== undefined) this.#desk.book.owe();
    }
  }

  /** `before` is the state just before the touch: the house is still on its own. */
  #judgeTouch(way: Way, at_us: number, before: Float64Array): void {
    const { book, facts } = this.#desk;
    const { device } = way.poles;
    const against = this.#originOf(device);
    book.arm();
    book.add(this.#goodness(way, at_us, against));
    if (transitionOf(facts) === 'closed' && way.house.isFormed(before)) {
      way.overlap.open(at_us, against);
      return;
    }
    const formed = way.house.isFormed(before);
    const ceased = `nobody forms behind ${device.id} as it closes on the utility`;
    book.add(
      yesOrNo(at_us, !formed, 'own.return.forming', against, ceased),
      deadness(way, at_us, before, !formed && way.house.isReadDead(before) ? 'equipment' : against),
    );
    for (const { id, isQuiet } of way.house.followers(before)) {
      const about = `${id} has tripped or lost its permit as ${device.id} closes on the utility`;
      book.add(yesOrNo(at_us, isQuiet, 'own.isolated-and-quiet', against, about));
    }
  }

  #originOf(device: DeviceFacts): Origin {
    return originOf(this.#desk.happenings.latest([device.id], ['touches L1', 'touches L2', 'welds L1', 'welds L2']));
  }

  /** Where the utility has come over an edge of its bands, that instant is a crossing. */
  #goodness(way: Way, at_us: number, against: Origin): Finding {
    const least_us = this.#return_us;
    const found = way.good.goodFor(at_us);
    const { from_us } = way.good;
    const about = `${way.poles.device.id} closes, time since the utility was last not good`;
    return {
      margin: {
        value: atLeast(found, least_us, least_us),
        at_us,
        found,
        limit: least_us,
        scale: least_us,
        unit: 'µs',
        about,
      },
      limit: 'own.return.good',
      against,
      ...(from_us !== undefined && {
        resolution: { phasor: HALF_CYCLE_US / least_us, wave: WAVE_CROSSING_US / least_us, edges_us: [from_us] },
      }),
    };
  }

  #closeOverlap(way: Way, at_us: number): void {
    const { against, limit_us } = way.overlap;
    const found_us = way.overlap.close(at_us)!;
    const about = `overlap of the utility and a forming source over ${way.poles.device.id}`;
    const key = 'practice.return.overlap';
    this.#desk.book.add(timeFinding({ at_us, found_us, limit_us, key, against, about }));
  }
}

/** Dead for 100 ms, or motors that run down. Both by the same scale. */
function deadness({ house, poles }: Way, at_us: number, before: Float64Array, against: Origin): Finding {
  const { level_pu: scale } = limit('own.return.decaying').values;
  const runsDown = house.runsDown(before);
  const most = runsDown ? scale : limit('own.dead-bus').values.level_pu;
  const found = runsDown ? house.momentary(before) : house.peakBefore(at_us);
  const about = runsDown
    ? `voltage of motors running down behind ${poles.device.id} as it closes, pu`
    : `largest voltage behind ${poles.device.id} in the 100 ms before it closes, pu`;
  const doubtful = !runsDown && house.isPeakDoubtful(at_us, most);
  const edges_us = [at_us - toUs(limit('own.dead-bus').values.time_s), at_us];
  return {
    margin: { value: atMost(found, most, scale), at_us, found, limit: most, scale, unit: '1', about },
    limit: runsDown ? 'own.return.decaying' : 'own.dead-bus',
    against,
    ...(doubtful && { resolution: { phasor: Infinity, wave: 0, edges_us } }),
  };
}
