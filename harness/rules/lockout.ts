import type { Origin } from '../../sim/telemetry.ts';
import { limit } from '../limits/index.ts';
import { atLeast, atMost, timeFinding, yesOrNo } from './book.ts';
import { becomes, falls } from './edges.ts';
import type { DeviceFacts } from './facts.ts';
import { Deadline, isLate, toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { RelayOrders } from './relay-orders.ts';
import { COMMAND, VehicleWork } from './vehicle-work.ts';

/** A relay that cannot be trusted stops the forming source, and nothing is tried until a person says so. */
export const lockout = rule({
  id: 'lockout',
  about:
    'A relay that does not do what is ordered stops the source at once; nobody forms or closes until a person clears it.',
  limit: 'own.lockout.source-off',
  needs: 'phasor',
  scale: '100 ms until the source is off; 3 tries to close and 10 s between them; an order while locked counts 1',
  preside: (desk) => {
    // The gateway has the contacts of one relay, the first of the file.
    const [relay] = desk.facts.relays;
    return relay === undefined ? { frame: () => {}, end: () => {} } : new Lockout(desk, relay);
  },
});

/** `gateway.in.request`: a person asks for the lockout to be cleared. */
const RESET = 3;

class Lockout implements Judge {
  readonly #desk: Desk;
  readonly #relay: DeviceFacts;
  readonly #orders: RelayOrders;
  readonly #sources: readonly VehicleWork[];
  readonly #gateway: Readonly<Record<'vehicleCommand' | 'lockout' | 'in.request', number>>;
  readonly #sourceOff = new Deadline(toUs(limit('own.lockout.source-off').values.time_s));
  #lockedFrom_us: number | undefined;
  /** Orders to close in a row that the relay has not carried out, and when the last of them was given. */
  #tries = 0;
  #triedAt_us = 0;
  #hasFailed = false;
  #boots: number | undefined;
  /** Of the frame that holds: whether a source forms, and who answers for it. */
  #forms = false;
  #answers: Origin = 'equipment';

  constructor(desk: Desk, relay: DeviceFacts) {
    const { facts, channels, happenings } = desk;
    this.#desk = desk;
    this.#relay = relay;
    this.#orders = new RelayOrders(channels, happenings, relay);
    this.#sources = facts.forming.map((source) => new VehicleWork(channels, source));
    this.#gateway = channels.of('gateway', 'vehicleCommand', 'lockout', 'in.request');
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    this.#notice(at_us);
    if (becomes(moment, this.#gateway['in.request'], RESET)) this.#clear(at_us);
    const order = this.#orders.frame(moment);
    if (order === 'closes') this.#closes(at_us);
    if (this.#orders.isClosed(now)) this.#forgetTries();
    if (before !== undefined && this.#lockedFrom_us !== undefined) this.#whileLocked(moment);
    this.#forms = this.#formsIn(now);
    this.#answers = this.#answersIn(now);
  }

  end(at_us: number): void {
    this.#notice(at_us);
    const { from_us, limit_us } = this.#sourceOff;
    if (from_us === undefined) return;
    if (isLate(at_us - from_us, limit_us)) this.#closeSourceOff(at_us);
    else this.#desk.book.owe();
  }

  #notice(at_us: number): void {
    const notice = this.#orders.noticedAt(at_us);
    if (notice === undefined) return;
    this.#desk.book.arm();
    if (notice.trouble === 'not closing') {
      this.#hasFailed = true;
      this.#addTries(notice.at_us);
    } else if (this.#lockedFrom_us === undefined) {
      this.#lockedFrom_us = notice.at_us;
      this.#sourceOff.open(notice.at_us, 'equipment');
      if (!this.#forms) this.#closeSourceOff(notice.at_us);
    }
  }

  #whileLocked(moment: Moment): void {
    const { at_us, now } = moment;
    const { id } = this.#relay;
    if (becomes(moment, this.#gateway.vehicleCommand, COMMAND.form)) {
      this.#forbidden(at_us, 'controller', `forming is ordered while ${id} is locked out`);
    }
    if (falls(moment, this.#gateway.lockout)) {
      this.#forbidden(at_us, 'controller', `the lockout of ${id} is cleared and no person asked for it`);
    }
    const forms = this.#formsIn(now);
    if (this.#forms && !forms) this.#closeSourceOff(at_us);
    if (this.#forms || !forms) return;
    this.#forbidden(at_us, this.#answersIn(now), `a source forms while ${id} is locked out`);
    this.#sourceOff.open(at_us, 'equipment');
  }

  #formsIn(values: Float64Array): boolean {
    return this.#sources.some((source) => source.forms(values));
  }

  /** For a source that forms: the controller as long as its order stands, then whoever did not follow. */
  #answersIn(values: Float64Array): Origin {
    return values[this.#gateway.vehicleCommand] === COMMAND.form ? 'controller' : 'equipment';
  }

  #closeSourceOff(at_us: number): void {
    const found_us = this.#sourceOff.close(at_us);
    if (found_us === undefined) return;
    const { limit_us } = this.#sourceOff;
    const about = `the source forms on behind ${this.#relay.id}, which has not done what was ordered for 100 ms`;
    this.#desk.book.add(
      timeFinding({ at_us, found_us, limit_us, key: 'own.lockout.source-off', against: this.#answers, about }),
    );
  }

  #closes(at_us: number): void {
    const { book, happenings } = this.#desk;
    if (this.#lockedFrom_us !== undefined) {
      this.#forbidden(at_us, 'controller', `closing is ordered while ${this.#relay.id} is locked out`);
    }
    const boots = happenings.latest(['gateway'], ['boots', 'restart'])?.number;
    // A controller that has started anew has not counted what it did before.
    if (boots !== this.#boots) this.#forgetTries();
    this.#boots = boots;
    const waited_us = at_us - this.#triedAt_us;
    this.#triedAt_us = at_us;
    this.#tries += 1;
    if (!this.#hasFailed) return;
    this.#addTries(at_us);
    const least_us = toUs(limit('own.lockout.tries').values.time_s);
    const about = `time between two tries to close ${this.#relay.id}`;
    const value = atLeast(waited_us, least_us, least_us);
    book.add({
      margin: { value, at_us, found: waited_us, limit: least_us, scale: least_us, unit: 'µs', about },
      limit: 'own.lockout.tries',
      against: 'controller',
    });
  }

  #addTries(at_us: number): void {
    const most = limit('own.lockout.tries').values.count_1;
    const about = `tries to close ${this.#relay.id}, which does not close`;
    const value = atMost(this.#tries, most, most);
    this.#desk.book.add({
      margin: { value, at_us, found: this.#tries, limit: most, scale: most, unit: 'count', about },
      limit: 'own.lockout.tries',
      against: 'controller',
    });
  }

  #forgetTries(): void {
    this.#tries = 0;
    this.#hasFailed = false;
  }

  /** A person takes it on: what is still wrong counts anew from here. */
  #clear(at_us: number): void {
    this.#forgetTries();
    if (this.#lockedFrom_us === undefined) return;
    this.#closeSourceOff(at_us);
    this.#lockedFrom_us = undefined;
    this.#orders.startOver(at_us);
  }

  #forbidden(at_us: number, against: Origin, about: string): void {
    this.#desk.book.add(yesOrNo(at_us, false, 'own.lockout.no-orders', against, about));
  }
}
