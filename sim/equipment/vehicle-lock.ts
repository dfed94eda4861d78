import type { Id } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import type { Cause, Surroundings } from './piece.ts';

/**
 * The lock of the plug: it takes its time, and lets go only once the supply contactor is open.
 *
 * Held while the plug is in and the gateway orders it, and for as long as the contactor is closed whatever is ordered: an
 * order to unlock waits for the contactor. Sequence of IEC 61851-1 (from memory): no current, contactor open, unlock.
 */
export class PlugLock {
  readonly #id: Id;
  readonly #around: Surroundings;
  readonly #travel_us: number;
  #isPlugged = false;
  #isOrdered = false;
  /** A person at the vehicle wants the plug out: until it is, no order locks it. */
  #isReleased = false;
  #isJoined = false;
  #isBroken = false;
  #holds = false;
  #timer: number | undefined;

  constructor(id: Id, around: Surroundings, travel_us: number) {
    this.#id = id;
    this.#around = around;
    this.#travel_us = travel_us;
  }

  get holds(): boolean {
    return this.#holds;
  }

  /** Wait until the plug can be drawn once the contactor is open, µs. */
  get release_us(): number {
    return this.#holds ? this.#travel_us : 0;
  }

  order(locks: boolean, cause: Cause): void {
    this.#isOrdered = locks;
    this.#follow(cause);
  }

  contactor(joined: boolean, cause: Cause): void {
    this.#isJoined = joined;
    this.#follow(cause);
  }

  release(cause: Cause): void {
    this.#isReleased = true;
    this.#follow(cause);
  }

  /** The plug has gone in, or is out. */
  plugged(isIn: boolean, cause: Cause): void {
    if (isIn === this.#isPlugged) return;
    this.#isPlugged = isIn;
    this.#isReleased = false;
    if (!isIn) this.#letGo();
    this.#follow(cause);
  }

  /** It holds nothing any more, until it is mended. */
  lose(): void {
    this.#isBroken = true;
    this.#letGo();
  }

  mend(cause: Cause): void {
    this.#isBroken = false;
    this.#follow(cause);
  }

  state(): boolean[] {
    return [this.#isPlugged, this.#isOrdered, this.#isReleased, this.#isBroken, this.#holds];
  }

  get #wanted(): boolean {
    if (!this.#isPlugged || this.#isBroken) return false;
    return (this.#isOrdered && !this.#isReleased) || (this.#holds && this.#isJoined);
  }

  #follow(cause: Cause): void {
    const { kernel } = this.#around;
    const wanted = this.#wanted;
    if (wanted === this.#holds) {
      if (this.#timer !== undefined) kernel.cancel(this.#timer);
      this.#timer = undefined;
      return;
    }
    if (this.#timer !== undefined) return;
    const due_us = (kernel.now_us + this.#travel_us) as SimUs;
    this.#timer = kernel.at(due_us, 'protection', this.#id, 'plug lock', () => {
      this.#timer = undefined;
      this.#around.happened(this.#id, wanted ? 'locks' : 'unlocks', cause);
      this.#holds = wanted;
      this.#around.noted();
    });
  }

  #letGo(): void {
    if (this.#timer !== undefined) this.#around.kernel.cancel(this.#timer);
    this.#timer = undefined;
    this.#holds = false;
    this.#around.noted();
  }
}
