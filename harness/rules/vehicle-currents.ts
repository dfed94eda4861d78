import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import { conductsAny, type Poles, partedLegs, polesOf } from './contacts.ts';
import type { DeviceFacts, SiteFacts, SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';
import type { Moment } from './judge.ts';
import { neighbours } from './site-facts.ts';

export interface BrokenCurrent {
  readonly device: DeviceFacts;
  readonly source: Id;
  /** Of the vehicle, just before the first pole of the device parted. */
  readonly current_A: number;
}

interface Vehicle {
  readonly source: SourceFacts;
  readonly i: number;
  readonly forms: number;
  readonly reference: Readonly<Record<'present1' | 'present2' | 'forming', number>>;
  /** Devices with nothing but the vehicle beyond them. */
  readonly ownCircuit: ReadonlySet<Id>;
}

/**
 * Charge and discharge currents above 1 A that a device breaks: one in the vehicle's own circuit, or any that takes the
 * last reference from a vehicle that follows. Poles that part within 50 ms of each other are one operation, and the current
 * is that before the first of them: a 240 V vehicle is off as soon as one leg is.
 */
export class VehicleCurrents {
  readonly #poles: readonly Poles[];
  readonly #vehicles: readonly Vehicle[];
  readonly #together_us = toUs(limit('own.touch-apart').values.time_s);
  readonly #least_A = limit('practice.break-current').values.current_A;
  /** By device: when its first pole parted, and what the vehicles carried then. */
  readonly #first = new Map<Id, { readonly at_us: number; readonly currents_A: readonly number[] }>();

  constructor(facts: SiteFacts, channels: Channels) {
    this.#poles = facts.devices.map((device) => polesOf(channels, device));
    this.#vehicles = facts.forming.map((source) => ({
      source,
      i: channels.index(`${source.id}.i`),
      forms: channels.index(`${source.id}.forms`),
      reference: channels.of(source.at, 'present1', 'present2', 'forming'),
      ownCircuit: new Set(
        facts.devices.filter((device) => leadsOnlyTo(facts, device, source)).map((device) => device.id),
      ),
    }));
  }

  frame(moment: Moment): BrokenCurrent[] {
    const { at_us, now, before } = moment;
    if (before === undefined) return [];
    const broken: BrokenCurrent[] = [];
    for (const poles of this.#poles) {
      if (partedLegs(moment, poles).length === 0) continue;
      const first = this.#firstOf(poles.device.id, at_us, before);
      if (conductsAny(now, poles)) continue;
      for (const [index, vehicle] of this.#vehicles.entries()) {
        const current_A = first.currents_A[index]!;
        if (current_A > this.#least_A && breaks(vehicle, poles.device, now, before)) {
          broken.push({ device: poles.device, source: vehicle.source.id, current_A });
        }
      }
      this.#first.delete(poles.device.id);
    }
    return broken;
  }

  #firstOf(device: Id, at_us: number, before: Float64Array): { readonly currents_A: readonly number[] } {
    const known = this.#first.get(device);
    if (known !== undefined && at_us - known.at_us <= this.#together_us) return known;
    const fresh = { at_us, currents_A: this.#vehicles.map(({ i }) => Math.abs(before[i]!)) };
    this.#first.set(device, fresh);
    return fresh;
  }
}

function breaks(vehicle: Vehicle, device: DeviceFacts, now: Float64Array, before: Float64Array): boolean {
  if (vehicle.ownCircuit.has(device.id)) return true;
  const { present1, present2, forming } = vehicle.reference;
  const held = (values: Float64Array): boolean =>
    isOn(values, present1) || isOn(values, present2) || isOn(values, forming);
  return !isOn(before, vehicle.forms) && held(before) && !held(now);
}

/** Whether, with the device taken out, the vehicle's side holds no load, no other source and no service. */
function leadsOnlyTo({ site }: SiteFacts, device: DeviceFacts, source: SourceFacts): boolean {
  const seen = new Set<Id>([source.at]);
  const queue: Id[] = [source.at];
  for (let head = 0; head < queue.length; head += 1) {
    for (const { piece, far } of neighbours(site, queue[head]!)) {
      if (piece.id === device.id || seen.has(far)) continue;
      seen.add(far);
      queue.push(far);
    }
  }
  if (seen.has(device.at[0]) === seen.has(device.at[1])) return false;
  const others = site.pieces.filter(
    (piece) => piece.at.length === 1 && piece.id !== source.id && piece.kind !== 'bond',
  );
  return others.every((piece) => !seen.has(piece.at[0]!));
}
