import { type Actor, createActor } from 'xstate';
import { OUTPUTS_AT_REST, type Outputs, VEHICLE_COMMAND } from '../../../sim/gateway/boundary.ts';
import { outputsOf, transferState } from '../../../sim/gateway/reference-orders.ts';
import type { ChartSettings, TimeName } from '../../../sim/gateway/reference-parts.ts';
import { TIME_NAMES } from '../../../sim/gateway/reference-parts.ts';
import type { machineOf } from '../../../sim/gateway/reference-plain.ts';
import { REFERENCE_SETTINGS } from '../../../sim/gateway/reference-spec.ts';
import { ScanClock } from '../../../sim/gateway/scan-clock.ts';
import { SITE_SETTINGS } from '../../../sim/gateway/spec.ts';
import type { View } from '../../../sim/gateway/view.ts';

type Machine = ReturnType<typeof machineOf>;

/** What the world does to the chart; everything else follows from its orders. */
export interface World {
  utility: 'good' | 'gone' | 'brown';
  vehicle: 'awake' | 'absent' | 'faulty' | 'shorted';
  mainOpen: boolean;
  /** The relay stays where it is. */
  stuck: boolean;
  /** Its contacts never say open. */
  mute: boolean;
  welded: boolean;
  /** The neutral former, once in, does not let go. */
  neutralStays: boolean;
  asks: 'nothing' | 'form' | 'reset' | 'return';
}
export const SOUND: World = {
  utility: 'good',
  vehicle: 'awake',
  mainOpen: false,
  stuck: false,
  mute: false,
  welded: false,
  neutralStays: false,
  asks: 'nothing',
};

const RELAY_us = 20_000;
const NEUTRAL_us = 30_000;
const VEHICLE_us = 500_000;
const SOFT_us = 1_000_000;
const PERIOD_us = 10_000;

/** Settings of a site that says nothing, with the long waits cut short. */
export function chartSettings(changes: Partial<ChartSettings> = {}): ChartSettings {
  const short: Partial<Record<TimeName, number>> = {
    returnGood: 3000,
    restartWindow: 20_000,
    wakeTime: 5000,
    rest: 1000,
    formAgain: 1000,
    closeAgain: 2000,
  };
  const of = (name: string): number => Number(SITE_SETTINGS.find((spec) => spec.name === name)?.default) / 1000;
  const times_ms = Object.fromEntries(TIME_NAMES.map((name) => [name, short[name] ?? of(name)]));
  return {
    times_ms: times_ms as ChartSettings['times_ms'],
    ride_ms: { low: 160, mid: 320, shallow: 5000 },
    handOpening: 'isolation',
    formWhenHandOpenedUnknown: true,
    transition: 'open',
    stuckContact: 'lockout',
    atReserve: 'stop',
    surplus: 'withdraw',
    openNeutral: 'person',
    chargeOnUtility: false,
    sheds: 2,
    ...changes,
  };
}

/** Names of the settings that the chart takes: all are declared. */
export const DECLARED = [...SITE_SETTINGS, ...REFERENCE_SETTINGS].map(({ name }) => name);

/**
 * A house of booleans around the chart: relay, neutral former and vehicle follow their orders after a while. It is scanned
 * when something has changed or the chart wants to be woken, as a run does.
 */
export class MiniSite {
  readonly world: World;
  readonly actor: Actor<Machine>;
  readonly visited = new Set<string>();
  now_us = 0;
  relayClosed: boolean;
  #neutralIn = false;
  #joined = false;
  #formed = false;
  #outputs: Outputs;
  readonly #clock = new ScanClock();
  readonly #due = new Map<string, { at_us: number; act: () => void }>();

