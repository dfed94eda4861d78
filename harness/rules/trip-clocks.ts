import type { HappeningRecord } from '../../sim/telemetry.ts';
import type { LimitKey } from '../limits/index.ts';
import { atMost, type Finding, HALF_CYCLE_US, WAVE_CROSSING_US } from './book.ts';
import { CeaseWatch } from './ceasing.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { isLate } from './intervals.ts';
import { type TripRow, timeAccuracy_us } from './inverter-settings.ts';
import type { Desk, Moment } from './judge.ts';

/** What one inverter is judged by: its rows, and the quantity that they watch. */
export interface ClockSpec {
  readonly rows: readonly TripRow[];
  /** A row counts only where the quantity passes its level by more than this, in the level's own unit. */
  readonly accuracy: number;
  readonly unit: 'pu' | 'Hz';
  /** The quantity as it holds now; undefined where the rows rest, which is as if it were inside. */
  read(now: Float64Array): number | undefined;
}

interface Run {
  readonly row: TripRow;
  readonly from_us: number;
}

/**
 * One clock a trip row: from the first half cycle beyond it until the source has ceased, cleared when the quantity is back.
 * From the first crossing until all rows are clear, or the source has ceased, is one excursion: its worst row is reported.
 */
export class TripClocks {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #spec: ClockSpec;
  readonly #ceasing: CeaseWatch;
  readonly #energises: number;
  readonly #forms: number | undefined;
  #open: Run[] = [];
  #closed: Finding[] = [];
  #cause: HappeningRecord | undefined;

  constructor(desk: Desk, source: SourceFacts, spec: ClockSpec) {
    this.#desk = desk;
    this.#source = source;
    this.#spec = spec;
    this.#ceasing = new CeaseWatch(desk.channels, source);
    this.#energises = desk.channels.index(`${source.id}.energises`);
    this.#forms = source.kind === 'vehicle' ? desk.channels.index(`${source.id}.forms`) : undefined;
  }

  frame({ at_us, now, before }: Moment): void {
    this.#settle(at_us);
    const value = this.#spec.read(now);
    for (const run of this.#open) if (!this.#isBeyond(run.row, value)) this.#close(run, this.#lowOr(at_us));
    this.#open = this.#open.filter(({ row }) => this.#isBeyond(row, value));
    if (this.#open.length === 0) this.#report();
    if (this.#runs(now)) this.#openRows(at_us, value, before !== undefined && this.#runs(before));
    this.#ceasing.take(at_us, now);
  }

  end(at_us: number): void {
    this.#settle(at_us);
    const late = this.#open.filter(({ row, from_us }) => isLate(at_us - from_us, allowed_us(row)));
    if (late.length < this.#open.length) this.#desk.book.owe();
    for (const run of late) this.#close(run, at_us);
    this.#open = [];
    this.#report();
  }

  /** A vehicle that forms has settings of its own. */
  #runs(values: Float64Array): boolean {
    return isOn(values, this.#energises) && !(this.#forms !== undefined && isOn(values, this.#forms));
  }

  #openRows(at_us: number, value: number | undefined, ranBefore: boolean): void {
    for (const row of this.#spec.rows) {
      if (!this.#isBeyond(row, value) || this.#open.some((run) => run.row === row)) continue;
      if (this.#open.length === 0 && this.#closed.length === 0) {
        const { book, happenings } = this.#desk;
        book.arm();
        this.#cause = ranBefore ? happenings.circuitChange() : happenings.latest([this.#source.id], ['starts']);
      }
      this.#open.push({ row, from_us: at_us });
    }
  }

  /** The start of the cycle that proved it ended every row. */
  #settle(at_us: number): void {
    const ceased_us = this.#ceasing.ceasedAt(at_us);
    if (this.#open.length === 0 || ceased_us === undefined) return;
    for (const run of this.#open) this.#close(run, ceased_us);
    this.#open = [];
    this.#report();
  }

  /** The voltage may be back because the source let go: then that was the end. */
  #lowOr(at_us: number): number {
    return Math.min(at_us, this.#ceasing.lowSince_us ?? at_us);
  }

  #close({ row, from_us }: Run, at_us: number): void {
    const limit_us = allowed_us(row);
    const until_us = Math.max(from_us, at_us);
    const found_us = until_us - from_us;
    const key: LimitKey = row.key;
    const side = row.side === 'over' ? 'above' : 'below';
    const about = `${this.#source.id} runs ${side} ${row.level} ${this.#spec.unit} (${row.row})`;
    const value = atMost(found_us, limit_us, row.time_us);
    this.#closed.push({
      margin: { value, at_us: until_us, found: found_us, limit: limit_us, scale: row.time_us, unit: 'µs', about },
      limit: key,
      against: originOf(this.#cause),
      resolution: {
        phasor: HALF_CYCLE_US / row.time_us,
        wave: WAVE_CROSSING_US / row.time_us,
        edges_us: [from_us, until_us],
      },
    });
  }

  #report(): void {
    if (this.#closed.length === 0) return;
    this.#desk.book.add(...this.#closed);
    this.#closed = [];
  }

  #isBeyond({ side, level }: TripRow, value: number | undefined): boolean {
    if (value === undefined) return false;
    const { accuracy } = this.#spec;
    return side === 'over' ? value > level + accuracy : value < level - accuracy;
  }
}

const allowed_us = ({ time_us }: TripRow): number => time_us + timeAccuracy_us(time_us);
