import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { type AreaVoltage, areaVoltages } from './area-voltage.ts';
import { CeaseWatch } from './ceasing.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { MAKES, originOf, TRIPS, UTILITY_GOES } from './happenings.ts';
import { CYCLE_US } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { Presence } from './presence.ts';

/** What a source of the house may do to the voltage of the street while it is alone with it. */
export const overvoltageArea = rule({
  id: 'overvoltage-area',
  about:
    'A local source that is alone with the service does not lift it: fundamental and summed time of crests, these taken as a sine; shorter peaks are left to waveforms.',
  limit: 'ieee-1547-2018.overvoltage.fundamental',
  needs: 'phasor',
  scale: 'the time allowed above each level; 2.0 pu at the level of 2.0 pu',
  preside: (desk) => new OvervoltageArea(desk),
});

class OvervoltageArea implements Judge {
  readonly #desk: Desk;
  readonly #presence: Presence;
  readonly #drivers: readonly Driver[];
  readonly #voltages: readonly AreaVoltage[];
  readonly #utility: Readonly<Record<'on' | 'voltage', number>>;
  readonly #high_pu = limit('own.lower-utility').values.max_pu;
  readonly #movers: readonly Id[];
  /** While any source is alone with the service, or has just let go. */
  #from_us: number | undefined;
  #cause: HappeningRecord | undefined;

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    const utility = facts.site.pieces.find(({ kind }) => kind === 'utility')!;
    const sources = [...facts.following, ...facts.forming.filter((source) => !facts.following.includes(source))];
    this.#desk = desk;
    this.#presence = new Presence(channels, facts.serviceBus);
    this.#drivers = sources.map((source) => new Driver(desk, source));
    this.#voltages = areaVoltages(desk);
    this.#utility = channels.of(utility.id, 'on', 'voltage');
    this.#movers = [utility.id, ...facts.devices.map(({ id }) => id), ...sources.map(({ id }) => id)];
  }

  frame(moment: Moment): void {
    const { at_us, now } = moment;
    this.#settle(at_us);
    const absent = this.#presence.absence(now).any;
    for (const driver of this.#drivers) driver.frame(moment, absent);
    const drives = this.#drivers.some(({ isActive }) => isActive);
    if (drives && this.#from_us === undefined) this.#open(at_us);
    else if (!drives && this.#from_us !== undefined) this.#close(at_us);
    const judged = drives && !this.#isUtilityHigh(now);
    for (const voltage of this.#voltages) voltage.take(at_us, now, judged);
  }

  end(at_us: number): void {
    this.#settle(at_us);
    if (this.#from_us === undefined) return;
    if (!this.#close(at_us)) this.#desk.book.owe();
  }

  #settle(at_us: number): void {
    if (this.#from_us === undefined) return;
    let until_us = 0;
    for (const driver of this.#drivers) {
      if (driver.isActive) until_us = Math.max(until_us, driver.settle(at_us) ?? at_us);
    }
    if (!this.#drivers.some(({ isActive }) => isActive)) this.#close(until_us);
  }

  #open(at_us: number): void {
    this.#from_us = at_us;
    this.#desk.book.arm();
    this.#cause = this.#desk.happenings.latest(this.#movers, [...UTILITY_GOES, ...MAKES, ...SOURCE_ACTS]);
  }

  /** True where something is broken. */
  #close(at_us: number): boolean {
    const from_us = this.#from_us!;
    this.#from_us = undefined;
    let broken = false;
    for (const voltage of this.#voltages) {
      const findings = voltage.findings(from_us, at_us, originOf(this.#cause));
      if (findings.some(({ margin }) => margin.value < 0)) broken = true;
      this.#desk.book.add(...findings);
    }
    return broken;
  }

  /** What the utility itself lifts is not the house's. */
  #isUtilityHigh(now: Float64Array): boolean {
    return isOn(now, this.#utility.on) && now[this.#utility.voltage]! > this.#high_pu;
  }
}

const SOURCE_ACTS = ['starts', 'forms', 'stops', 'ceases', 'trips TEST', ...TRIPS];

/** One source: from the absence, or from its own trip, while it has a path to the service, until a cycle after it has ceased. */
class Driver {
  readonly #ceasing: CeaseWatch;
  readonly #own: Readonly<Record<'energises' | 'tripped' | 'path1' | 'path2', number>>;
  #from_us: number | undefined;
  #byTrip = false;
  #energises = false;

  constructor({ channels }: Desk, source: SourceFacts) {
    this.#ceasing = new CeaseWatch(channels, source);
    this.#own = channels.of(source.id, 'energises', 'tripped', 'path1', 'path2');
  }

  get isActive(): boolean {
    return this.#from_us !== undefined;
  }

  /** The instant at which it has been quiet for a cycle, if that has come; it is no longer active then. */
  settle(at_us: number): number | undefined {
    const ceased_us = this.#ceasing.ceasedAt(at_us);
    if (this.#from_us === undefined || ceased_us === undefined || this.#energises) return undefined;
    const until_us = Math.max(this.#from_us, ceased_us) + CYCLE_US;
    if (until_us > at_us) return undefined;
    this.#from_us = undefined;
    return until_us;
  }

  frame({ at_us, now, before }: Moment, absent: boolean): void {
    const path = isOn(now, this.#own.path1) || isOn(now, this.#own.path2);
    this.#energises = isOn(now, this.#own.energises);
    if (this.#from_us !== undefined) {
      if (!path || (!this.#byTrip && !absent)) this.#from_us = undefined;
    } else if (path) {
      const trips =
        before !== undefined &&
        isOn(before, this.#own.energises) &&
        !isOn(before, this.#own.tripped) &&
        isOn(now, this.#own.tripped);
      if (trips || (absent && this.#energises)) {
        this.#from_us = at_us;
        this.#byTrip = trips;
      }
    }
    this.#ceasing.take(at_us, now);
  }
}
