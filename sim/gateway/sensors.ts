import type { SimUs } from '../units.ts';
import { INPUT_NAMES, INT32_max, type InputName, type Inputs, type Reading, type ReadingState } from './boundary.ts';

/** Where one input comes from, as the site has it: the true value at an instant not later than now, in the input's unit. */
export interface Tap {
  /** True value as it was `latency_us` ago, windows included. */
  at(instant_us: number): number;
  readonly latency_us: number;
  readonly fitted: boolean;
}

/** int32 of a true value: rounded to the unit, held inside the range, -0 as 0. */
export function toInt32(value: number): number {
  const rounded = Math.round(value);
  if (rounded > INT32_max) return INT32_max;
  if (rounded < -INT32_max) return -INT32_max;
  return rounded === 0 ? 0 : rounded;
}

/** The gateway's view: late by each tap's latency, in int32. */
export class Sensors {
  readonly #taps: Readonly<Record<InputName, Tap>>;
  readonly #stale = new Set<InputName>();
  readonly #held = new Map<InputName, { value: number; at_us: number }>();

  constructor(taps: Readonly<Record<InputName, Tap>>) {
    this.#taps = taps;
  }

  /** The longest latency of any tap, µs: how long a change may take to arrive. */
  get latencyMax_us(): number {
    return INPUT_NAMES.reduce((most, name) => Math.max(most, this.#taps[name].latency_us), 0);
  }

  /** From now on the reading of one input no longer comes: its last value stays, and is marked stale. */
  freeze(name: InputName, now_us: number): void {
    const { value, at_us } = this.#read(name, now_us);
    this.#held.set(name, { value, at_us });
    this.#stale.add(name);
  }

  /** The reading of one input comes again. */
  thaw(name: InputName): void {
    this.#held.delete(name);
    this.#stale.delete(name);
  }

  read(now_us: SimUs, scan: number): Inputs {
    const readings: Partial<Record<InputName, Reading>> = {};
    for (const name of INPUT_NAMES) readings[name] = this.#read(name, now_us);
    return { now_us, scan, ...(readings as Record<InputName, Reading>) };
  }

  #read(name: InputName, now_us: number): Reading {
    const tap = this.#taps[name];
    const state = (what: ReadingState): ReadingState => what;
    if (!tap.fitted) return { value: 0, at_us: now_us, state: state('not fitted') };
    const held = this.#held.get(name);
    if (held !== undefined) return { ...held, state: state('stale') };
    const at_us = Math.max(0, now_us - tap.latency_us);
    return { value: toInt32(tap.at(at_us)), at_us, state: state('fresh') };
  }
}

/** Whether a scan counts: any value or state differs; instants do not matter, nor the heartbeat's count. */
export function readingsDiffer(a: Inputs, b: Inputs): boolean {
  for (const name of INPUT_NAMES) {
    if (a[name].state !== b[name].state) return true;
    if (name !== 'vehicleHeartbeat' && a[name].value !== b[name].value) return true;
  }
  return false;
}
