import type { Origin } from '../../sim/telemetry.ts';
import { isOn } from './channels.ts';
import { moves } from './edges.ts';
import { originOf } from './happenings.ts';
import type { Desk, Moment } from './judge.ts';

/**
 * The last change that may move the current of a source: an order of the gateway, a source that starts or ends, a load, a
 * contact, the utility. And who answers for it.
 */
export class Steps {
  readonly #happenings: Desk['happenings'];
  readonly #orders: readonly number[];
  readonly #circuit: readonly number[];
  readonly #forms: readonly number[];
  readonly #starts: readonly string[];
  against: Origin = 'site';

  constructor({ facts, channels, happenings }: Desk) {
    this.#happenings = happenings;
    const index = (owner: string, ...names: readonly string[]): number[] =>
      names.map((name) => channels.index(`${owner}.${name}`));
    this.#orders = index('gateway', 'vehicleCommand', 'vehicleLimit');
    this.#starts = facts.forming.map((source) => source.id);
    this.#forms = facts.forming.flatMap(({ id }) => index(id, 'forms'));
    this.#circuit = [
      ...facts.forming.flatMap(({ id }) => index(id, 'mode', 'forms', 'energises')),
      ...facts.devices.flatMap(({ id, legs }) => index(id, ...legs.filter((leg) => leg !== 'N'))),
      ...facts.site.pieces.filter(({ kind }) => kind === 'load').flatMap(({ id }) => index(id, 'on', 'state')),
      ...facts.site.buses.flatMap(({ id }) => index(id, 'supply')),
    ];
  }

  /** Whether such a change comes with this frame. */
  frame(moment: Moment): boolean {
    if (this.#orders.some((index) => moves(moment, index))) {
      // In an island the loads say what flows, whatever limit is ordered.
      if (!this.#forms.some((index) => isOn(moment.now, index))) this.against = 'controller';
      return true;
    }
    if (!this.#circuit.some((index) => moves(moment, index))) return false;
    const starts = this.#happenings.latest(this.#starts, ['starts', 'starts charging', 'forms']);
    this.against = originOf(this.#happenings.later(starts, this.#happenings.circuitChange()));
    return true;
  }
}
