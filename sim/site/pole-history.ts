import type { PoleReading } from '../equipment/poles.ts';
import { cos, degrees, radians, wrapAngle } from '../maths.ts';
import { US_PER_S } from '../units.ts';

/** Below this a side has no angle worth a number, V. */
const SPEAKS_V = 1;
/** An angle this near to where its slip had to bring it has not jumped, deg. */
const SAME_deg = 1e-6;

/** What stands across one pole from an instant on, until the next. */
interface Stretch {
  readonly at_us: number;
  readonly volts_V: number;
  readonly angle_deg: number;
  /** 0 where it does not turn. */
  readonly slip_Hz: number;
  /** Sizes of both sides, V; of no account where it does not turn. */
  readonly a_V: number;
  readonly b_V: number;
}

/**
 * The past of what stands across one pole, for sensors that look back.
 *
 * Between two solutions volts and angle stand still, or under slip the angle turns evenly and the volts are those between
 * two phasors of known size. A solution that brings nothing new begins no new stretch: looking more often moves no bit.
 */
export class PoleHistory {
  readonly #keep_us: number;
  readonly #stretches: Stretch[] = [];

  constructor(memory_us: number) {
    this.#keep_us = memory_us;
  }

  /** After each solution, with the size of the voltage on both sides. Instants do not go back. */
  take(at_us: number, reading: PoleReading, a_V: number, b_V: number): void {
    const { volts_V, angle_deg, slip_Hz } = reading;
    const turns = slip_Hz !== 0 && a_V >= SPEAKS_V && b_V >= SPEAKS_V;
    const now: Stretch = { at_us, volts_V, angle_deg, slip_Hz: turns ? slip_Hz : 0, a_V, b_V };
    const last = this.#stretches.at(-1);
    if (last !== undefined && continues(last, now)) return;
    if (last?.at_us === at_us) this.#stretches.pop();
    this.#stretches.push(now);
    while (this.#stretches.length > 1 && this.#stretches[1]!.at_us <= at_us - this.#keep_us) this.#stretches.shift();
  }

  volts_V(at_us: number): number {
    const stretch = this.#standing(at_us);
    if (stretch === undefined || stretch.slip_Hz === 0) return stretch?.volts_V ?? 0;
    const { a_V, b_V } = stretch;
    return Math.sqrt(Math.max(0, a_V * a_V + b_V * b_V - 2 * a_V * b_V * cos(radians(angleAt(stretch, at_us)))));
  }

  angle_deg(at_us: number): number {
    const stretch = this.#standing(at_us);
    return stretch === undefined ? 0 : angleAt(stretch, at_us);
  }

  #standing(at_us: number): Stretch | undefined {
    let i = this.#stretches.length - 1;
    while (i > 0 && this.#stretches[i]!.at_us > at_us) i -= 1;
    return this.#stretches[i];
  }
}

function continues(last: Stretch, now: Stretch): boolean {
  if (last.slip_Hz !== now.slip_Hz) return false;
  if (now.slip_Hz === 0) return last.volts_V === now.volts_V && last.angle_deg === now.angle_deg;
  if (last.a_V !== now.a_V || last.b_V !== now.b_V) return false;
  return Math.abs(degrees(wrapAngle(radians(angleAt(last, now.at_us) - now.angle_deg)))) <= SAME_deg;
}

function angleAt({ at_us, angle_deg, slip_Hz }: Stretch, then_us: number): number {
  if (slip_Hz === 0) return angle_deg;
  return degrees(wrapAngle(radians(angle_deg + (360 * slip_Hz * (then_us - at_us)) / US_PER_S)));
}
