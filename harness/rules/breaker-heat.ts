import type { Id } from '../../sim/site-description.ts';
import type { Origin } from '../../sim/telemetry.ts';
import { type Finding, upperMargin, yesOrNo } from './book.ts';
import { polesOf } from './contacts.ts';
import { moves } from './edges.ts';
import type { DeviceFacts } from './facts.ts';
import type { Desk, Moment } from './judge.ts';
import type { Steps } from './steps.ts';
import type { VehicleWork } from './vehicle-work.ts';

interface Heated {
  readonly device: DeviceFacts;
  readonly thermal: number;
  readonly poles: readonly number[];
  readonly parts: readonly [number, number];
  /** Of its trips, the last one that was counted. */
  trip: number | undefined;
  peak: { readonly share: number; readonly at_us: number; readonly against: Origin } | undefined;
}

/** A source with the bus that it stands on. */
export interface Beside {
  readonly part: number;
  isActive(values: Float64Array): boolean;
}

/** Thermal state of each breaker in the part of a source that runs or charges: the warmest, and each trip. */
export class BreakerHeat {
  readonly #desk: Desk;
  readonly #steps: Steps;
  readonly #sources: readonly Beside[];
  readonly #breakers: readonly Heated[];

  constructor(desk: Desk, sources: readonly Beside[], steps: Steps) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#steps = steps;
    this.#sources = sources;
    this.#breakers = facts.devices
      .filter(({ kind }) => kind === 'breaker')
      .map((device) => ({
        device,
        thermal: channels.index(`${device.id}.thermal`),
        poles: polesOf(channels, device).legs.map(({ state }) => state),
        parts: [channels.index(`${device.at[0]}.part`), channels.index(`${device.at[1]}.part`)],
        trip: undefined,
        peak: undefined,
      }));
  }

  /** Ask before the steps take this frame: the trip's own poles are a step as well. */
  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    for (const breaker of this.#breakers) {
      const mayTrip = moves(moment, breaker.thermal) || breaker.poles.some((pole) => moves(moment, pole));
      if (mayTrip) this.#takeTrip(breaker, before ?? now);
      const share = now[breaker.thermal]!;
      if (share <= (breaker.peak?.share ?? Number.NEGATIVE_INFINITY) || !this.#isBeside(breaker, now)) continue;
      breaker.peak = { share, at_us, against: this.#steps.against };
    }
  }

  end(): void {
    for (const { device, peak } of this.#breakers) {
      if (peak === undefined) continue;
      const about = `thermal state of breaker ${device.id}, share of its trip`;
      const margin = upperMargin(peak.at_us, peak.share, 1, '1', about);
      this.#desk.book.add({ margin, limit: 'own.source.thermal', against: peak.against });
    }
  }

  #takeTrip(breaker: Heated, before: Float64Array): void {
    const { id } = breaker.device;
    const trip = this.#desk.happenings.latest([id], ['trips thermal']);
    if (trip === undefined || trip.number === breaker.trip) return;
    breaker.trip = trip.number;
    if (this.#isBeside(breaker, before)) this.#desk.book.add(this.#tripped(id, trip.at_us));
  }

  #tripped(id: Id, at_us: number): Finding {
    const about = `breaker ${id} trips by heat beside a running source`;
    return yesOrNo(at_us, false, 'own.source.thermal', this.#steps.against, about);
  }

  #isBeside({ parts }: Heated, values: Float64Array): boolean {
    return this.#sources.some(
      (source) => parts.some((part) => values[part] === values[source.part]) && source.isActive(values),
    );
  }
}

/** What stands beside a breaker: vehicles that run or charge, and every other source that energises. */
export function besides({ facts, channels }: Desk, vehicles: readonly VehicleWork[]): Beside[] {
  return facts.following.map((source): Beside => {
    const part = channels.index(`${source.at}.part`);
    const vehicle = vehicles.find((each) => each.source.id === source.id);
    if (vehicle !== undefined) return { part, isActive: (values) => vehicle.isActive(values) };
    const energises = channels.index(`${source.id}.energises`);
    return { part, isActive: (values) => values[energises] !== 0 };
  });
}
