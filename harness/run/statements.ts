import type { Telemetry } from '../../sim/telemetry.ts';
import { quantityText, timeText } from '../../sim/units.ts';
import type { Condition, Statement } from '../scenario/model.ts';
import type { StatementResult } from './result.ts';
import type { Timeline } from './timeline.ts';
import { ConditionWatch } from './watch.ts';

/** One statement, followed through a run. Judged over intervals: a frame holds until the next. */
export class StatementWatch {
  readonly #statement: Statement;
  readonly #watch: ConditionWatch;
  #from_us: number | undefined;
  #broken_us: number | undefined;
  #met_us: number | undefined;
  #unit = '1';
  #states: readonly string[] = [];
  #result: StatementResult | undefined;

  constructor(statement: Statement, timeline: Timeline, name: string) {
    this.#statement = statement;
    this.#watch = new ConditionWatch(statement.what);
    if (statement.from === undefined) this.#from_us = 0;
    else {
      timeline.wait(statement.from, name, (at_us) => {
        this.#from_us = at_us;
        this.#look(at_us);
      });
    }
  }

  take(telemetry: Telemetry): void {
    if (telemetry.kind === 'head') {
      const channel = telemetry.channels.find(({ name }) => name === this.#statement.what.channel);
      this.#unit = channel?.unit ?? '1';
      this.#states = channel?.states ?? [];
    }
    const changed = this.#watch.take(telemetry);
    if (changed && telemetry.kind === 'frame') this.#look(telemetry.at_us);
    if (telemetry.kind === 'end') this.#end(telemetry.at_us, telemetry.complete);
  }

  result(): StatementResult {
    return this.#result ?? { text: this.#text(), holds: false, detail: 'the run did not come to its end' };
  }

  /** At each change of the condition, and when the statement begins to count. */
  #look(now_us: number): void {
    const from_us = this.#from_us;
    if (from_us === undefined) return;
    const { says, limit_us, what } = this.#statement;
    const since_us = this.#watch.trueSince_us;
    const deadline_us = from_us + (limit_us ?? Number.POSITIVE_INFINITY);
    if (says === 'within' && since_us !== undefined && this.#met_us === undefined)
      this.#met_us = Math.max(since_us, from_us);
    if (
      says === 'within' &&
      since_us === undefined &&
      this.#met_us !== undefined &&
      now_us - this.#met_us < what.held_us
    ) {
      this.#met_us = undefined; // It did not hold for as long as it should: it must come true again.
    }
    if (says === 'until' && since_us === undefined && now_us < deadline_us) this.#broken_us ??= now_us;
    if (says === 'never' && since_us !== undefined) this.#met_us ??= Math.max(since_us, from_us);
    if (says === 'never' && since_us === undefined) {
      if (this.#met_us !== undefined && now_us - this.#met_us > what.held_us) this.#broken_us ??= this.#met_us;
      this.#met_us = undefined;
    }
  }

  #end(end_us: number, complete: boolean): void {
    const { says, limit_us, what } = this.#statement;
    const from_us = this.#from_us;
    const text = this.#text();
    const value = this.#states[this.#watch.value] ?? quantityText(this.#watch.value, this.#unit);
    const last = `${what.channel} was ${value} at the end`;
    if (from_us === undefined) {
      this.#result = { text, holds: false, detail: 'the instant from which it counts never came' };
      return;
    }
    const met_us = this.#met_us;
    if (says === 'at the end') {
      const holds = complete && this.#watch.trueSince_us !== undefined;
      this.#result = { text, holds, detail: last };
    } else if (says === 'within') {
      const short_us = met_us === undefined ? 0 : what.held_us - (end_us - met_us);
      const late = met_us === undefined || met_us - from_us > (limit_us ?? 0) || short_us > 0;
      const held = short_us > 0 ? `, and had held for ${timeText(what.held_us - short_us)} when the run ended` : '';
      const detail =
        met_us === undefined
          ? `it never came true${what.held_us > 0 ? ` for ${timeText(what.held_us)} on end` : ''}; ${last}`
          : `it came true ${timeText(met_us - from_us)} after${held}`;
      this.#result = { text, holds: !late, ...(late && met_us !== undefined ? { at_us: met_us } : {}), detail };
    } else if (says === 'never') {
      const broken_us =
        this.#broken_us ?? (met_us !== undefined && end_us - met_us >= what.held_us ? met_us : undefined);
      this.#result = answerOf(text, broken_us, 'it came true');
    } else {
      const short = !complete && end_us < from_us + (limit_us ?? 0);
      this.#result = short
        ? { text, holds: false, detail: 'the run was cut short before' }
        : answerOf(text, this.#broken_us, 'it was no longer true');
    }
  }

  #text(): string {
    const { says, limit_us } = this.#statement;
    const what = conditionText(this.#statement.what, this.#unit);
    if (says === 'within') return `within ${timeText(limit_us ?? 0)}: ${what}`;
    if (says === 'until') return `for ${timeText(limit_us ?? 0)}: ${what}`;
    return `${says}: ${what}`;
  }
}

function answerOf(text: string, broken_us: number | undefined, how: string): StatementResult {
  if (broken_us === undefined) return { text, holds: true, detail: 'it held throughout' };
  return { text, holds: false, at_us: broken_us, detail: `${how} at ${timeText(broken_us)}` };
}

/** "house.u2 above 132 V for 20 ms". */
export function conditionText({ channel, is, value, held_us }: Condition, unit: string): string {
  const how = { '<': 'below', '>': 'above', '=': 'at' }[is];
  const what = typeof value === 'number' ? quantityText(value, unit) : String(value);
  return `${channel} ${how} ${what}${held_us > 0 ? ` for ${timeText(held_us)}` : ''}`;
}
