import { assert } from '../../sim/check.ts';
import type { Channel } from '../../sim/telemetry.ts';

/** Where each channel stands in a frame, looked up once at the head. A name that is not there is a defect of ours. */
export class Channels {
  readonly #index: ReadonlyMap<string, number>;
  readonly #channels: readonly Channel[];
  /** 1 for each channel that was asked for: no other can make a difference to whoever asked. */
  readonly asked: Uint8Array;

  constructor(channels: readonly Channel[]) {
    this.#index = indexOf(channels);
    this.#channels = channels;
    this.asked = new Uint8Array(channels.length);
  }

  index(name: string): number {
    const index = this.#index.get(name);
    assert(index !== undefined, `telemetry has no channel ${name}`);
    this.asked[index] = 1;
    return index;
  }

  /** Values of a channel of states that stand for these names. */
  valuesOf(name: string, states: readonly string[]): readonly number[] {
    const known = this.#channels[this.index(name)]?.states ?? [];
    return states.map((state) => {
      const value = known.indexOf(state);
      assert(value >= 0, `channel ${name} has no state ${state}`);
      return value;
    });
  }

  /** Several quantities of one bus, device or source: `of('house', 'u1', 'u2').u1`. */
  of<N extends string>(owner: string, ...names: readonly N[]): Readonly<Record<N, number>> {
    const found: Partial<Record<N, number>> = {};
    for (const name of names) found[name] = this.index(`${owner}.${name}`);
    return found as Record<N, number>;
  }
}

const known = new WeakMap<readonly Channel[], ReadonlyMap<string, number>>();

/** The same head goes to every rule: its names are looked through once. */
function indexOf(channels: readonly Channel[]): ReadonlyMap<string, number> {
  let index = known.get(channels);
  if (index === undefined) {
    index = new Map(channels.map(({ name }, i) => [name, i]));
    known.set(channels, index);
  }
  return index;
}

export const isOn = (values: Float64Array, index: number): boolean => values[index]! !== 0;
