import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atLeast, type Finding } from './book.ts';
import type { SourceFacts } from './facts.ts';

/**
 * Power of an inverter that has just entered service, against its ramp: a share s of its rating not before (s − 0.20) of the
 * ramp's time, which leaves room for the largest step allowed.
 */
export class RampWatch {
  readonly #source: SourceFacts;
  readonly #from_us: number;
  readonly #ramp_us: number;
  readonly #against: Origin;
  readonly #where: string;
  readonly #step = limit('ieee-1547-2018.enter-service.step').values.power_pu;
  #worst: Finding | undefined;

  constructor(source: SourceFacts, from_us: number, ramp_us: number, against: Origin, where: string) {
    this.#source = source;
    this.#from_us = from_us;
    this.#ramp_us = ramp_us;
    this.#against = against;
    this.#where = where;
  }

  get isBroken(): boolean {
    return this.#worst !== undefined && this.#worst.margin.value < 0;
  }

  isOver(at_us: number): boolean {
    return at_us - this.#from_us >= this.#ramp_us;
  }

  /** `power_W` holds from `at_us` on. Of what holds, its beginning is the worst. */
  take(at_us: number, power_W: number): void {
    const share = power_W / this.#source.rated_W;
    if (this.isOver(at_us) || share <= this.#step) return;
    const found = at_us - this.#from_us;
    const least = Math.round((share - this.#step) * this.#ramp_us);
    const worst = this.#worst?.margin.value ?? Number.POSITIVE_INFINITY;
    if (atLeast(found, least, this.#ramp_us) < worst) this.#worst = this.#reading(at_us, found, least, share);
  }

  /** The worst by then; of one that never gave more than the largest step, that it did not. */
  finding(at_us: number): Finding {
    const elapsed_us = Math.min(at_us - this.#from_us, this.#ramp_us);
    return this.#worst ?? this.#reading(this.#from_us + elapsed_us, elapsed_us, 0, this.#step);
  }

  #reading(at_us: number, found: number, least: number, share: number): Finding {
    const percent = Math.round(share * 100);
    const about = `${this.#source.id}${this.#where} at ${percent} % of its rating, time since it entered service`;
    const value = atLeast(found, least, this.#ramp_us);
    return {
      margin: { value, at_us, found, limit: least, scale: this.#ramp_us, unit: 'µs', about },
      limit: 'ieee-1547-2018.enter-service.ramp',
      against: this.#against,
    };
  }
}
