import type { Origin } from '../../sim/telemetry.ts';
import type { LimitKey } from '../limits/index.ts';
import { type Book, clearingResolution, timeFinding, yesOrNo } from './book.ts';
import { CeaseWatch } from './ceasing.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { type Happenings, MAKES, originOf, UTILITY_GOES } from './happenings.ts';
import { Deadline } from './intervals.ts';
import type { Desk, Moment } from './judge.ts';
import type { Absence } from './presence.ts';
import { clearingOf } from './settings.ts';

/**
 * One following source against the dead street: from the start of the absence until it has ceased or all its poles to the
 * service have parted; after that it neither starts again nor is joined to the service while it energises.
 */
export class FollowingBackfeed {
  readonly #source: SourceFacts;
  readonly #book: Book;
  readonly #happenings: Happenings;
  readonly #devices: readonly string[];
  readonly #utility: readonly string[];
  readonly #ceasing: CeaseWatch;
  readonly #deadline: Deadline;
  readonly #key: LimitKey;
  readonly #energises: number;
  readonly #permit: number | undefined;
  readonly #forms: number | undefined;
  readonly #path: Readonly<Record<'path1' | 'path2', number>>;
  #armed = false;
  #ordered = false;
  /** An event has been counted for this run of the source; it counts again only after it has ceased. */
  #counted = false;

  constructor({ facts, channels, book, happenings }: Desk, source: SourceFacts) {
    this.#source = source;
    this.#book = book;
    this.#happenings = happenings;
    this.#devices = facts.devices.map((device) => device.id);
    this.#utility = facts.site.pieces.filter((piece) => piece.kind === 'utility').map((piece) => piece.id);
    this.#ceasing = new CeaseWatch(channels, source);
    const { limit_us, key } = clearingOf(facts);
    this.#deadline = new Deadline(limit_us);
    this.#key = key;
    this.#energises = channels.index(`${source.id}.energises`);
    this.#permit = source.kind === 'pv' ? channels.index(`${source.id}.permit`) : undefined;
    this.#forms = source.kind === 'vehicle' ? channels.index(`${source.id}.forms`) : undefined;
    this.#path = channels.of(source.id, 'path1', 'path2');
  }

  frame({ at_us, now, before }: Moment, absent: Absence, wasAbsent: boolean): void {
    this.#settle(at_us);
    const path = this.#hasPath(now);
    const hadPath = before !== undefined && this.#hasPath(before);
    if (absent.any && !wasAbsent) this.#absenceBegins(at_us, now, path);
    else if (!absent.any) this.#absenceEnds(at_us);
    else {
      if (hadPath && !path) this.#closeExactly(at_us);
      if (path && !hadPath) this.#pathMade(at_us, now);
      else if (path && before !== undefined) this.#maybeStarts(at_us, now, before);
    }
    this.#ceasing.take(at_us, now);
    if (this.#permit !== undefined) this.#ordered = !isOn(now, this.#permit);
  }

  end(at_us: number): void {
    this.#settle(at_us);
    if (this.#deadline.isBrokenAt(at_us)) this.#closeExactly(at_us);
    else if (this.#deadline.from_us !== undefined) this.#book.owe();
  }

  #absenceBegins(at_us: number, now: Float64Array, path: boolean): void {
    this.#armed = false;
    if (!path) return;
    this.#arm();
    const against = originOf(this.#happenings.latest(this.#utility, UTILITY_GOES));
    if (this.#runs(now)) this.#deadline.open(at_us, against);
    else this.#book.add(this.#cleared(at_us, 0, against));
  }

  #absenceEnds(at_us: number): void {
    this.#closeExactly(at_us);
    this.#armed = false;
  }

  #pathMade(at_us: number, now: Float64Array): void {
    this.#arm();
    const against = originOf(this.#happenings.latest(this.#devices, MAKES));
    const about = `${this.#source.id} joined to the dead service while it energises`;
    this.#counted = this.#runs(now);
    this.#book.add(yesOrNo(at_us, !this.#counted, 'ieee-1547-2018.inadvertent', against, about));
  }

  #maybeStarts(at_us: number, now: Float64Array, before: Float64Array): void {
    const starts = this.#runs(now) && !this.#runs(before);
    if (!starts || this.#counted || this.#deadline.from_us !== undefined) return;
    this.#counted = true;
    const against = originOf(this.#happenings.latest([this.#source.id], ['starts']));
    const about = `${this.#source.id} starts to energise the dead service`;
    this.#book.add(yesOrNo(at_us, false, 'ieee-1547-2018.inadvertent', against, about));
  }

  /** Ends the interval at the start of the cycle that proved it. */
  #settle(at_us: number): void {
    const from_us = this.#deadline.from_us;
    const ceased_us = this.#ceasing.ceasedAt(at_us);
    if (ceased_us !== undefined) this.#counted = false;
    if (from_us === undefined || ceased_us === undefined) return;
    const against = this.#deadline.against;
    const found_us = this.#deadline.close(ceased_us) ?? 0;
    const resolution = clearingResolution(
      found_us,
      this.#deadline.limit_us,
      this.#ordered,
      Math.max(from_us, ceased_us),
    );
    this.#book.add({ ...this.#cleared(from_us + found_us, found_us, against), resolution });
  }

  /** Contacts, the utility's return and the end of the run are exact. */
  #closeExactly(at_us: number): void {
    const against = this.#deadline.against;
    const found_us = this.#deadline.close(at_us);
    if (found_us !== undefined) this.#book.add(this.#cleared(at_us, found_us, against));
  }

  #cleared(at_us: number, found_us: number, against: Origin): ReturnType<typeof timeFinding> {
    const about = `${this.#source.id} on a service without utility`;
    return timeFinding({ at_us, found_us, limit_us: this.#deadline.limit_us, key: this.#key, against, about });
  }

  #arm(): void {
    if (!this.#armed) this.#book.arm();
    this.#armed = true;
  }

  /** A vehicle that forms is judged by the other half of the rule. */
  #runs(values: Float64Array): boolean {
    return isOn(values, this.#energises) && !(this.#forms !== undefined && isOn(values, this.#forms));
  }

  #hasPath(values: Float64Array): boolean {
    return isOn(values, this.#path.path1) || isOn(values, this.#path.path2);
  }
}
