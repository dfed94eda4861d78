import { LEG_V, LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import { toUs } from './intervals.ts';
import type { Moment } from './judge.ts';

/** `gateway.vehicleCommand`: the order to form an island. */
export const COMMAND_FORM = 4;
/** `gateway.in.<input>.state`. */
const STALE = 1;
export const NOT_FITTED = 2;

/** An order that was withdrawn is still on its way for so long as the source has to be off: a start then is of that order. */
const ON_ITS_WAY_us = toUs(limit('own.proof-lost').values.time_s);

const CONTACTS = ['relayL1Open', 'relayL2Open', 'relayL1Closed', 'relayL2Closed'] as const;
const VOLTAGES = [
  ['backupL1', LEG_V],
  ['backupL2', LEG_V],
  ['backupL12', LINE_V],
] as const;

/** What the controller could know at the scan in which it ordered to form. */
export interface Evidence {
  readonly at_us: number;
  /** Both poles proved open, neither proved closed, all four readings there. */
  readonly provedOpen: boolean;
  /** Of the oldest of the four contact readings. */
  readonly age_us: number;
  /** Every voltage reading of the house side at or below the dead-bus level. */
  readonly readDead: boolean;
}

type Reading = Readonly<Record<'value' | 'state' | 'age' | 'heldFrom', number>>;

/** A stale reading is as old as the sample that it holds; of a fresh one the age was taken at its scan. */
function ageOf({ state, age, heldFrom }: Reading, at_us: number, now: Float64Array): number {
  return now[state] === STALE ? at_us - now[heldFrom]! : now[age]!;
}

/** Takes the evidence at each scan whose order becomes "form". */
export class EvidenceWatch {
  readonly #command: number;
  readonly #contacts: readonly Reading[];
  readonly #voltages: readonly { readonly value: number; readonly state: number; readonly nominal_V: number }[];
  #evidence: Evidence | undefined;
  #withdrawn_us: number | undefined;

  constructor(channels: Channels) {
    const reading = (name: string): Reading => ({
      value: channels.index(`gateway.in.${name}`),
      state: channels.index(`gateway.in.${name}.state`),
      age: channels.index(`gateway.in.${name}.age`),
      heldFrom: channels.index(`gateway.in.${name}.heldFrom`),
    });
    this.#command = channels.index('gateway.vehicleCommand');
    this.#contacts = CONTACTS.map(reading);
    this.#voltages = VOLTAGES.map(([name, nominal_V]) => ({ ...reading(name), nominal_V }));
  }

  frame({ at_us, now, before }: Moment): void {
    const ordered = now[this.#command] === COMMAND_FORM;
    const wasOrdered = before !== undefined && before[this.#command] === COMMAND_FORM;
    if (ordered && !wasOrdered) this.#evidence = this.#look(at_us, now);
    if (ordered) this.#withdrawn_us = undefined;
    else if (wasOrdered) this.#withdrawn_us = at_us;
    if (this.#withdrawn_us !== undefined && at_us - this.#withdrawn_us > ON_ITS_WAY_us) this.#evidence = undefined;
  }

  /** Of the order that is in force, or was until just now; undefined when nobody ordered to form. */
  inForce(): Evidence | undefined {
    return this.#evidence;
  }

  #look(at_us: number, now: Float64Array): Evidence {
    const fitted = this.#contacts.every(({ state }) => now[state] !== NOT_FITTED);
    const [open1, open2, closed1, closed2] = this.#contacts.map(({ value }) => isOn(now, value));
    const dead_pu = limit('own.dead-bus').values.level_pu;
    return {
      at_us,
      provedOpen: fitted && open1 === true && open2 === true && closed1 === false && closed2 === false,
      age_us: Math.max(...this.#contacts.map((contact) => ageOf(contact, at_us, now))),
      readDead: this.#voltages.every(
        ({ value, state, nominal_V }) => now[state] !== NOT_FITTED && now[value]! / 1000 <= dead_pu * nominal_V,
      ),
    };
  }
}
