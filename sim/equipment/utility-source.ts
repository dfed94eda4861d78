import { radians, TWO_PI } from '../maths.ts';
import { Frame } from '../network/frame.ts';
import { type Bag, type Id, numberOf, type Plain } from '../site-description.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import type { Cause, Surroundings } from './piece.ts';

/** A frequency ramp is a staircase with this many stairs a second. */
const STAIRS_Hz = 120;

/** A sag or swell that will end: what it goes back to. */
interface Excursion {
  readonly timer: number;
  readonly voltage: number;
  readonly turn_rad: number;
}

/**
 * What the medium-voltage network offers, on or off: voltage (pu of 240 V behind the transformer), frequency and angle.
 *
 * The angle goes on through an outage, so that a supply that comes back does so at the angle of a network that ran on.
 */
export class UtilitySource {
  readonly #id: Id;
  readonly #around: Surroundings;
  #voltage: number;
  #f_Hz: number;
  #frame: Frame;
  #excursion: Excursion | undefined;
  #stair: number | undefined;

  constructor(id: Id, around: Surroundings) {
    const { kernel, start } = around;
    this.#id = id;
    this.#around = around;
    this.#voltage = numberOf(start, 'voltage');
    this.#f_Hz = numberOf(start, 'frequency');
    this.#frame = new Frame(0, kernel.now_us, this.#f_Hz);
    this.#frame.setAngle(radians(numberOf(start, 'angle')), kernel.now_us);
  }

  get voltage(): number {
    return this.#voltage;
  }

  get f_Hz(): number {
    return this.#f_Hz;
  }

  get frame(): Frame {
    return this.#frame;
  }

  /** How it is when it is switched on again. `voltage` 0 leaves the voltage as it is. */
  returns(turn_deg: number, voltage: number): void {
    if (voltage > 0) this.#excursionEnds();
    this.#around.change(() => {
      this.#turn(radians(turn_deg));
      if (voltage > 0) this.#voltage = voltage;
    });
  }

  jump(turn_deg: number): void {
    this.#around.change(() => this.#turn(radians(turn_deg)));
  }

  /** A sag or swell, by the parameters of that name. One that is still on ends first. */
  excursion(name: string, using: Bag, cause: Cause): void {
    const { kernel, change, happened } = this.#around;
    const turn_rad = radians(numberOf(using, 'angle'));
    const duration_us = numberOf(using, 'duration');
    this.#excursionEnds();
    const voltage = this.#voltage;
    change(() => {
      this.#voltage = numberOf(using, 'voltage');
      this.#turn(turn_rad);
    });
    if (duration_us === 0) return;
    const timer = kernel.at((kernel.now_us + duration_us) as SimUs, 'protection', this.#id, `${name} over`, () => {
      change(() => happened(this.#id, `${name} over`, cause));
      this.#excursionEnds();
    });
    this.#excursion = { timer, voltage, turn_rad };
  }

  stepTo(f_Hz: number): void {
    if (this.#stair !== undefined) this.#around.kernel.cancel(this.#stair);
    this.#stair = undefined;
    this.#setFrequency(f_Hz);
  }

  rampTo(end_Hz: number, rate_Hz_per_s: number): void {
    this.stepTo(this.#f_Hz);
    const { kernel } = this.#around;
    const from_us = kernel.now_us;
    const from_Hz = this.#f_Hz;
    const span_Hz = end_Hz - from_Hz;
    const climb = (stair: number): void => {
      const due_us = (from_us + Math.round((stair * US_PER_S) / STAIRS_Hz)) as SimUs;
      this.#stair = kernel.at(due_us, 'protection', this.#id, 'frequency stair', () => {
        this.#stair = undefined;
        const moved_Hz = (stair * rate_Hz_per_s) / STAIRS_Hz;
        const arrived = moved_Hz >= Math.abs(span_Hz);
        this.#setFrequency(arrived ? end_Hz : from_Hz + Math.sign(span_Hz) * moved_Hz);
        if (!arrived) climb(stair + 1);
      });
    };
    if (span_Hz !== 0) climb(1);
  }

  digest(now_us: number): readonly Plain[] {
    const back = this.#excursion;
    return [
      this.#voltage,
      this.#f_Hz,
      this.#frame.angleAt(now_us),
      ...(back === undefined ? [] : [back.voltage, back.turn_rad]),
    ];
  }

  /** A new frame and not a turned one: whatever keeps its angle against the old one is then moved over by the difference. */
  #turn(by_rad: number): void {
    if (by_rad === 0) return;
    const { now_us } = this.#around.kernel;
    const turned = new Frame(0, now_us, this.#f_Hz);
    turned.setAngle(this.#frame.angleAt(now_us) + by_rad, now_us);
    this.#frame = turned;
  }

  #excursionEnds(): void {
    const ending = this.#excursion;
    if (ending === undefined) return;
    this.#excursion = undefined;
    this.#around.kernel.cancel(ending.timer);
    this.#around.change(() => {
      this.#voltage = ending.voltage;
      this.#turn(-ending.turn_rad);
    });
  }

  #setFrequency(f_Hz: number): void {
    if (f_Hz === this.#f_Hz) return;
    const { kernel, change } = this.#around;
    change(() => {
      this.#f_Hz = f_Hz;
      this.#frame.setFrequency(TWO_PI * f_Hz, kernel.now_us);
    });
  }
}
