import { becomes } from './edges.ts';
import type { Desk, Moment } from './judge.ts';
import { RelayOrders } from './relay-orders.ts';

/** `gateway.in.request`: a person asks for the lockout to be cleared. */
const RESET = 3;

/**
 * Whether the relay may be moved at all, whatever the controller says of itself: one that does not do what is ordered counts
 * as locked out from 100 ms on, until a person clears it. The gateway has the contacts of one relay, the first of the file.
 */
export class RelayTrust {
  readonly #orders: RelayOrders | undefined;
  readonly #request: number;
  #isLocked = false;
  #refusedAt_us = Number.NEGATIVE_INFINITY;

  constructor({ facts, channels, happenings }: Desk) {
    const [relay] = facts.relays;
    this.#orders = relay && new RelayOrders(channels, happenings, relay);
    this.#request = channels.index('gateway.in.request');
  }

  frame(moment: Moment): void {
    if (this.#orders === undefined) return;
    this.#notice(this.#orders, moment.at_us);
    if (becomes(moment, this.#request, RESET) && this.#isLocked) {
      this.#isLocked = false;
      this.#orders.startOver(moment.at_us);
    }
    this.#orders.frame(moment);
  }

  /** What nothing but the end of the run shows. */
  end(at_us: number): void {
    if (this.#orders !== undefined) this.#notice(this.#orders, at_us);
  }

  get isLocked(): boolean {
    return this.#isLocked;
  }

  /** An order to close has stood for 100 ms since then and has not been carried out. */
  hasRefusedSince(from_us: number): boolean {
    return this.#refusedAt_us >= from_us;
  }

  #notice(orders: RelayOrders, at_us: number): void {
    const notice = orders.noticedAt(at_us);
    if (notice?.trouble === 'unsafe') this.#isLocked = true;
    else if (notice !== undefined) this.#refusedAt_us = notice.at_us;
  }
}
