import type { Id } from '../../sim/site-description.ts';
import type { HappeningRecord, Origin } from '../../sim/telemetry.ts';

/** Answers, decisions and responses: they follow from a change of the circuit and are never the cause that a voltage is held against. */
const RESPONSE = /^(orders |boots|throws|answers|starts|ceases|trips)/;

/**
 * Who did what last. A happening stands before the frame that shows it, so at a frame the latest of a kind is the one that
 * brought the change about.
 */
export class Happenings {
  readonly #last = new Map<string, { readonly order: number; readonly record: HappeningRecord }>();
  readonly #lastOf = new Map<Id, HappeningRecord>();
  #order = 0;
  #circuit: HappeningRecord | undefined;

  add(record: HappeningRecord): void {
    this.#order += 1;
    this.#last.set(`${record.piece} ${record.did}`, { order: this.#order, record });
    if (RESPONSE.test(record.did)) return;
    this.#circuit = record;
    this.#lastOf.set(record.piece, record);
  }

  /** The last of these doings of these pieces. */
  latest(pieces: readonly Id[], doings: readonly string[]): HappeningRecord | undefined {
    let found: { readonly order: number; readonly record: HappeningRecord } | undefined;
    for (const piece of pieces) {
      for (const did of doings) {
        const candidate = this.#last.get(`${piece} ${did}`);
        if (candidate && (found === undefined || candidate.order > found.order)) found = candidate;
      }
    }
    return found?.record;
  }

  /** Whatever was last done to or by any of these pieces, but for answers and responses. */
  latestOf(pieces: readonly Id[]): HappeningRecord | undefined {
    let found: HappeningRecord | undefined;
    for (const piece of pieces) found = this.later(found, this.#lastOf.get(piece));
    return found;
  }

  /** Of two, the one recorded last. */
  later(a: HappeningRecord | undefined, b: HappeningRecord | undefined): HappeningRecord | undefined {
    if (a === undefined || b === undefined) return a ?? b;
    const order = (of: HappeningRecord): number => this.#last.get(`${of.piece} ${of.did}`)?.order ?? 0;
    return order(a) > order(b) ? a : b;
  }

  /** The last that changed the circuit: contacts, supply, a forming source, a load. */
  circuitChange(): HappeningRecord | undefined {
    return this.#circuit;
  }
}

/** What nobody did, the starting state did: the site answers for it. */
export const originOf = (record: HappeningRecord | undefined): Origin => record?.origin ?? 'site';

export const PARTS = ['parts L1', 'parts L2'] as const;
export const MAKES = ['touches L1', 'touches L2', 'welds L1', 'welds L2'] as const;
export const UTILITY_GOES = ['supply lost', 'leg lost L1', 'leg lost L2'] as const;
