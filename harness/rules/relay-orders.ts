import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import { moves } from './edges.ts';
import type { DeviceFacts } from './facts.ts';
import type { Happenings } from './happenings.ts';
import { toUs } from './intervals.ts';
import type { Moment } from './judge.ts';

/**
 * What a relay that does not follow is: `unsafe` where it counts as not open (does not open, has opened or closed by itself,
 * proves both at once), `not closing` where an order to close has not been carried out.
 */
export type Trouble = 'none' | 'unsafe' | 'not closing';

export interface Notice {
  readonly trouble: 'unsafe' | 'not closing';
  /** 100 ms after it began. */
  readonly at_us: number;
}

/**
 * Holds the proving contacts of one relay against the order that stands.
 *
 * Without control supply its spring has its way, or it stays where it is: that is what it is then held against, and no
 * trouble by itself.
 */
export class RelayOrders {
  readonly #happenings: Happenings;
  readonly #proofs: Readonly<Record<'openProved1' | 'openProved2' | 'closedProved1' | 'closedProved2', number>>;
  readonly #coil: number;
  readonly #output: number;
  readonly #supply: number;
  readonly #params: DeviceFacts['params'];
  readonly #notice_us = toUs(limit('own.lockout.notice').values.time_s);
  #isOrderedClosed = false;
  /** By order, or without supply by its spring. */
  #wantsClosed = false;
  /** Number of the happening by which the order that stands was given. */
  #order: number | undefined;
  #hasFollowed = false;
  #trouble: Trouble = 'none';
  #since_us = 0;
  #isNoticed = false;
  /** An order to close that was taken back before it was carried out: a try that has failed, however short. */
  #givenUpAt_us: number | undefined;

  constructor(channels: Channels, happenings: Happenings, { id, params }: DeviceFacts) {
    this.#happenings = happenings;
    this.#proofs = channels.of(id, 'openProved1', 'openProved2', 'closedProved1', 'closedProved2');
    this.#coil = channels.index(`${id}.coil`);
    this.#supply = channels.index(`${id}.controlSupply`);
    this.#params = params;
    this.#output = channels.index('gateway.relayCoil');
  }

  /** Trouble that has lasted for more than 100 ms at `at_us`, or an order to close that was given up, once. Ask before `frame`. */
  noticedAt(at_us: number): Notice | undefined {
    const givenUpAt_us = this.#givenUpAt_us;
    this.#givenUpAt_us = undefined;
    if (givenUpAt_us !== undefined) return { trouble: 'not closing', at_us: givenUpAt_us };
    const due_us = this.#since_us + this.#notice_us;
    if (this.#trouble === 'none' || this.#isNoticed || at_us <= due_us) return undefined;
    this.#isNoticed = true;
    return { trouble: this.#trouble, at_us: due_us };
  }

  /** Trouble that still stands counts anew from here. */
  startOver(at_us: number): void {
    this.#since_us = at_us;
    this.#isNoticed = false;
  }

  /** Takes what holds from now on; `closes` or `opens` where a new order came with it. */
  frame(moment: Moment): 'closes' | 'opens' | undefined {
    const { at_us, now, before } = moment;
    // What stands at the first frame was ordered before the run began.
    if (before === undefined) {
      this.#isOrderedClosed = isOn(now, this.#coil);
      this.#wantsClosed = this.#isOrderedClosed;
    }
    // The first answer of a controller may order what its output showed before: the coil then tells.
    const mayBeNew = moves(moment, this.#output) || moves(moment, this.#coil);
    const order = mayBeNew ? this.#newOrder() : undefined;
    if (order === 'opens' && this.#trouble === 'not closing' && !this.#isNoticed) this.#givenUpAt_us = at_us;
    if (order !== undefined) this.#isOrderedClosed = order === 'closes';
    const wantsClosed = this.#isDrivenClosed(now);
    if (wantsClosed !== this.#wantsClosed) this.#hasFollowed = false;
    this.#wantsClosed = wantsClosed;
    if (this.#isProved(now)) this.#hasFollowed = true;
    const trouble = this.#troubleIn(now);
    if (trouble !== this.#trouble) this.startOver(at_us);
    this.#trouble = trouble;
    return order;
  }

  isClosed(values: Float64Array): boolean {
    return isOn(values, this.#proofs.closedProved1) && isOn(values, this.#proofs.closedProved2);
  }

  #newOrder(): 'closes' | 'opens' | undefined {
    const record = this.#happenings.latest(['gateway'], ['orders relayCoil 0', 'orders relayCoil 1']);
    if (record === undefined || record.number === this.#order) return undefined;
    this.#order = record.number;
    const closes = record.did === 'orders relayCoil 1';
    return closes === this.#isOrderedClosed ? undefined : closes ? 'closes' : 'opens';
  }

  #isDrivenClosed(values: Float64Array): boolean {
    const { supplyMin, type } = this.#params;
    if (typeof supplyMin !== 'number' || values[this.#supply]! >= supplyMin) return this.#isOrderedClosed;
    return type === 'latching' ? this.#wantsClosed : type === 'held-open';
  }

  #isProved(values: Float64Array): boolean {
    return this.#wantsClosed ? this.isClosed(values) : this.#isOpen(values);
  }

  #isOpen(values: Float64Array): boolean {
    return isOn(values, this.#proofs.openProved1) && isOn(values, this.#proofs.openProved2);
  }

  #troubleIn(values: Float64Array): Trouble {
    const { openProved1, openProved2, closedProved1, closedProved2 } = this.#proofs;
    const both =
      (isOn(values, openProved1) && isOn(values, closedProved1)) ||
      (isOn(values, openProved2) && isOn(values, closedProved2));
    if (both) return 'unsafe';
    if (this.#isProved(values)) return 'none';
    return this.#wantsClosed && !this.#hasFollowed ? 'not closing' : 'unsafe';
  }
}
