import { assert } from '../../sim/check.ts';
import type { Channel } from '../../sim/telemetry.ts';

/** Where each channel stands in a frame, looked up once at the head. A name that is not there is a defect of ours. */
export class Channels {
  readonly #index = new Map<string, number>();

  constructor(channels: readonly Channel[]) {
    for (const [index, channel] of channels.entries()) this.#index.set(channel.name, index);
  }

  index(name: string): number {
    const index = this.#index.get(name);
    assert(index !== undefined, `telemetry has no channel ${name}`);
    return index;
  }

  /** Several quantities of one bus, device or source: `of('house', 'u1', 'u2').u1`. */
  of<N extends string>(owner: string, ...names: readonly N[]): Readonly<Record<N, number>> {
    const found: Partial<Record<N, number>> = {};
    for (const name of names) found[name] = this.index(`${owner}.${name}`);
    return found as Record<N, number>;
  }
}

export const isOn = (values: Float64Array, index: number): boolean => values[index]! !== 0;
