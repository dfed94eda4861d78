/**
 * A straight line in time from one value to another: x = from + (to - from)(t - t0)/T, exactly `to` from t0 + T on.
 *
 * A closed form of its anchor, so that asking twice is free and the end is exact whatever the steps are.
 */
export class Ramp {
  readonly from: number;
  readonly to: number;
  readonly start_us: number;
  readonly end_us: number;

  /** @param length_us - whole µs, ≥ 0; 0 is at the end at once */
  constructor(from: number, to: number, start_us: number, length_us: number) {
    this.from = from;
    this.to = to;
    this.start_us = start_us;
    this.end_us = start_us + length_us;
  }

  at(now_us: number): number {
    if (now_us >= this.end_us) return this.to;
    return this.from + ((this.to - this.from) * (now_us - this.start_us)) / (this.end_us - this.start_us);
  }

  /** First whole µs at which the value has reached `level` on its way up; the end if it never passes it. */
  reaches_us(level: number): number {
    if (this.from >= level) return this.start_us;
    if (this.to <= level) return this.end_us;
    const share = (level - this.from) / (this.to - this.from);
    return this.start_us + Math.ceil(share * (this.end_us - this.start_us));
  }

  movesAt(now_us: number): boolean {
    return now_us < this.end_us && this.from !== this.to;
  }
}
