import { DeadbusBug } from '../../sim/check.ts';
import type { Telemetry } from '../../sim/telemetry.ts';
import type { Condition } from '../scenario/model.ts';

/** One condition over one channel, looked at frame by frame: since when it has been true. */
export class ConditionWatch {
  readonly #condition: Condition;
  #index = -1;
  #wanted = 0;
  /** Undefined while it is false, and before the first frame. */
  trueSince_us: number | undefined;
  value = Number.NaN;

  constructor(condition: Condition) {
    this.#condition = condition;
  }

  /** True when its state has changed with this record. */
  take(telemetry: Telemetry): boolean {
    if (telemetry.kind === 'head') {
      this.#index = telemetry.channels.findIndex(({ name }) => name === this.#condition.channel);
      const channel = telemetry.channels[this.#index];
      if (channel === undefined)
        throw new DeadbusBug(`no channel ${this.#condition.channel}; was the scenario checked?`);
      const { value } = this.#condition;
      this.#wanted = typeof value === 'string' ? (channel.states?.indexOf(value) ?? -1) : Number(value);
      return false;
    }
    if (telemetry.kind !== 'frame') return false;
    this.value = telemetry.values[this.#index]!;
    const holds = this.#holds(this.value);
    if (holds === (this.trueSince_us !== undefined)) return false;
    this.trueSince_us = holds ? telemetry.at_us : undefined;
    return true;
  }

  #holds(value: number): boolean {
    if (this.#condition.is === '<') return value < this.#wanted;
    if (this.#condition.is === '>') return value > this.#wanted;
    return value === this.#wanted;
  }
}
