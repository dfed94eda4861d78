import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord } from '../../sim/telemetry.ts';
import { LEG_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type Finding, HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import { CeaseWatch } from './ceasing.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { originOf, PARTS, UTILITY_GOES } from './happenings.ts';
import { CYCLE_US, isLate, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';

/** A running inverter across both legs leaves a utility that has lost one of them. */
export const openPhase = rule({
  id: 'open-phase',
  about: 'A following source across both legs ceases in time when the utility loses one of them ahead of the relay.',
  limit: 'ieee-1547-2018.open-phase',
  needs: 'phasor',
  scale: 'the time to leave (2.0 s)',
  preside: (desk) => {
    const runners = desk.facts.following.map((source) => new OpenPhase(desk, source));
    return {
      frame: (moment) => {
        for (const runner of runners) runner.frame(moment);
      },
      end: (at_us) => {
        for (const runner of runners) runner.end(at_us);
      },
    };
  },
});

type BusAt = Readonly<Record<'present1' | 'present2' | 'part' | 'v1' | 'v2', number>>;

class OpenPhase implements Judge {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #ceasing: CeaseWatch;
  readonly #limit_us = toUs(limit('ieee-1547-2018.open-phase').values.time_s);
  readonly #own: BusAt;
  /** Buses ahead of the relay: a leg that only the relay has opened is no open phase. */
  readonly #ahead: readonly { readonly id: Id; readonly at: BusAt }[];
  readonly #movers: readonly Id[];
  readonly #energises: number;
  readonly #forms: number | undefined;
  #lost: 'L1' | 'L2' | undefined;
  /** While it runs on one leg. */
  #from_us: number | undefined;
  #armed = false;
  #cause: HappeningRecord | undefined;
  #crest_pu = 0;

  constructor(desk: Desk, source: SourceFacts) {
    const { facts, channels } = desk;
    const busAt = (bus: Id): BusAt => channels.of(bus, 'present1', 'present2', 'part', 'v1', 'v2');
    this.#desk = desk;
    this.#source = source;
    this.#ceasing = new CeaseWatch(channels, source);
    this.#own = busAt(source.at);
    this.#ahead = facts.site.buses
      .filter(({ id }) => facts.sectionOf.get(id) !== 'H')
      .map(({ id }) => ({ id, at: busAt(id) }));
    const utilities = facts.site.pieces.filter(({ kind }) => kind === 'utility').map(({ id }) => id);
    this.#movers = [...utilities, ...facts.devices.map(({ id }) => id)];
    this.#energises = channels.index(`${source.id}.energises`);
    this.#forms = source.kind === 'vehicle' ? channels.index(`${source.id}.forms`) : undefined;
  }

  frame({ at_us, now, before }: Moment): void {
    this.#settle(at_us);
    const lost = this.#lostLeg(now);
    if (lost !== this.#lost && this.#from_us !== undefined) this.#close(at_us, false);
    const begins = lost !== undefined && this.#from_us === undefined && this.#runs(now);
    const ranBefore = before !== undefined && this.#runs(before);
    if (begins && (lost !== this.#lost || !ranBefore)) {
      this.#from_us = at_us;
      this.#armed = false;
      this.#crest_pu = 0;
      const { happenings } = this.#desk;
      this.#cause =
        lost !== this.#lost
          ? happenings.latest(this.#movers, [...UTILITY_GOES, ...PARTS])
          : happenings.latest([this.#source.id], ['starts']);
    }
    this.#lost = lost;
    if (this.#from_us !== undefined) this.#seeCrest(now);
    this.#ceasing.take(at_us, now);
  }

  end(at_us: number): void {
    this.#settle(at_us);
    if (this.#from_us === undefined) return;
    if (isLate(at_us - this.#from_us, this.#limit_us)) this.#close(at_us, false);
    else {
      this.#arm();
      this.#desk.book.owe();
    }
  }

  /** The leg that the utility does not reach at its bus and at one ahead of the relay in the same part. */
  #lostLeg(now: Float64Array): 'L1' | 'L2' | undefined {
    const lost = oneLegLost(now, this.#own);
    if (lost === undefined) return undefined;
    const part = now[this.#own.part]!;
    return this.#ahead.some(({ at }) => now[at.part]! === part && oneLegLost(now, at) === lost) ? lost : undefined;
  }

  #seeCrest(now: Float64Array): void {
    for (const { at } of this.#ahead) {
      if (now[at.part]! !== now[this.#own.part]! || oneLegLost(now, at) !== this.#lost) continue;
      const leg_V = this.#lost === 'L1' ? now[at.v1]! : now[at.v2]!;
      this.#crest_pu = Math.max(this.#crest_pu, leg_V / LEG_V);
    }
  }

  #arm(): void {
    if (!this.#armed) this.#desk.book.arm();
    this.#armed = true;
  }

  #settle(at_us: number): void {
    if (this.#from_us !== undefined && at_us - this.#from_us >= CYCLE_US) this.#arm();
    const ceased_us = this.#ceasing.ceasedAt(at_us);
    if (this.#from_us !== undefined && ceased_us !== undefined) this.#close(Math.max(this.#from_us, ceased_us), true);
  }

  /** Over within a cycle: the poles of one switch that moved one after the other. */
  #close(at_us: number, byCeasing: boolean): void {
    const from_us = this.#from_us!;
    const found_us = at_us - from_us;
    this.#from_us = undefined;
    if (!byCeasing && found_us < CYCLE_US) return;
    this.#arm();
    const crest = `crest there up to ${(Math.round(this.#crest_pu * 100) / 100).toString()} pu`;
    const limit_us = this.#limit_us;
    const resolution = {
      phasor: HALF_CYCLE_US / limit_us,
      wave: WAVE_CROSSING_US / limit_us,
      edges_us: [at_us],
    };
    const finding: Finding = timeFinding({
      at_us,
      found_us,
      limit_us,
      key: 'ieee-1547-2018.open-phase',
      against: originOf(this.#cause),
      about: `${this.#source.id} on a utility without ${this.#lost}, ${crest}`,
      ...(byCeasing && { resolution }),
    });
    this.#desk.book.add(finding);
  }

  /** A vehicle that forms makes the voltage; it is no following source then. */
  #runs(values: Float64Array): boolean {
    return isOn(values, this.#energises) && !(this.#forms !== undefined && isOn(values, this.#forms));
  }
}

function oneLegLost(values: Float64Array, at: BusAt): 'L1' | 'L2' | undefined {
  const has1 = isOn(values, at.present1);
  const has2 = isOn(values, at.present2);
  return has1 === has2 ? undefined : has1 ? 'L2' : 'L1';
}
