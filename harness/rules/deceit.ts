import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import type { SiteFacts } from './facts.ts';
import { Since, toUs } from './intervals.ts';

/** `gateway.in.neutralAux` and `gateway.in.supplyContactor`. */
const OPEN = 1;
const CLOSED = 2;
/** `gateway.in.<input>.state`. */
const FRESH = 0;

/** What a reading shows of the plant beside what is true of it. */
interface Pair {
  readonly state: number;
  readonly differs: (now: Float64Array) => boolean;
}

/**
 * Readings that are marked fresh and are wrong: the house side is dark and reads live, or the contactor of neutral former or
 * vehicle is not where it reads. A transfer and the lateness of a reading are no lies: it must have lasted for 100 ms.
 */
export class Deceit {
  readonly #pairs: readonly Pair[];
  readonly #lies = new Since();
  readonly #notice_us = toUs(limit('own.lockout.notice').values.time_s);
  #liedAt_us = Number.NEGATIVE_INFINITY;

  constructor(facts: SiteFacts, channels: Channels) {
    const pair = (input: string, differs: (now: Float64Array, value: number) => boolean): Pair => {
      const value = channels.index(`gateway.in.${input}`);
      const state = channels.index(`gateway.in.${input}.state`);
      return { state, differs: (now) => differs(now, now[value]!) };
    };
    const [relay] = facts.relays;
    const dark_pu = limit('own.outage.dark').values.level_pu;
    const houses = [
      ['backupL1', 'u1', LEG_V],
      ['backupL2', 'u2', LEG_V],
      ['backupL12', 'u12', LINE_V],
    ] as const;
    const contactors = (kind: string, input: string): Pair[] =>
      facts.site.pieces
        .filter((piece) => piece.kind === kind)
        .map(({ id }) => channels.index(`${id}.contactor`))
        .map((contactor) => pair(input, (now, value) => value === (isOn(now, contactor) ? OPEN : CLOSED)));
    this.#pairs = [
      ...(relay === undefined ? [] : houses).map(([input, name, nominal_V]) => {
        const truth = channels.index(`${relay!.at[1]}.${name}`);
        return pair(input, (now, value) => now[truth]! < dark_pu * nominal_V && value / 1000 >= dark_pu * nominal_V);
      }),
      ...contactors('former', 'neutralAux'),
      ...contactors('vehicle', 'supplyContactor'),
    ];
  }

  /** Before the frame is taken: what held until now. */
  frame(at_us: number, now: Float64Array): void {
    if (this.#lies.heldAt(at_us) > this.#notice_us) this.#liedAt_us = at_us;
    this.#lies.update(
      at_us,
      this.#pairs.some(({ state, differs }) => now[state] === FRESH && differs(now)),
    );
  }

  /** A lie has stood at some time since then. */
  hasStoodSince(from_us: number, at_us: number): boolean {
    return this.#liedAt_us > from_us || (this.#lies.heldAt(at_us) > this.#notice_us && at_us > from_us);
  }
}
