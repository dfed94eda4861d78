import { type LimitKey, limit } from '../limits/index.ts';
import type { SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';
import { categoryOf, timeAccuracy_us } from './inverter-settings.ts';

/** One band of a ride-through table. */
interface Band {
  readonly key: LimitKey;
  readonly min: number;
  readonly max: number;
  readonly time_s: number;
  readonly slope_s: number;
}

/** One time that has run, and the least one after which it may trip. */
export interface Ridden {
  readonly key: LimitKey;
  readonly from_us: number;
  readonly found_us: number;
  readonly least_us: number;
}

const VOLTAGE_OVER = ['1.10', '1.15', '1.175'];
const VOLTAGE_UNDER = ['0.88', '0.70', '0.65', '0.50', '0.45'];

export function overVoltageBands(source: SourceFacts): Band[] {
  return VOLTAGE_OVER.flatMap((edge) => bandOf(`ieee-1547-2018.ride.${categoryOf(source)}.${edge}`));
}

export function underVoltageBands(source: SourceFacts): Band[] {
  return VOLTAGE_UNDER.flatMap((edge) => bandOf(`ieee-1547-2018.ride.${categoryOf(source)}.${edge}`));
}

export const overFrequencyBands = (): Band[] => bandOf('ieee-1547-2018.ride.f.61.2');
export const underFrequencyBands = (): Band[] => bandOf('ieee-1547-2018.ride.f.58.8');

/**
 * How long one quantity has been beyond each edge of its bands, on one side of nominal.
 *
 * The least time of a run is that of the mildest value in it: who has been below 0.65 pu for 0.32 s may trip, whatever it was
 * below. The value is first moved outwards by what instruments may be wrong by, so that only what is certain is asked.
 */
export class RideRuns {
  readonly #bands: readonly Band[];
  readonly #side: 'over' | 'under';
  readonly #accuracy: number;
  readonly #from_us: (number | undefined)[];
  readonly #mildest: number[];
  #value = Number.NaN;

  /** @param bands - from the mildest outwards */
  constructor(bands: readonly Band[], side: 'over' | 'under', accuracy: number) {
    this.#bands = bands;
    this.#side = side;
    this.#accuracy = accuracy;
    this.#from_us = bands.map(() => undefined);
    this.#mildest = bands.map(() => 0);
  }

  take(at_us: number, value: number): void {
    const moved = this.#side === 'over' ? value + this.#accuracy : value - this.#accuracy;
    if (moved === this.#value) return;
    this.#value = moved;
    for (let k = 0; k < this.#bands.length; k += 1) {
      if (!this.#isBeyond(moved, this.#bands[k]!)) this.#from_us[k] = undefined;
      else if (this.#from_us[k] === undefined) {
        this.#from_us[k] = at_us;
        this.#mildest[k] = moved;
      } else this.#mildest[k] = this.#milder(moved, this.#mildest[k]!);
    }
  }

  /** Beyond the outermost band: nothing is asked any more. */
  get isFree(): boolean {
    const last = this.#bands.at(-1)!;
    return this.#side === 'over' ? this.#value > last.max : this.#value < last.min;
  }

  /** Whether the quantity itself, not moved, is out of the range of continuous operation. */
  isOut(value: number): boolean {
    return this.#isBeyond(value, this.#bands[0]!);
  }

  /** Every run that stands, with the least time that it must last before a trip. */
  ridden(at_us: number): Ridden[] {
    return this.#from_us.flatMap((from_us, k) => {
      if (from_us === undefined) return [];
      const band = this.#bandAt(this.#mildest[k]!);
      if (band === undefined) return [];
      const time_us = toUs(band.time_s + band.slope_s * (this.#mildest[k]! - band.min));
      const least_us = Math.max(1, time_us - timeAccuracy_us(time_us));
      return [{ key: band.key, from_us, found_us: at_us - from_us, least_us }];
    });
  }

  #bandAt(value: number): Band | undefined {
    return this.#bands.findLast((band) => this.#isBeyond(value, band));
  }

  #isBeyond(value: number, band: Band): boolean {
    return this.#side === 'over' ? value > band.min : value < band.max;
  }

  #milder(a: number, b: number): number {
    return this.#side === 'over' ? Math.min(a, b) : Math.max(a, b);
  }
}

function bandOf(name: string): Band[] {
  const key = name as LimitKey;
  const row = limit(key) as { readonly values: Readonly<Record<string, number>> } | undefined;
  if (row === undefined) return [];
  const { values } = row;
  const unit = 'min_Hz' in values ? 'Hz' : 'pu';
  return [
    {
      key,
      min: values[`min_${unit}`]!,
      max: values[`max_${unit}`]!,
      time_s: values['time_s']!,
      slope_s: values['slope_s'] ?? 0,
    },
  ];
}
