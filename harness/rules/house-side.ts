import type { Id } from '../../sim/site-description.ts';
import { SUPPLY } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { HALF_CYCLE_US } from './book.ts';
import { BusLevel } from './bus-level.ts';
import { isOn } from './channels.ts';
import { NOT_FITTED } from './evidence.ts';
import type { SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';
import type { Desk } from './judge.ts';
import { RecentPeak } from './recent-peak.ts';

const DECAYING = SUPPLY.indexOf('decaying');
const UNFORMED = SUPPLY.indexOf('unformed');

interface Member {
  readonly source: SourceFacts;
  readonly part: number;
  readonly energises: number;
  readonly tripped: number;
  /** PV only. */
  readonly permit: number | undefined;
  /** Vehicle only. */
  readonly forms: number | undefined;
}

/** What stands behind a relay, as the part that its house-side bus belongs to: sources, voltage, what runs down. */
export class HouseSide {
  readonly #part: number;
  readonly #supply: number;
  readonly #level: BusLevel;
  readonly #peak = new RecentPeak(toUs(limit('own.dead-bus').values.time_s));
  readonly #members: readonly Member[];
  readonly #motors: readonly number[];
  readonly #resonant: readonly number[];
  readonly #taps: readonly { readonly value: number; readonly state: number; readonly nominal_V: number }[];

  constructor({ facts, channels }: Desk, bus: Id) {
    this.#part = channels.index(`${bus}.part`);
    this.#supply = channels.index(`${bus}.supply`);
    this.#level = new BusLevel(channels, bus);
    this.#members = facts.following.map((source) => ({
      source,
      part: channels.index(`${source.at}.part`),
      energises: channels.index(`${source.id}.energises`),
      tripped: channels.index(`${source.id}.tripped`),
      permit: source.kind === 'pv' ? channels.index(`${source.id}.permit`) : undefined,
      forms: source.kind === 'vehicle' ? channels.index(`${source.id}.forms`) : undefined,
    }));
    const partsOf = (type: string): number[] =>
      facts.site.pieces
        .filter(({ kind, params }) => kind === 'load' && params.type === type)
        .map(({ at }) => channels.index(`${at[0]}.part`));
    this.#motors = partsOf('motor');
    this.#resonant = partsOf('resonant');
    this.#taps = (['L1', 'L2', 'L12'] as const).map((name) => ({
      value: channels.index(`gateway.in.backup${name}`),
      state: channels.index(`gateway.in.backup${name}.state`),
      nominal_V: name === 'L12' ? LINE_V : LEG_V,
    }));
  }

  /** What holds from `at_us` on. Ask about the past before it is taken. */
  take(at_us: number, now: Float64Array): void {
    this.#peak.take(at_us, this.#level.highest(now));
  }

  isFormed(values: Float64Array): boolean {
    return this.#members.some(
      ({ part, forms, energises }) =>
        forms !== undefined && values[part] === values[this.#part] && isOn(values, forms) && isOn(values, energises),
    );
  }

  /** Following sources here, and whether each is kept from running on: tripped, or without permit. */
  followers(values: Float64Array): { readonly id: Id; readonly isQuiet: boolean }[] {
    return this.#members
      .filter(({ part, forms }) => values[part] === values[this.#part] && !(forms !== undefined && isOn(values, forms)))
      .map(({ source, permit, tripped, energises }) => ({
        id: source.id,
        isQuiet: isOn(values, tripped) || (permit === undefined ? !isOn(values, energises) : !isOn(values, permit)),
      }));
  }

  /** Nothing but motors hold what is left of the voltage; a charged capacitor would hold it at any angle. */
  runsDown(values: Float64Array): boolean {
    const isHere = (part: number): boolean => values[part] === values[this.#part];
    // A machine that still turns makes an unformed part by itself, without any source.
    const isFed = this.#members.some(({ part, energises }) => isHere(part) && isOn(values, energises));
    const supply = values[this.#supply];
    const decays = supply === DECAYING || (supply === UNFORMED && !isFed);
    return decays && this.#motors.some(isHere) && !this.#resonant.some(isHere);
  }

  momentary(values: Float64Array): number {
    return this.#level.momentary(values);
  }

  /** In the 100 ms before. */
  peakBefore(at_us: number): number {
    return this.#peak.before(at_us);
  }

  /** Whether a window half a cycle longer or shorter would turn the answer. */
  isPeakDoubtful(at_us: number, most_pu: number): boolean {
    const isDead = this.#peak.before(at_us) <= most_pu;
    return [-HALF_CYCLE_US, HALF_CYCLE_US].some((wider_us) => this.#peak.before(at_us, wider_us) <= most_pu !== isDead);
  }

  /** The gateway reads a live house dead: a tap that lies answers for what follows from it. */
  isReadDead(values: Float64Array): boolean {
    const most_pu = limit('own.dead-bus').values.level_pu;
    if (this.#level.highest(values) <= most_pu) return false;
    const isFitted = this.#taps.every(({ state }) => values[state] !== NOT_FITTED);
    return isFitted && this.#taps.every(({ value, nominal_V }) => values[value]! / 1000 <= most_pu * nominal_V);
  }
}
