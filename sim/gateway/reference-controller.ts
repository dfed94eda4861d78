import { type Actor, createActor } from 'xstate';
import { DeadbusBug } from '../check.ts';
import { flagOf, numberOf, type SiteDescription, textOf } from '../site-description.ts';
import { LINE_V, type SimUs, US_PER_MS } from '../units.ts';
import {
  type Controller,
  type Inputs,
  OUTPUTS,
  OUTPUTS_AT_REST,
  type Outputs,
  type ScanResult,
  VEHICLE_COMMAND,
} from './boundary.ts';
import { type ChartSettings, referenceChart, type TransferState } from './reference-chart.ts';
import { ScanClock } from './scan-clock.ts';
import { type ViewSettings, viewOf } from './view.ts';

const { idle, charge, form, stop } = VEHICLE_COMMAND;

/** What each state of the transfer orders: coil 1 wants the relay closed. */
const ORDERS: Readonly<Record<TransferState, Partial<Outputs>>> = {
  booting: { relayCoil: 0 },
  onUtility: { relayCoil: 1, pvPermit: 1, pvContactor: 1 },
  leaving: { relayCoil: 1 },
  isolating: {},
  awaitingDeadBus: {},
  deadBus: {},
  formingNeutral: { neutralContactor: 1 },
  forming: { neutralContactor: 1, vehicleCommand: form },
  islanded: { neutralContactor: 1, vehicleCommand: form, pvPermit: 1, pvContactor: 1 },
  returning: { neutralContactor: 1, vehicleCommand: form },
  stopping: { neutralContactor: 1, vehicleCommand: stop },
  partingNeutral: { vehicleCommand: stop },
  closing: { relayCoil: 1, vehicleCommand: stop },
  notClosed: { vehicleCommand: stop },
  standingDown: { relayCoil: 1 },
  openedByHand: {},
  dark: { vehicleCommand: stop },
  locked: { vehicleCommand: stop, lockout: 1 },
};
const REASONS = Object.keys(ORDERS) as TransferState[];

/**
 * The transfer logic that comes with deadbus: the reference chart on a clock that moves only at scans.
 *
 * @param site - its settings are the timings and policies; of its equipment it knows ratings and what is fitted
 */
export function createReferenceController(site: SiteDescription): Controller {
  return new ReferenceController(site);
}

class ReferenceController implements Controller {
  readonly #settings: ChartSettings;
  readonly #view: ViewSettings;
  readonly #chargeOnUtility: boolean;
  readonly #limit_mA: number;
  #clock = new ScanClock();
  #actor: Actor<typeof referenceChart> | undefined;
  #closedBefore = false;

  constructor(site: SiteDescription) {
    const ms = (name: string): number => numberOf(site.settings, name) / US_PER_MS;
    this.#settings = {
      outageDeep_ms: ms('outageDeep'),
      outageShallow_ms: ms('outageShallow'),
      rideThroughShallow_ms: ms('rideThroughShallow'),
      ceaseWait_ms: ms('ceaseWait'),
      prove_ms: ms('proveTime'),
      separation_ms: Math.max(ms('separation'), ms('deadTime')),
      form_ms: ms('formTime'),
      returnGood_ms: ms('returnGood'),
      requestLapse_ms: ms('requestLapse'),
      handOpening: textOf(site.settings, 'handOpening') === 'outage' ? 'outage' : 'isolation',
    };
    const inverters = site.pieces.filter(({ kind }) => kind === 'pv');
    this.#view = {
      pvRated_W: inverters.reduce((sum, { params }) => sum + numberOf(params, 'rated'), 0),
      hasFormer: site.pieces.some(({ kind }) => kind === 'former'),
      commissioned: flagOf(site.settings, 'commissioned'),
    };
    this.#chargeOnUtility = flagOf(site.settings, 'chargeOnUtility');
    const vehicle = site.pieces.find(({ kind }) => kind === 'vehicle');
    const most_mA = vehicle === undefined ? 0 : Math.round(0.8 * numberOf(vehicle.params, 'supplyBreaker') * 1000);
    this.#limit_mA = Math.min(most_mA, OUTPUTS.vehicleLimit.max); // More than the boundary can say is no limit to anybody.
  }

  boot(_seed: number): void {
    this.#actor?.stop();
    this.#clock = new ScanClock();
    this.#closedBefore = false;
    this.#actor = undefined;
  }

  scan(inputs: Inputs): ScanResult {
    const { now_us } = inputs;
    if (this.#actor === undefined) {
      this.#clock.moveTo(now_us);
      this.#actor = createActor(referenceChart, { clock: this.#clock, input: this.#settings });
      this.#actor.subscribe({ error: rethrow });
      this.#actor.start();
      // Until the position is read the coil stays as it is: an order at boot must not be the one that opens or closes.
      this.#closedBefore = inputs.relayL1Closed.value === 1 && inputs.relayL2Closed.value === 1;
    }
    this.#clock.moveTo(now_us);
    this.#actor.send({ type: 'scan', view: viewOf(inputs, this.#view) });
    const state = this.#state();
    const wake_us = this.#clock.earliest_us;
    return {
      outputs: this.#outputs(state),
      wake: wake_us === undefined ? 'never' : (Math.max(wake_us, now_us + 1) as SimUs),
    };
  }

  #outputs(state: TransferState): Outputs {
    const chargeNow = state === 'onUtility' && this.#chargeOnUtility;
    return {
      ...OUTPUTS_AT_REST,
      vehicleCommand: chargeNow ? charge : idle,
      vehicleLimit: this.#limit_mA,
      islandVoltage: LINE_V * 1000,
      plugLock: 1,
      reason: REASONS.indexOf(state),
      ...ORDERS[state],
      ...(state === 'booting' ? { relayCoil: this.#closedBefore ? 1 : 0 } : {}),
    };
  }

  #state(): TransferState {
    const value = this.#actor?.getSnapshot().value as { transfer: TransferState | Record<string, unknown> } | undefined;
    const transfer = value?.transfer ?? 'booting';
    return typeof transfer === 'string' ? transfer : (Object.keys(transfer)[0] as TransferState);
  }

  digestState(): string {
    const snapshot = this.#actor?.getSnapshot();
    return JSON.stringify([snapshot?.value ?? 'not booted', snapshot?.context ?? 0, this.#clock.remaining_us()]);
  }

  inState(): readonly string[] {
    const value = this.#actor?.getSnapshot().value;
    return value === undefined
      ? []
      : Object.entries(value).map(
          ([region, state]) => `${region}.${typeof state === 'string' ? state : Object.keys(state)[0]}`,
        );
  }
}

function rethrow(cause: unknown): never {
  throw cause instanceof Error ? cause : new DeadbusBug(String(cause));
}
