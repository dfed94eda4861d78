import { type Bag, type Id, numberOf } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import type { SimUs } from '../units.ts';
import type { Cause } from './piece.ts';

/** What the link brings, and its silence. Both are told by timers. */
export interface LinkEnd {
  deliver(output: string, value: number, cause: Cause): void;
  silent(): void;
}

/**
 * Communication between gateway and vehicle: orders arrive late, or, while it is lost, only once it is back, the last of
 * each kind. The heartbeat counts periods while the link stands and the vehicle is awake.
 */
export class VehicleLink {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #end: LinkEnd;
  readonly #delay_us: number;
  readonly #timeout_us: number;
  readonly #beat_us: number;
  readonly #waiting = new Map<string, { readonly value: number; readonly cause: Cause }>();
  #isLost = false;
  #timer: number | undefined;
  #beats = 0;
  #beatsSince_us: number | undefined;

  constructor(kernel: Kernel, owner: Id, params: Bag, end: LinkEnd) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#end = end;
    this.#delay_us = numberOf(params, 'commandDelay');
    this.#timeout_us = numberOf(params, 'linkTimeout');
    this.#beat_us = numberOf(params, 'heartbeat');
  }

  get isLost(): boolean {
    return this.#isLost;
  }

  order(output: string, value: number, cause: Cause): void {
    if (this.#isLost) {
      this.#waiting.set(output, { value, cause });
      return;
    }
    const due_us = (this.#kernel.now_us + this.#delay_us) as SimUs;
    this.#kernel.at(due_us, 'protection', this.#owner, `order ${output} ${value}`, () => {
      if (this.#isLost) this.#waiting.set(output, { value, cause });
      else this.#end.deliver(output, value, cause);
    });
  }

  lose(): void {
    if (this.#isLost) return;
    this.#isLost = true;
    const due_us = (this.#kernel.now_us + this.#timeout_us) as SimUs;
    this.#timer = this.#kernel.at(due_us, 'protection', this.#owner, 'link timeout', () => {
      this.#timer = undefined;
      this.#end.silent();
    });
  }

  restore(): void {
    if (!this.#isLost) return;
    this.#isLost = false;
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
    const waiting = [...this.#waiting];
    this.#waiting.clear();
    for (const [output, { value, cause }] of waiting) this.order(output, value, cause);
  }

  /** Counts on, or stands still, from now on. */
  beat(beating: boolean): void {
    if (beating === (this.#beatsSince_us !== undefined)) return;
    const now_us = this.#kernel.now_us;
    this.#beats = this.heartbeat(now_us);
    this.#beatsSince_us = beating ? now_us : undefined;
  }

  heartbeat(now_us: number): number {
    if (this.#beatsSince_us === undefined) return this.#beats;
    return this.#beats + Math.floor((now_us - this.#beatsSince_us) / this.#beat_us);
  }

  state(): (string | number)[] {
    const waiting = [...this.#waiting].flatMap(([output, { value }]) => [output, value]);
    return [this.#isLost ? 1 : 0, this.#beatsSince_us === undefined ? 0 : 1, ...waiting];
  }
}
