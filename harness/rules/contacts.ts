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

/** A pole that touches. */
export interface Touch {
  readonly device: DeviceFacts;
  readonly leg: Leg;
  /** Nothing joined the parts on its two sides before. */
  readonly partsApart: boolean;
}

interface Pole {
  readonly device: DeviceFacts;
  readonly leg: Leg;
  readonly state: number;
  readonly parts: readonly [number, number];
  /** When it last ceased to conduct. */
  opened_us: number;
}

const NO_TOUCHES: readonly Touch[] = [];

/** Touches pole by pole. A bounce within 50 ms is the same touch. */
export class TouchWatch {
  readonly #poles: readonly Pole[];
  readonly #apart_us = toUs(limit('own.touch-apart').values.time_s);

  constructor(facts: SiteFacts, channels: Channels) {
    this.#poles = facts.devices.flatMap((device) => {
      const parts = [channels.index(`${device.at[0]}.part`), channels.index(`${device.at[1]}.part`)] as const;
      return polesOf(channels, device).legs.map(({ leg, state }) => ({ device, leg, state, parts, opened_us: 0 }));
    });
  }

  frame({ at_us, now, before }: Moment): readonly Touch[] {
    let touches: Touch[] | undefined;
    for (const pole of this.#poles) {
      if (before === undefined) {
        pole.opened_us = at_us - STOOD_US;
        continue;
      }
      const conducted = isOn(before, pole.state);
      if (conducted === isOn(now, pole.state)) continue;
      if (conducted) pole.opened_us = at_us;
      else if (at_us - pole.opened_us >= this.#apart_us) {
        const [a, b] = pole.parts;
        touches ??= [];
        touches.push({ device: pole.device, leg: pole.leg, partsApart: before[a]! !== before[b]! });
      }
    }
    return touches ?? NO_TOUCHES;
  }
}
