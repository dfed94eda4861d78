/** Largest value that held at any time within a window that ends now. Values hold from their instant until the next. */
export class RecentPeak {
  readonly #window_us: number;
  #segments: { readonly from_us: number; to_us: number; readonly value: number }[] = [];

  constructor(window_us: number) {
    this.#window_us = window_us;
  }

  /** `value` holds from `at_us` on; what held before ends there. */
  take(at_us: number, value: number): void {
    const last = this.#segments.at(-1);
    if (last !== undefined) last.to_us = at_us;
    if (last?.value === value) last.to_us = Infinity;
    else this.#segments.push({ from_us: at_us, to_us: Infinity, value });
    // Twice the window: a caller may ask for a somewhat wider one.
    const old_us = at_us - 2 * this.#window_us;
    if (this.#segments[0]!.to_us <= old_us) this.#segments = this.#segments.filter(({ to_us }) => to_us > old_us);
  }

  /** Over the window widened by `wider_us`, both ends open: what ended just as it began, or begins now, is left out. */
  before(at_us: number, wider_us = 0): number {
    const from_us = at_us - this.#window_us - wider_us;
    let peak = 0;
    for (const { from_us: start_us, to_us, value } of this.#segments) {
      if (to_us > from_us && start_us < at_us && value > peak) peak = value;
    }
    return peak;
  }
}
