import type { Id } from '../../sim/site-description.ts';
import { SUPPLY } from '../../sim/telemetry.ts';
import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import type { Channels } from './channels.ts';
import { COMMAND_FORM } from './evidence.ts';
import { STOOD_US, toUs } from './intervals.ts';

const UTILITY = SUPPLY.indexOf('utility');
const FORMED = SUPPLY.indexOf('formed');

/**
 * Whether somebody answers for low voltage at a bus: an island from 1 s after forming until its stop order, or a utility
 * that is itself inside 0.88 to 1.10 pu, from 1 s after supply is back.
 */
export class FeedWatch {
  readonly #supply: number;
  readonly #command: number | undefined;
  readonly #service: Readonly<Record<'u1' | 'u2' | 'u12', number>>;
  readonly #pause_us = toUs(limit('own.lower-pause').values.time_s);
  #kind: number | undefined;
  #since_us = 0;

  constructor(channels: Channels, bus: Id, serviceBus: Id, canForm: boolean) {
    this.#supply = channels.index(`${bus}.supply`);
    this.#command = canForm ? channels.index('gateway.vehicleCommand') : undefined;
    this.#service = channels.of(serviceBus, 'u1', 'u2', 'u12');
  }

  /** The instant from which low voltage counts, if what holds now goes on holding; undefined: not at all. */
  countsFrom(at_us: number, now: Float64Array): number | undefined {
    const kind = now[this.#supply]!;
    if (kind !== this.#kind) {
      this.#since_us = this.#kind === undefined ? at_us - STOOD_US : at_us;
      this.#kind = kind;
    }
    const answers = kind === FORMED ? this.#isOrdered(now) : kind === UTILITY && this.#isUtilitySound(now);
    return answers ? Math.max(at_us, this.#since_us + this.#pause_us) : undefined;
  }

  #isOrdered(now: Float64Array): boolean {
    return this.#command === undefined || now[this.#command] === COMMAND_FORM;
  }

  #isUtilitySound(now: Float64Array): boolean {
    const { u1, u2, u12 } = this.#service;
    return isSound(now[u1]! / LEG_V) && isSound(now[u2]! / LEG_V) && isSound(now[u12]! / LINE_V);
  }
}

function isSound(level_pu: number): boolean {
  const { min_pu, max_pu } = limit('own.lower-utility').values;
  return level_pu >= min_pu && level_pu <= max_pu;
}
