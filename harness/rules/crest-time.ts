import { acos, PI } from '../../sim/maths.ts';

interface Piece {
  readonly from_us: number;
  readonly to_us: number;
  /** Share of the time that it spends above the level. */
  readonly share: number;
}

/**
 * Time that a sine spends above a level, summed over a sliding window; both in pu of nominal crest.
 *
 * A sine of crest V is above x in each half wave for (2/π) · acos(x/V) of the time. Values hold from their instant on.
 */
export class CrestTime {
  readonly #level_pu: number;
  readonly #window_us: number;
  #pieces: Piece[] = [];
  #value_pu = 0;
  #from_us = 0;

  constructor(level_pu: number, window_us: number) {
    this.#level_pu = level_pu;
    this.#window_us = window_us;
  }

  /** From `at_us` on it is `value_pu`; 0 while nobody answers for it. The same value again changes nothing. */
  take(at_us: number, value_pu: number): void {
    if (value_pu === this.#value_pu) return;
    this.#keep(at_us);
    this.#value_pu = value_pu;
    this.#from_us = at_us;
  }

  /** Most that any window holds which ends after `since_us` and not after `at_us`, µs. */
  most_us(since_us: number, at_us: number): number {
    this.#keep(at_us);
    this.#from_us = at_us;
    const pieces = this.#pieces;
    let most_us = 0;
    let sum_us = 0;
    let first = 0;
    for (const piece of pieces) {
      sum_us += lengthOf(piece) * piece.share;
      const start_us = piece.to_us - this.#window_us;
      for (; pieces[first]!.to_us <= start_us; first += 1) sum_us -= lengthOf(pieces[first]!) * pieces[first]!.share;
      const ahead_us = Math.max(0, start_us - pieces[first]!.from_us) * pieces[first]!.share;
      if (piece.to_us > since_us) most_us = Math.max(most_us, sum_us - ahead_us);
    }
    this.#pieces = pieces.filter(({ to_us }) => to_us > at_us - this.#window_us);
    return most_us;
  }

  /** Closes what held until `at_us`. */
  #keep(at_us: number): void {
    if (this.#value_pu <= this.#level_pu || at_us <= this.#from_us) return;
    const share = (2 / PI) * acos(this.#level_pu / this.#value_pu);
    this.#pieces.push({ from_us: this.#from_us, to_us: at_us, share });
  }
}

const lengthOf = ({ from_us, to_us }: Piece): number => to_us - from_us;
