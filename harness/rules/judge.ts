import { Observable, type OperatorFunction } from 'rxjs';
import type { Telemetry } from '../../sim/telemetry.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { Book } from './book.ts';
import { Channels } from './channels.ts';
import type { SiteFacts } from './facts.ts';
import { Happenings } from './happenings.ts';
import type { Rule, Verdict } from './rule.ts';

/** One frame, beside the one before it. `before` holds until `at_us`, `now` from then on; at the first frame there is none. */
export interface Moment {
  readonly at_us: number;
  readonly now: Float64Array;
  readonly before: Float64Array | undefined;
}

/** What a rule keeps during one run. It may close over `now` and `before` only for the length of the call. */
export interface Judge {
  frame(moment: Moment): void;
  end(at_us: number): void;
}

export interface Desk {
  readonly facts: SiteFacts;
  readonly channels: Channels;
  readonly book: Book;
  readonly happenings: Happenings;
}

interface RuleSpec extends Omit<Rule, 'judge' | 'limit'> {
  readonly limit: LimitKey;
  /** Called at the head, once a subscription: all state of the rule is born here. */
  readonly preside: (desk: Desk) => Judge;
}

/** Makes a rule out of the part that is its own. A stream that stops without an `end` was cut short. */
export function rule({ preside, ...spec }: RuleSpec): Rule {
  const judge =
    (facts: SiteFacts): OperatorFunction<Telemetry, Verdict> =>
    (telemetry$) =>
      new Observable((out) => {
        const hearing = new Hearing(facts, preside);
        const say = (complete: boolean): void => out.next(hearing.verdict(spec.id, spec.limit, complete));
        return telemetry$.subscribe({
          next: (record) => {
            if (out.closed) return;
            // Thrown out of here it would surface later and nowhere; as an error of the stream it stops the run (exit 3).
            try {
              if (hearing.take(record)) say(record.kind === 'end' && record.complete);
            } catch (cause) {
              out.error(cause);
            }
          },
          error: (cause) => out.error(cause),
          complete: () => {
            if (!hearing.ended) say(false);
            out.complete();
          },
        });
      });
  return { ...spec, judge };
}

/** The state of one subscription. */
class Hearing {
  ended = false;
  readonly #book = new Book();
  readonly #happenings = new Happenings();
  readonly #facts: SiteFacts;
  readonly #preside: (desk: Desk) => Judge;
  #judge: Judge | undefined;
  #asked: Uint8Array = new Uint8Array(0);
  #now: Float64Array | undefined;

  constructor(facts: SiteFacts, preside: (desk: Desk) => Judge) {
    this.#facts = facts;
    this.#preside = preside;
  }

  /** True when the run has ended with this record. */
  take(record: Telemetry): boolean {
    if (this.ended) return false;
    if (record.kind === 'head') {
      const channels = new Channels(record.channels);
      this.#asked = channels.asked;
      this.#judge = this.#preside({ facts: this.#facts, channels, book: this.#book, happenings: this.#happenings });
    } else if (record.kind === 'frame') this.#frame(record);
    else if (record.kind === 'happening') this.#happenings.add(record);
    else if (record.kind === 'wave') {
      const steps = record.samples.length / Math.max(1, record.channels.length);
      this.#book.wave(record.from_us, record.from_us + (steps - 1) * record.step_us);
    } else {
      this.ended = true;
      if (this.#now !== undefined) this.#judge?.end(record.at_us);
    }
    return this.ended;
  }

  verdict(id: string, key: LimitKey, complete: boolean): Verdict {
    return this.#book.verdict(id, limit(key).grade, complete);
  }

  /**
   * A frame in which nothing has changed that this rule asks for is no other than a repeated one, which makes no
   * difference: the rule is spared it. The sender reuses its buffers; where it does not show the frame before, two of ours
   * take turns.
   */
  #frame({ at_us, values, changed, before }: Frame): void {
    if (this.#now === undefined) {
      this.#now = values.slice();
      this.#judge?.frame({ at_us, now: values, before: undefined });
      return;
    }
    let matters = false;
    for (let i = 0; i < changed.length && !matters; i += 1) matters = this.#asked[changed[i]!] === 1;
    if (before !== undefined) {
      if (matters) this.#judge?.frame({ at_us, now: values, before });
      return;
    }
    if (matters) this.#judge?.frame({ at_us, now: values, before: this.#now });
    this.#now.set(values);
  }
}

type Frame = Extract<Telemetry, { kind: 'frame' }>;
