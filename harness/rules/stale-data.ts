import type { Id } from '../../sim/site-description.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { type Finding, timeFinding } from './book.ts';
import { type Channels, isOn } from './channels.ts';
import { polesOf } from './contacts.ts';
import { becomes, moves, rises } from './edges.ts';
import { toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { COMMAND } from './vehicle-work.ts';

/** What the controller orders in the hazardous direction rests on readings that are fresh. */
export const staleData = rule({
  id: 'stale-data',
  about: 'Orders to close, form, charge more, restore load or permit PV rest on readings that are fresh enough.',
  limit: 'own.stale.measured',
  needs: 'phasor',
  scale: 'the largest age of each reading: 50 ms, 2 s, 3 s',
  preside: (desk) => new StaleData(desk),
});

const UTILITY = ['utilityL1', 'utilityL2', 'utilityL12'] as const;
const HOUSE = ['backupL1', 'backupL2', 'backupL12'] as const;
const CONTACTS = ['relayL1Open', 'relayL2Open', 'relayL1Closed', 'relayL2Closed'] as const;
const STATUS = ['vehicleReady', 'vehicleFault', 'plugged', 'stateOfCharge'] as const;
const POWER = ['serviceL1', 'serviceL2', 'vehiclePower'] as const;

/** What each order rests on. No site says more or less of it: the list is ours. */
const EDGES = {
  'close the relay': [...UTILITY, 'utilityLegAngle', 'utilityFrequency', ...HOUSE, ...CONTACTS, 'mainAux'],
  form: [...HOUSE, ...CONTACTS, 'neutralAux', ...STATUS],
  'charge more': [...UTILITY, ...STATUS, ...POWER],
  'restore load': [...HOUSE, 'backupFrequency', 'vehicleFault', 'vehiclePower'],
  'permit PV': [...HOUSE, 'backupFrequency', ...CONTACTS],
} as const;
type Edge = keyof typeof EDGES;

/** `gateway.in.<input>.state`. */
const STATE = { fresh: 0, stale: 1, notFitted: 2 } as const;

interface Input {
  readonly name: string;
  readonly key: LimitKey;
  readonly limit_us: number;
  readonly ofVehicle: boolean;
  readonly at: Readonly<Record<'state' | 'age' | 'heldFrom', number>>;
}

class StaleData implements Judge {
  readonly #desk: Desk;
  readonly #vehicles: readonly Id[];
  readonly #orders: Readonly<Record<'relayCoil' | 'vehicleCommand' | 'vehicleLimit' | 'shed' | 'pvPermit', number>>;
  readonly #inputs: ReadonlyMap<Edge, readonly Input[]>;
  readonly #poles: readonly number[];

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#vehicles = facts.forming.map((source) => source.id);
    this.#orders = channels.of('gateway', 'relayCoil', 'vehicleCommand', 'vehicleLimit', 'shed', 'pvPermit');
    this.#poles = facts.relays.flatMap((relay) => polesOf(channels, relay).legs.map(({ state }) => state));
    const edges = Object.keys(EDGES) as Edge[];
    this.#inputs = new Map(edges.map((edge) => [edge, EDGES[edge].map((name) => inputOf(channels, name))]));
  }

  frame(moment: Moment): void {
    if (moment.before === undefined) return;
    const { relayCoil, vehicleCommand, vehicleLimit, shed, pvPermit } = this.#orders;
    const { now, before } = moment;
    // An order to close what is closed, as after a boot, closes nothing.
    const isOpen = this.#poles.some((state) => !isOn(before, state));
    if (isOpen && rises(moment, relayCoil)) this.#judge('close the relay', moment);
    if (becomes(moment, vehicleCommand, COMMAND.form)) this.#judge('form', moment);
    const charges = now[vehicleCommand] === COMMAND.charge;
    if (charges && (moves(moment, vehicleCommand) || now[vehicleLimit]! > before[vehicleLimit]!)) {
      this.#judge('charge more', moment);
    }
    if ((before[shed]! & ~now[shed]!) !== 0) this.#judge('restore load', moment);
    if (rises(moment, pvPermit)) this.#judge('permit PV', moment);
  }

  end(): void {}

  #judge(edge: Edge, { at_us, now }: Moment): void {
    const findings: Finding[] = [];
    for (const input of this.#inputs.get(edge)!) {
      if (now[input.at.state] === STATE.notFitted) continue;
      const { name, key, limit_us } = input;
      const about = `age of ${name} at the order to ${edge}`;
      const found_us = this.#ageOf(input, at_us, now);
      findings.push(timeFinding({ at_us, found_us, limit_us, key, against: 'controller', about }));
    }
    if (findings.length === 0) return;
    this.#desk.book.arm();
    this.#desk.book.add(...findings);
  }

  /** What a vehicle says of itself is as old as its silence, though the reading is taken anew. */
  #ageOf({ at, ofVehicle }: Input, at_us: number, now: Float64Array): number {
    const age_us = now[at.state] === STATE.stale ? at_us - now[at.heldFrom]! : now[at.age]!;
    if (!ofVehicle) return age_us;
    const link = this.#desk.happenings.latest(this.#vehicles, ['lose communication', 'restore communication']);
    return link?.did === 'lose communication' ? Math.max(age_us, at_us - link.at_us) : age_us;
  }
}

function inputOf(channels: Channels, name: string): Input {
  const ofVehicle = (STATUS as readonly string[]).includes(name);
  const key = ofVehicle
    ? 'own.stale.status'
    : (POWER as readonly string[]).includes(name)
      ? 'own.stale.power'
      : 'own.stale.measured';
  const index = (suffix: string): number => channels.index(`gateway.in.${name}.${suffix}`);
  const at = { state: index('state'), age: index('age'), heldFrom: index('heldFrom') };
  return { name, key, limit_us: toUs(limit(key).values.time_s), ofVehicle, at };
}
