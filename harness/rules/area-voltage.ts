import type { Origin } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { type Finding, HALF_CYCLE_US, timeFinding, upperMargin, WAVE_CROSSING_US } from './book.ts';
import { CrestTime } from './crest-time.ts';
import { CYCLE_US, toUs } from './intervals.ts';
import type { Desk } from './judge.ts';

const CREST_LEVELS = [
  'ieee-1547-2018.overvoltage.1.3',
  'ieee-1547-2018.overvoltage.1.4',
  'ieee-1547-2018.overvoltage.1.7',
] as const;
const NEVER = 'ieee-1547-2018.overvoltage.2.0';
const FUNDAMENTAL = 'ieee-1547-2018.overvoltage.fundamental';

/** The three voltages of the service. */
export function areaVoltages({ facts, channels }: Desk): AreaVoltage[] {
  const bus = facts.serviceBus;
  return [
    new AreaVoltage(channels.index(`${bus}.v1`), LEG_V, `leg L1 at ${bus}`),
    new AreaVoltage(channels.index(`${bus}.v2`), LEG_V, `leg L2 at ${bus}`),
    new AreaVoltage(channels.index(`${bus}.v12`), LINE_V, `L1-L2 at ${bus}`),
  ];
}

/** One of them: longest run of its fundamental, time of its crests in any minute, highest crest. */
export class AreaVoltage {
  readonly #index: number;
  readonly #nominal_V: number;
  readonly #about: string;
  readonly #crests: readonly { readonly key: LimitKey; readonly level_pu: number; readonly time: CrestTime }[];
  readonly #fundamental_pu = limit(FUNDAMENTAL).values.level_pu;
  #highSince_us: number | undefined;
  #longest_us = 0;
  #peak_pu = 0;
  #value_pu = 0;
  #since_us = 0;

  constructor(index: number, nominal_V: number, about: string) {
    const window_us = toUs(limit('ieee-1547-2018.overvoltage.window').values.time_s);
    this.#index = index;
    this.#nominal_V = nominal_V;
    this.#about = about;
    this.#crests = CREST_LEVELS.map((key) => {
      const { level_pu } = limit(key).values;
      return { key, level_pu, time: new CrestTime(level_pu, window_us) };
    });
  }

  /** Takes what holds from `at_us` on; not judged counts as nothing. */
  take(at_us: number, now: Float64Array, judged: boolean): void {
    const value_pu = judged ? now[this.#index]! / this.#nominal_V : 0;
    this.#seePeak(at_us);
    this.#value_pu = value_pu;
    this.#since_us = at_us;
    for (const { time } of this.#crests) time.take(at_us, value_pu);
    if (value_pu > this.#fundamental_pu) this.#highSince_us ??= at_us;
    else this.#endRun(at_us);
  }

  /** What came together from `from_us` until `at_us`; nothing is judged after that until `take` says so. */
  findings(from_us: number, at_us: number, against: Origin): Finding[] {
    this.#endRun(at_us);
    this.#seePeak(at_us);
    const findings = [
      this.#timed(
        at_us,
        this.#longest_us,
        CYCLE_US,
        FUNDAMENTAL,
        against,
        `longest run above ${this.#fundamental_pu} pu`,
      ),
      ...this.#crests.map(({ key, level_pu, time }) => {
        const limit_us = toUs((limit(key).values as { readonly time_s: number }).time_s);
        const found_us = Math.round(time.most_us(from_us, at_us));
        time.take(at_us, 0);
        return this.#timed(at_us, found_us, limit_us, key, against, `time of crests above ${level_pu} in a minute`);
      }),
      this.#never(at_us, against),
    ];
    this.#longest_us = 0;
    this.#peak_pu = 0;
    this.#value_pu = 0;
    return findings;
  }

  /** A frame that another one follows at its own instant has not held at all. */
  #seePeak(at_us: number): void {
    if (at_us > this.#since_us) this.#peak_pu = Math.max(this.#peak_pu, this.#value_pu);
  }

  #endRun(at_us: number): void {
    if (this.#highSince_us !== undefined) this.#longest_us = Math.max(this.#longest_us, at_us - this.#highSince_us);
    this.#highSince_us = undefined;
  }

  /** What never came near the level has no crossing that could be wrong. */
  #timed(at_us: number, found_us: number, limit_us: number, key: LimitKey, against: Origin, what: string): Finding {
    const about = `${this.#about}, ${what}`;
    const resolution = {
      phasor: HALF_CYCLE_US / limit_us,
      wave: WAVE_CROSSING_US / limit_us,
      edges_us: [Math.max(0, at_us - found_us), at_us],
    };
    const finding = { at_us, found_us, limit_us, key, against, about };
    return timeFinding(found_us === 0 ? finding : { ...finding, resolution });
  }

  #never(at_us: number, against: Origin): Finding {
    const most = limit(NEVER).values.level_pu;
    const about = `${this.#about}, highest crest over nominal crest`;
    return { margin: upperMargin(at_us, this.#peak_pu, most, '1', about), limit: NEVER, against };
  }
}
