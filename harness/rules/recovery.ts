import type { Origin } from '../../sim/telemetry.ts';
import { LINE_V, NOMINAL_HZ } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { HALF_CYCLE_US, timeFinding, WAVE_CROSSING_US } from './book.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { isLate, toUs } from './intervals.ts';
import type { Desk } from './judge.ts';

/** Once the voltage is back, most of the earlier current is back soon after. */
export class Recovery {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #own: Readonly<Record<'i' | 'p' | 'tripped' | 'irradiance' | 'permit', number>>;
  readonly #f: number;
  readonly #limit_us: number;
  readonly #highest_Hz = NOMINAL_HZ + limit('ieee-1547-2018.droop-dead-band').values.level_Hz;
  #from_us: number | undefined;
  #least_A = 0;
  #irradiance = 0;
  #against: Origin = 'site';

  constructor(desk: Desk, source: SourceFacts) {
    this.#desk = desk;
    this.#source = source;
    this.#own = desk.channels.of(source.id, 'i', 'p', 'tripped', 'irradiance', 'permit');
    this.#f = desk.channels.index(`${source.at}.f`);
    this.#limit_us = toUs(limit('ieee-1547-2018.recovery').values.time_s);
  }

  /** Current before a disturbance. A low voltage lifts the current of a constant power: then that at nominal voltage counts. */
  current_A(values: Float64Array): number {
    return Math.min(values[this.#own.i]!, values[this.#own.p]! / LINE_V);
  }

  irradiance(values: Float64Array): number {
    return values[this.#own.irradiance]!;
  }

  /** The voltage is back at `at_us`. */
  begin(at_us: number, before_A: number, irradiance: number, against: Origin): void {
    this.#from_us = at_us;
    this.#least_A = limit('ieee-1547-2018.recovery').values.current_pu * before_A;
    this.#irradiance = irradiance;
    this.#against = against;
  }

  /** Nothing is owed any more. */
  forget(): void {
    this.#from_us = undefined;
  }

  /** Less sun, no permit, a trip of its own or a frequency that asks for less power excuse it. */
  frame(at_us: number, now: Float64Array): void {
    if (this.#from_us === undefined) return;
    const { i, tripped, irradiance, permit } = this.#own;
    const excused =
      isOn(now, tripped) ||
      !isOn(now, permit) ||
      now[irradiance] !== this.#irradiance ||
      now[this.#f]! > this.#highest_Hz;
    if (excused) this.forget();
    else if (now[i]! >= this.#least_A) this.#close(at_us);
  }

  end(at_us: number): void {
    if (this.#from_us === undefined) return;
    if (isLate(at_us - this.#from_us, this.#limit_us)) this.#close(at_us);
    else this.#desk.book.owe();
  }

  #close(at_us: number): void {
    const from_us = this.#from_us!;
    const found_us = at_us - from_us;
    const limit_us = this.#limit_us;
    this.#from_us = undefined;
    const resolution = {
      phasor: HALF_CYCLE_US / limit_us,
      wave: WAVE_CROSSING_US / limit_us,
      edges_us: [from_us, at_us],
    };
    const about = `${this.#source.id} is back at 80 % of its earlier current`;
    const key = 'ieee-1547-2018.recovery';
    const finding = { at_us, found_us, limit_us, key, against: this.#against, about } as const;
    this.#desk.book.add(timeFinding(found_us === 0 ? finding : { ...finding, resolution }));
  }
}
