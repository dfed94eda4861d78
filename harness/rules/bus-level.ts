import type { Id } from '../../sim/site-description.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import type { Channels } from './channels.ts';

/** The voltages of one bus, pu of their nominals. */
export class BusLevel {
  readonly #at: Readonly<Record<'v1' | 'v2' | 'v12' | 'u1' | 'u2' | 'u12', number>>;

  constructor(channels: Channels, bus: Id) {
    this.#at = channels.of(bus, 'v1', 'v2', 'v12', 'u1', 'u2', 'u12');
  }

  /** One-cycle rms and the value of the moment: the latter shows direct voltage and what decays. */
  highest(values: Float64Array): number {
    const { u1, u2, u12 } = this.#at;
    return Math.max(this.momentary(values), Math.max(values[u1]!, values[u2]!) / LEG_V, values[u12]! / LINE_V);
  }

  momentary(values: Float64Array): number {
    const { v1, v2, v12 } = this.#at;
    return Math.max(Math.max(values[v1]!, values[v2]!) / LEG_V, values[v12]! / LINE_V);
  }

  /** The lowest one-cycle rms of both legs and both together. */
  lowest(values: Float64Array): number {
    const { u1, u2, u12 } = this.#at;
    return Math.min(Math.min(values[u1]!, values[u2]!) / LEG_V, values[u12]! / LINE_V);
  }
}
