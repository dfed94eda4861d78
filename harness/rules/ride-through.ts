import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';
import { LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { atLeast, type Finding, HALF_CYCLE_US, WAVE_CROSSING_US, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { type Poles, partedLegs, polesOf } from './contacts.ts';
import { ExportWatch } from './export-watch.ts';
import type { SourceFacts } from './facts.ts';
import { originOf, PARTS, TRIPS } from './happenings.ts';
import { isOf2018, settledPv } from './inverter-settings.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { Presence } from './presence.ts';
import { Recovery } from './recovery.ts';
import {
  overFrequencyBands,
  overVoltageBands,
  type Ridden,
  RideRuns,
  underFrequencyBands,
  underVoltageBands,
} from './ride-runs.ts';

/** A disturbance of the street is borne for as long as the category says, by the inverter and by whoever might take it away. */
export const rideThrough = rule({
  id: 'ride-through',
  about:
    'While the utility is there, a running inverter neither trips nor is taken away before its ride-through time is over, and is back soon after a sag or swell.',
  limit: 'ieee-1547-2018.ride.II.0.88',
  needs: 'phasor',
  scale: 'the ride-through time at the mildest value of the run; 0.4 s of recovery; a disturbance borne counts 1',
  preside: (desk) => {
    const riders = settledPv(desk.facts.following)
      .filter(isOf2018)
      .map((source) => new RideThrough(desk, source));
    return {
      frame: (moment) => {
        for (const rider of riders) rider.frame(moment);
      },
      end: (at_us) => {
        for (const rider of riders) rider.end(at_us);
      },
    };
  },
});

/** The disturbance that is on, and what was before it. */
interface Disturbance {
  readonly at_us: number;
  readonly before_A: number;
  readonly irradiance: number;
  readonly exported: boolean;
  readonly cause: HappeningRecord | undefined;
  /** The voltage was out at some time: then the current is owed back. */
  ofVoltage: boolean;
  /** The frequency was: then it may be held back. */
  ofFrequency: boolean;
}

class RideThrough implements Judge {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #presence: Presence;
  readonly #export: ExportWatch;
  readonly #recovery: Recovery;
  readonly #relays: readonly Poles[];
  readonly #bus: Readonly<Record<'u12' | 'f' | 'present1' | 'present2', number>>;
  readonly #own: Readonly<Record<'energises' | 'tripped', number>>;
  readonly #voltage: readonly RideRuns[];
  readonly #frequency: readonly RideRuns[];
  #open: Disturbance | undefined;

  constructor(desk: Desk, source: SourceFacts) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#source = source;
    this.#presence = new Presence(channels, facts.serviceBus);
    this.#export = new ExportWatch(desk);
    this.#recovery = new Recovery(desk, source);
    this.#relays = facts.relays.map((relay) => polesOf(channels, relay));
    this.#bus = channels.of(source.at, 'u12', 'f', 'present1', 'present2');
    this.#own = channels.of(source.id, 'energises', 'tripped');
    const V = limit('ieee-1547-2018.accuracy.voltage').values.level_pu;
    const F = limit('ieee-1547-2018.accuracy.frequency').values.level_Hz;
    this.#voltage = [
      new RideRuns(overVoltageBands(source), 'over', V),
      new RideRuns(underVoltageBands(source), 'under', V),
    ];
    this.#frequency = [new RideRuns(overFrequencyBands(), 'over', F), new RideRuns(underFrequencyBands(), 'under', F)];
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    if (this.#open !== undefined) this.#goesOn(this.#open, moment);
    this.#take(at_us, now);
    if (this.#open === undefined && before !== undefined) this.#maybeBegins(moment);
    if (this.#open !== undefined) this.#mayEnd(this.#open, at_us, now);
    if (!this.#isHeld(now)) this.#recovery.forget();
    this.#recovery.frame(at_us, now);
  }

  end(at_us: number): void {
    if (this.#open !== undefined) this.#desk.book.owe();
    this.#recovery.end(at_us);
  }

  /** Ran in the continuous range, and what it runs on has just left that. */
  #maybeBegins({ at_us, now, before }: Moment): void {
    if (before === undefined || !this.#isHeld(before) || !this.#isHeld(now)) return;
    if (!isOn(before, this.#own.energises) || isOn(before, this.#own.tripped) || isOn(now, this.#own.tripped)) return;
    if (this.#isOut(before, 'any') || !this.#isOut(now, 'any')) return;
    this.#recovery.forget();
    this.#desk.book.arm();
    this.#open = {
      at_us,
      before_A: this.#recovery.current_A(before),
      irradiance: this.#recovery.irradiance(before),
      exported: this.#export.exports(before),
      cause: this.#desk.happenings.circuitChange(),
      ofVoltage: false,
      ofFrequency: false,
    };
  }

  /** A trip, or the utility gone, with this frame; judged by what has run until now. */
  #goesOn(disturbance: Disturbance, moment: Moment): void {
    const { at_us, now } = moment;
    const { id } = this.#source;
    if (isOn(now, this.#own.tripped)) {
      const trip = this.#desk.happenings.latest([id], TRIPS);
      const permit = trip?.did === 'trips PERMIT';
      // Without a trip it was the sun that went, or somebody's test.
      if (trip?.at_us !== at_us || (permit && !disturbance.exported)) this.#bear(at_us);
      else this.#judge(at_us, originOf(trip), `${id} ${trip.did}`);
    } else if (!this.#isHeld(now)) {
      const parted = this.#relays
        .filter((poles) => partedLegs(moment, poles).length > 0)
        .map(({ device }) => device.id);
      const opened = this.#opened(parted);
      if (opened !== undefined && disturbance.exported)
        this.#judge(at_us, 'controller', `${opened.piece} takes ${id} away`);
      else this.#bear(at_us);
    }
  }

  #opened(relays: readonly Id[]): HappeningRecord | undefined {
    const opened = this.#desk.happenings.latest(relays, PARTS);
    return opened?.origin === 'controller' ? opened : undefined;
  }

  /** Back inside, or out where nothing is asked any more. */
  #mayEnd(disturbance: Disturbance, at_us: number, now: Float64Array): void {
    if (this.#isOut(now, 'voltage')) disturbance.ofVoltage = true;
    if (this.#isOut(now, 'frequency')) disturbance.ofFrequency = true;
    if ([...this.#voltage, ...this.#frequency].some(({ isFree }) => isFree)) {
      this.#bear(at_us);
      return;
    }
    if (this.#isOut(now, 'any')) return;
    this.#bear(at_us);
    if (!disturbance.ofVoltage || disturbance.ofFrequency) return;
    this.#recovery.begin(at_us, disturbance.before_A, disturbance.irradiance, originOf(disturbance.cause));
  }

  /** It is over, and nobody has left. */
  #bear(at_us: number): void {
    this.#open = undefined;
    const about = `${this.#source.id} bears a disturbance of the utility`;
    this.#desk.book.add(yesOrNo(at_us, true, 'ieee-1547-2018.ride.II.0.88', 'site', about));
  }

  /** Of all times that have run the one that allows it best counts. */
  #judge(at_us: number, against: Origin, about: string): void {
    this.#open = undefined;
    const runs = [...this.#voltage, ...this.#frequency].flatMap((side) => side.ridden(at_us));
    const findings = runs.map((run) => findingOf(run, at_us, against, about));
    const best = findings.reduce<Finding | undefined>(
      (a, b) => (a === undefined || b.margin.value > a.margin.value ? b : a),
      undefined,
    );
    if (best !== undefined) this.#desk.book.add(best);
  }

  #take(at_us: number, now: Float64Array): void {
    const U = now[this.#bus.u12]! / LINE_V;
    const f_Hz = now[this.#bus.f]!;
    for (const side of this.#voltage) side.take(at_us, U);
    for (const side of this.#frequency) side.take(at_us, f_Hz);
  }

  #isOut(values: Float64Array, which: 'voltage' | 'frequency' | 'any'): boolean {
    const U = values[this.#bus.u12]! / LINE_V;
    const f_Hz = values[this.#bus.f]!;
    return (
      (which !== 'frequency' && this.#voltage.some((side) => side.isOut(U))) ||
      (which !== 'voltage' && this.#frequency.some((side) => side.isOut(f_Hz)))
    );
  }

  /** The utility reaches service and source on both legs. */
  #isHeld(values: Float64Array): boolean {
    return !this.#presence.absence(values).any && isOn(values, this.#bus.present1) && isOn(values, this.#bus.present2);
  }
}

function findingOf(
  { key, from_us, found_us, least_us }: Ridden,
  at_us: number,
  against: Origin,
  about: string,
): Finding {
  const value = atLeast(found_us, least_us, least_us);
  return {
    margin: {
      value,
      at_us,
      found: found_us,
      limit: least_us,
      scale: least_us,
      unit: 'µs',
      about: `${about}, time out of the continuous range`,
    },
    limit: key,
    against,
    resolution: {
      phasor: HALF_CYCLE_US / least_us,
      wave: WAVE_CROSSING_US / least_us,
      edges_us: [from_us, at_us],
    },
  };
}
