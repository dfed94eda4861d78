import { assert } from '../check.ts';
import type { XstateClock } from '../time/time.ts';
import { US_PER_MS } from '../units.ts';

interface Timer {
  readonly due_us: number;
  readonly id: number;
  readonly fire: () => void;
}

/**
 * A clock for a controller's statecharts that moves only at scans: a timer that has run out fires in the first scan
 * afterwards, so that the controller acts only in a scan. Its earliest timer is the controller's `wake`.
 */
export class ScanClock implements XstateClock {
  #now_us = 0;
  #lastId = 0;
  #timers: Timer[] = [];

  setTimeout(fire: (...args: never[]) => void, delay_ms: number): number {
    const delay_us = Math.round(delay_ms * US_PER_MS);
    assert(delay_us >= 0, `a timer runs ${delay_ms} ms; expected 0 or more`);
    this.#lastId += 1;
    this.#timers.push({ due_us: this.#now_us + delay_us, id: this.#lastId, fire: fire as () => void });
    this.#timers.sort((a, b) => a.due_us - b.due_us || a.id - b.id);
    return this.#lastId;
  }

  clearTimeout(id: number): void {
    this.#timers = this.#timers.filter((timer) => timer.id !== id);
  }

  /** Moves to the instant of a scan; nothing fires yet. */
  advanceTo(now_us: number): void {
    assert(now_us >= this.#now_us, 'scans do not go back in time');
    this.#now_us = now_us;
  }

  /** Fires what has run out, in order. */
  fireDue(): void {
    for (let count = 0; (this.#timers[0]?.due_us ?? Number.POSITIVE_INFINITY) <= this.#now_us; count += 1) {
      assert(count < 1000, 'a controller re-arms its timers without end in one scan');
      this.#timers.shift()!.fire();
    }
  }

  get earliest_us(): number | undefined {
    return this.#timers[0]?.due_us;
  }

  /** Time left of each timer, for state digests. */
  remaining_us(): number[] {
    return this.#timers.map(({ due_us }) => due_us - this.#now_us);
  }
}
