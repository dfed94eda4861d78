import { limit } from '../limits/index.ts';
import type { Channels } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { CYCLE_US, STOOD_US } from './intervals.ts';

/**
 * Whether a source has ceased: active power at most 1 % and apparent power at most 10 % of rated for one whole cycle. The
 * instant is the start of that cycle, so it is known one cycle late.
 */
export class CeaseWatch {
  readonly #p: number;
  readonly #q: number;
  readonly #active_W: number;
  readonly #apparent_VA: number;
  #lowSince_us: number | undefined;
  #fresh = true;

  constructor(channels: Channels, source: SourceFacts) {
    this.#p = channels.index(`${source.id}.p`);
    this.#q = channels.index(`${source.id}.q`);
    this.#active_W = limit('ieee-1547-2018.ceased.active').values.power_pu * source.rated_W;
    this.#apparent_VA = limit('ieee-1547-2018.ceased.apparent').values.power_pu * source.rated_W;
  }

  /** The instant at which it ceased, as known at `at_us` of what held until then. Ask before `take`. */
  ceasedAt(at_us: number): number | undefined {
    const since_us = this.#lowSince_us;
    return since_us !== undefined && at_us - since_us >= CYCLE_US ? since_us : undefined;
  }

  /** Since when power has been low; not yet for a whole cycle, perhaps. */
  get lowSince_us(): number | undefined {
    return this.#lowSince_us;
  }

  /** Takes the values that hold from `at_us` on. */
  take(at_us: number, values: Float64Array): void {
    const p = values[this.#p]!;
    const q = values[this.#q]!;
    const low = Math.abs(p) <= this.#active_W && Math.sqrt(p * p + q * q) <= this.#apparent_VA;
    if (!low) this.#lowSince_us = undefined;
    else this.#lowSince_us ??= this.#fresh ? at_us - STOOD_US : at_us;
    this.#fresh = false;
  }
}
