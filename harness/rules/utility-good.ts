import type { Id } from '../../sim/site-description.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import { Since } from './intervals.ts';

type Names = 'u1' | 'u2' | 'u12' | 'legAngle' | 'f' | 'present1' | 'present2';

/**
 * Since when the utility has been good at one bus without a break: there on both legs, each voltage, the angle between the
 * legs and the frequency inside their bands. A street that only inverters hold up is not there.
 */
export class UtilityGood {
  readonly #at: Readonly<Record<Names, number>>;
  readonly #since = new Since();
  readonly #voltage = limit('own.return.voltage').values;
  readonly #frequency = limit('own.return.frequency').values;
  readonly #off_deg = limit('own.return.angle').values.off_deg;

  constructor(channels: Channels, bus: Id) {
    this.#at = channels.of(bus, 'u1', 'u2', 'u12', 'legAngle', 'f', 'present1', 'present2');
  }

  frame(at_us: number, now: Float64Array): void {
    this.#since.update(at_us, this.isGoodIn(now));
  }

  get from_us(): number | undefined {
    return this.#since.from_us;
  }

  /** 0 while it is not good. */
  goodFor(at_us: number): number {
    return this.#since.heldAt(at_us);
  }

  isGoodIn(now: Float64Array): boolean {
    const { u1, u2, u12, legAngle, f, present1, present2 } = this.#at;
    return (
      isOn(now, present1) &&
      isOn(now, present2) &&
      this.#isSound(now[u1]! / LEG_V) &&
      this.#isSound(now[u2]! / LEG_V) &&
      this.#isSound(now[u12]! / LINE_V) &&
      Math.abs(now[legAngle]! - 180) <= this.#off_deg &&
      now[f]! >= this.#frequency.min_Hz &&
      now[f]! <= this.#frequency.max_Hz
    );
  }

  #isSound(level_pu: number): boolean {
    return level_pu >= this.#voltage.min_pu && level_pu <= this.#voltage.max_pu;
  }
}
