import type { HappeningRecord, Unit } from '../../sim/telemetry.ts';
import type { LimitKey } from '../limits/index.ts';
import { atLeast, atMost, type Book, type Finding, HALF_CYCLE_US } from './book.ts';
import { originOf } from './happenings.ts';
import type { Margin } from './rule.ts';

export interface BandSpec {
  readonly book: Book;
  readonly limit: LimitKey;
  readonly scale: number;
  readonly unit: Unit;
  readonly about: string;
}

interface Held {
  readonly from_us: number;
  readonly margin: Margin;
}

/**
 * One quantity against a band, for as long as it is judged. Each stay outside is one finding, its worst value; so is the worst
 * of all that lay inside. A value holds from its instant until the next: what held for no time is not counted.
 */
export class BandWatch {
  readonly #spec: BandSpec;
  #held: Held | undefined;
  #inside: Margin | undefined;
  #outside: { readonly from_us: number; worst: Margin; readonly cause: HappeningRecord | undefined } | undefined;
  #value = Number.NaN;
  #cause: HappeningRecord | undefined;

  constructor(spec: BandSpec) {
    this.#spec = spec;
  }

  /**
   * `value` holds from `at_us` on and counts from `counts_us`, which may lie ahead.
   *
   * @param cause - what changed the circuit last; taken where the value is a new one
   */
  take(
    at_us: number,
    counts_us: number,
    value: number,
    band: { readonly min: number; readonly max: number },
    cause: HappeningRecord | undefined,
  ): void {
    this.#settle(at_us);
    if (value !== this.#value) this.#cause = cause;
    this.#value = value;
    const from_us = Math.max(at_us, counts_us);
    // It does not count for a while: a stay outside has ended.
    if (counts_us > at_us) this.#closeOutside(at_us);
    this.#held = { from_us, margin: marginOf(this.#spec, from_us, value, band) };
  }

  /** No longer judged; what was found is written down. */
  release(at_us: number): void {
    this.#settle(at_us);
    this.#held = undefined;
    this.#closeOutside(at_us);
    if (this.#inside !== undefined)
      this.#spec.book.add({ margin: this.#inside, limit: this.#spec.limit, against: 'site' });
    this.#inside = undefined;
  }

  #settle(at_us: number): void {
    const held = this.#held;
    if (held === undefined || at_us <= held.from_us) return;
    const { margin, from_us } = held;
    if (margin.value >= 0) {
      this.#closeOutside(from_us);
      if (this.#inside === undefined) this.#spec.book.arm();
      if (this.#inside === undefined || margin.value < this.#inside.value) this.#inside = margin;
      return;
    }
    if (this.#outside === undefined) {
      this.#spec.book.arm();
      this.#outside = { from_us, worst: margin, cause: this.#cause };
    } else if (margin.value < this.#outside.worst.value) this.#outside.worst = margin;
  }

  /** Both ends are crossings: a stay shorter than they are known is not certain. */
  #closeOutside(at_us: number): void {
    const outside = this.#outside;
    this.#outside = undefined;
    if (outside === undefined) return;
    const { from_us, worst, cause } = outside;
    const finding: Finding = { margin: worst, limit: this.#spec.limit, against: originOf(cause) };
    const doubtful = at_us - from_us < HALF_CYCLE_US;
    const resolution = { phasor: Infinity, wave: 0, edges_us: [from_us, at_us] };
    this.#spec.book.add(doubtful ? { ...finding, resolution } : finding);
  }
}

function marginOf(
  { scale, unit, about }: BandSpec,
  at_us: number,
  found: number,
  { min, max }: { readonly min: number; readonly max: number },
): Margin {
  const under = atLeast(found, min, scale);
  const over = atMost(found, max, scale);
  const limit = under < over ? min : max;
  return { value: Math.min(under, over), at_us, found, limit, scale, unit, about };
}