  constructor(machine: Machine, settings: ChartSettings, world: Partial<World> = {}, relayClosed = true) {
    this.world = { ...SOUND, ...world };
    this.relayClosed = relayClosed;
    this.#outputs = { ...OUTPUTS_AT_REST, relayCoil: relayClosed ? 1 : 0 };
    const input = { settings, view: this.view(), lockedBefore: false, because: 'none' as const };
    this.actor = createActor(machine, { clock: this.#clock, input });
    this.actor.subscribe({
      error: (thrown) => {
        throw thrown;
      },
    });
    this.actor.start();
    this.#scan();
  }

  get places(): Record<string, string> {
    const path = (state: unknown): string =>
      typeof state === 'string'
        ? state
        : Object.entries(state as object)
            .map(([name, inner]) => `${name}.${path(inner)}`)
            .join();
    return Object.fromEntries(
      Object.entries(this.actor.getSnapshot().value).map(([region, state]) => [region, path(state)]),
    );
  }

  get state(): string {
    return transferState(this.places);
  }

  get outputs(): Outputs {
    return this.#outputs;
  }

  change(world: Partial<World>): void {
    Object.assign(this.world, world);
    this.#scan();
  }

  /** Goes on for a time; stops early once the transfer is in that state. */
  run(for_s: number, until?: string): boolean {
    const end_us = this.now_us + Math.round(for_s * 1e6);
    for (let steps = 0; steps < 20_000; steps += 1) {
      if (until !== undefined && this.state === until) return true;
      const wake_us = this.#clock.earliest_us ?? Infinity;
      const own_us = Math.min(...[...this.#due.values()].map(({ at_us }) => at_us), Infinity);
      const next_us = Math.ceil(Math.max(Math.min(wake_us, own_us), this.now_us + 1) / PERIOD_us) * PERIOD_us;
      if (next_us > end_us) {
        this.now_us = end_us;
        return until === undefined;
      }
      this.now_us = next_us;
      for (const [name, { at_us, act }] of [...this.#due]) {
        if (at_us > next_us) continue;
        this.#due.delete(name);
        act();
      }
      this.#scan();
    }
    throw new Error(`the chart does not come to rest: ${JSON.stringify(this.places)}`);
  }

  #later(name: string, after_us: number, act: () => void): void {
    this.#due.set(name, { at_us: this.now_us + after_us, act });
  }

  #scan(): void {
    this.#clock.advanceTo(this.now_us);
    this.actor.send({ type: 'scan', view: this.view() });
    this.#clock.fireDue();
    this.visited.add(this.state);
    const { context } = this.actor.getSnapshot();
    const settings = { limit_mA: 40_000, syncFrequency_mHz: 60_100 };
    const held = { relayCoil: this.relayClosed ? 1 : 0, neutralContactor: 0, vehicleCommand: 0 };
    this.#obey(outputsOf(this.places, context, settings, held));
  }

  #obey(outputs: Outputs): void {
    const { form, testVoltage } = VEHICLE_COMMAND;
    const before = this.#outputs;
    this.#outputs = outputs;
    const wantsClosed = outputs.relayCoil === 1;
    if (wantsClosed !== this.relayClosed && !this.world.stuck) {
      if (!this.#due.has('relay'))
        this.#later('relay', RELAY_us, () => {
          this.relayClosed = this.#outputs.relayCoil === 1;
        });
    }
    const neutral = outputs.neutralContactor === 1;
    if (neutral !== this.#neutralIn && !this.#due.has('neutral')) {
      this.#later('neutral', NEUTRAL_us, () => {
        this.#neutralIn = this.#outputs.neutralContactor === 1 || (this.#neutralIn && this.world.neutralStays);
      });
    }
    const command = outputs.vehicleCommand;
    const works = (command === form || command === testVoltage) && this.world.vehicle === 'awake';
    if (works && !this.#joined && !this.#due.has('vehicle'))
      this.#later('vehicle', VEHICLE_us, () => {
        this.#joined = true;
      });
    if (!works) {
      this.#due.delete('vehicle');
      if (this.#joined || this.#formed)
        this.#later('off', PERIOD_us, () => {
          this.#joined = false;
        });
      this.#formed = false;
    }
    if (works && command === form && before.vehicleCommand !== form && !this.#formed) {
      this.#later('formed', SOFT_us, () => {
        this.#formed = this.#joined && this.#outputs.vehicleCommand === form;
      });
    }
  }

  view(): View {
    const { utility, vehicle, mainOpen, mute, welded, asks } = this.world;
    const street = mainOpen ? 'gone' : utility;
    const closed = this.relayClosed;
    const live = this.#formed || (closed && street !== 'gone');
    const good = this.#formed || (closed && street === 'good');
    const there = vehicle === 'awake';
    return {
      ...Object.fromEntries(
        [
          'odd',
          'lineLow',
          'lineMid',
          'legLost',
          'neutralMoved',
          'tooHigh',
          'unusual',
          'mainUnknown',
          'mainBelowOpen',
          'polesApart',
          'legsApart',
          'legsWide',
          'exporting',
          'overCurrent',
          'spareCurrent',
          'chargeSpent',
          'chargeLow',
          'chargeFull',
          'shiftSpent',
        ].map((name) => [name, false]),
      ),
      troubled: street !== 'good',
      sound: street === 'good',
      belowDeep: street === 'gone',
      good: street === 'good',
      openProved: !closed && !mute,
      closedProved: closed,
      anyClosed: closed,
      proofsFresh: true,
      supplied: true,
      mainOpen,
      houseDead: !live,
      houseRunDown: !live,
      houseGood: good,
      houseLow: !live,
      housePressed: !good,
      neutralIn: this.#neutralIn,
      neutralOut: !this.#neutralIn,
      polesProved: this.#joined && !closed && !welded,
      inStep: this.#formed && street === 'good',
      pvCeased: true,
      quiet: true,
      plugged: vehicle !== 'absent',
      sourceThere: there,
      sourceAwake: there,
      sourceJoined: this.#joined,
      sourceFault: vehicle === 'faulty' || vehicle === 'shorted',
      hardFault: vehicle === 'shorted',
      chargeRecovered: true,
      chargeRoomy: true,
      commissioned: true,
      asksToFormOnSite: asks === 'form',
      asksToReset: asks === 'reset',
      asksToReturn: asks === 'return',
      chargeRoom_A: 0,
      missing: 0,
    } as View;
  }
}
