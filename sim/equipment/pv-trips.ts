import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { type SimUs, US_PER_S } from '../units.ts';

/** One trip row: beyond `level` (pu of the voltage, or Hz) for `time_us` the source trips. */
export interface TripSetting {
  readonly row: string;
  readonly of: 'voltage' | 'frequency';
  readonly side: 'over' | 'under';
  readonly level: number;
  readonly time_us: number;
}

export const CATEGORIES = ['I', 'II', 'III', '2003', '2014'] as const;
export type Category = (typeof CATEGORIES)[number];

type Level = readonly [level: number, time_s: number];
type Table = Readonly<Record<string, Level>>;

/** Common to the three categories: IEEE 1547-2018, Table 18, default settings. */
const FREQUENCY_2018: Table = { OF2: [62, 0.16], OF1: [61.2, 300], UF1: [58.5, 300], UF2: [56.5, 0.16] };

/**
 * Default trip settings: IEEE 1547-2018, Tables 11 to 13 and 18 (I and II from memory, partly seen); IEEE 1547-2003,
 * Tables 1 and 2, 30 kW or less; IEEE 1547a-2014, the same tables.
 */
export const TRIP_TABLES: Readonly<Record<Category, Table>> = {
  I: { OV2: [1.2, 0.16], OV1: [1.1, 2], UV1: [0.7, 2], UV2: [0.45, 0.16], ...FREQUENCY_2018 },
  II: { OV2: [1.2, 0.16], OV1: [1.1, 2], UV1: [0.7, 10], UV2: [0.45, 0.16], ...FREQUENCY_2018 },
  III: { OV2: [1.2, 0.16], OV1: [1.1, 13], UV1: [0.88, 21], UV2: [0.5, 2], ...FREQUENCY_2018 },
  '2003': { OV2: [1.2, 0.16], OV1: [1.1, 1], UV1: [0.88, 2], UV2: [0.5, 0.16], OF1: [60.5, 0.16], UF1: [59.3, 0.16] },
  '2014': {
    OV2: [1.2, 0.16],
    OV1: [1.1, 1],
    UV1: [0.88, 2],
    UV2: [0.6, 1],
    UV3: [0.45, 0.16],
    OF2: [62, 0.16],
    OF1: [60.5, 2],
    UF1: [59.5, 2],
    UF2: [57, 0.16],
  },
};

export const TRIP_ROWS = ['OV2', 'OV1', 'UV1', 'UV2', 'UV3', 'OF2', 'OF1', 'UF1', 'UF2'] as const;

/**
 * The rows of a category with single values replaced. A row that the category lacks exists where both values are given.
 *
 * @param override - level and time of a row by its name; 0 leaves the category's value
 */
export function tripSettings(
  category: Category,
  override: (row: string) => { readonly level: number; readonly time_us: number },
): TripSetting[] {
  const settings: TripSetting[] = [];
  for (const row of TRIP_ROWS) {
    const given = override(row);
    const standard = TRIP_TABLES[category][row] ?? [0, 0];
    const level = given.level > 0 ? given.level : standard[0];
    const time_us = given.time_us > 0 ? given.time_us : Math.round(standard[1] * US_PER_S);
    if (level <= 0 || time_us <= 0) continue;
    const of = row[1] === 'V' ? 'voltage' : 'frequency';
    settings.push({ row, of, side: row[0] === 'O' ? 'over' : 'under', level, time_us });
  }
  return settings;
}

/**
 * Watches one quantity against one level: a timer runs from the crossing, is cleared when the value is back, and acts at
 * the clearing time less what the switching itself takes.
 *
 * The crossing is interpolated between the ends of a step, and rounded up to the next microsecond. A value exactly at the
 * level is inside.
 */
export class TripWatch {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #name: string;
  readonly #side: 'over' | 'under';
  readonly #level: number;
  readonly #time_us: number;
  readonly #act: () => void;
  #timer: number | undefined;
  #due_us = 0;
  #outside = false;

  constructor(
    kernel: Kernel,
    owner: Id,
    setting: Pick<TripSetting, 'row' | 'side' | 'level' | 'time_us'>,
    switching_us: number,
    act: () => void,
  ) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#name = setting.row;
    this.#side = setting.side;
    this.#level = setting.level;
    this.#time_us = Math.max(0, setting.time_us - switching_us);
    this.#act = act;
  }

  /** Takes the step from `before` to `value`; `blocked` counts as inside. */
  look(before: number, value: number, from_us: number, now_us: number, blocked = false): void {
    const gap = this.#side === 'over' ? value - this.#level : this.#level - value;
    if (blocked || gap <= 0) {
      this.clear();
      return;
    }
    if (this.#outside) return;
    this.#outside = true;
    const gapBefore = this.#side === 'over' ? before - this.#level : this.#level - before;
    const share = gapBefore < 0 ? -gapBefore / (gap - gapBefore) : 0;
    const crossed_us = gapBefore < 0 ? Math.ceil(from_us + share * (now_us - from_us)) : now_us;
    this.#due_us = Math.max(now_us, crossed_us + this.#time_us);
    this.#timer = this.#kernel.at(this.#due_us as SimUs, 'protection', this.#owner, this.#name, () => {
      this.#timer = undefined;
      this.#act();
    });
  }

  clear(): void {
    this.#outside = false;
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
  }

  /** µs until it acts; -1 while nothing runs. */
  left_us(now_us: number): number {
    return this.#timer === undefined ? -1 : this.#due_us - now_us;
  }
}
