import type { Id, Leg } from '../../sim/site-description.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import type { DeviceFacts, SiteFacts } from './facts.ts';
import { STOOD_US, toUs } from './intervals.ts';
import type { Moment } from './judge.ts';

/** The line poles of one device, as channels. State 0 is open; closed and welded conduct. */
export interface Poles {
  readonly device: DeviceFacts;
  readonly legs: readonly { readonly leg: Leg; readonly state: number }[];
}

export function polesOf(channels: Channels, device: DeviceFacts): Poles {
  const legs = device.legs.filter((leg) => leg !== 'N');
  return { device, legs: legs.map((leg) => ({ leg, state: channels.index(`${device.id}.${leg}`) })) };
}

export const conductsAny = (values: Float64Array, poles: Poles): boolean =>
  poles.legs.some(({ state }) => isOn(values, state));

/** Legs whose pole conducted before and no longer does. */
export function partedLegs({ now, before }: Moment, poles: Poles): Leg[] {
  if (before === undefined) return [];
  return poles.legs.filter(({ state }) => isOn(before, state) && !isOn(now, state)).map(({ leg }) => leg);
}

/** What makes a bus live: voltage, or a source that energises there. */
export interface BusLife {
  readonly v1: number;
  readonly v2: number;
  readonly v12: number;
  readonly following: number;
  readonly forming: number;
}

export const lifeOf = (channels: Channels, bus: Id): BusLife =>
  channels.of(bus, 'v1', 'v2', 'v12', 'following', 'forming');

/** Live: any of the three voltages at 0.25 pu or more, or a source energises there. */
export function isLive(values: Float64Array, bus: BusLife): boolean {
  const level_pu = Math.max(values[bus.v1]! / LEG_V, values[bus.v2]! / LEG_V, values[bus.v12]! / LINE_V);
  return level_pu >= limit('own.live').values.level_pu || isOn(values, bus.following) || isOn(values, bus.forming);
}

export interface Touch {
  readonly device: DeviceFacts;
  /** Poles that touch with this frame. */
  readonly legs: readonly Leg[];
}

/** First touches of devices between parts that nothing else joins. A bounce within 50 ms is the same touch. */
export class TouchWatch {
  readonly #devices: readonly { readonly poles: Poles; readonly partA: number; readonly partB: number }[];
  readonly #conducted_us = new Map<Id, number>();
  readonly #apart_us = toUs(limit('own.touch-apart').values.time_s);

  constructor(facts: SiteFacts, channels: Channels) {
    this.#devices = facts.devices.map((device) => ({
      poles: polesOf(channels, device),
      partA: channels.index(`${device.at[0]}.part`),
      partB: channels.index(`${device.at[1]}.part`),
    }));
  }

  frame({ at_us, now, before }: Moment): Touch[] {
    const touches: Touch[] = [];
    for (const { poles, partA, partB } of this.#devices) {
      const { device, legs } = poles;
      if (before === undefined) this.#conducted_us.set(device.id, at_us - STOOD_US);
      else if (conductsAny(before, poles)) this.#conducted_us.set(device.id, at_us);
      else if (before[partA]! !== before[partB]! && at_us - this.#conducted_us.get(device.id)! >= this.#apart_us) {
        const touching = legs.filter(({ state }) => isOn(now, state)).map(({ leg }) => leg);
        if (touching.length > 0) touches.push({ device, legs: touching });
      }
    }
    return touches;
  }
}
