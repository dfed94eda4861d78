import { type Actor, createActor } from 'xstate';
import { DeadbusBug } from '../check.ts';
import type { SiteDescription } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import { type Controller, type Inputs, type Outputs, POSITION, type ScanResult, VEHICLE_COMMAND } from './boundary.ts';
import { referenceMachine } from './reference-chart.ts';
import { type Held, outputsOf, type Places, transferState } from './reference-orders.ts';
import type { ReasonName } from './reference-reasons.ts';
import { type ReferenceSettings, settingsOf } from './reference-settings.ts';
import { ScanClock } from './scan-clock.ts';
import { VIEW_FLAGS, type View, viewOf } from './view.ts';

type Machine = typeof referenceMachine;

/**
 * The transfer logic that comes with deadbus: the reference chart on a clock that moves only at scans.
 *
 * @param site - its settings are the timings and policies; of its equipment it knows ratings and what is fitted
 * @param machine - another chart made of the same parts, such as one that is wrong on purpose
 */
export function createReferenceController(site: SiteDescription, machine: Machine = referenceMachine): Controller {
  return new ReferenceController(settingsOf(site), machine);
}

class ReferenceController implements Controller {
  readonly #settings: ReferenceSettings;
  readonly #machine: Machine;
  #clock = new ScanClock();
  #actor: Actor<Machine> | undefined;
  #held: Held = { relayCoil: 0, neutralContactor: 0, vehicleCommand: VEHICLE_COMMAND.idle };
  #outputs: Outputs | undefined;
  /** Outlives a loss of supply, as a bit in a memory that needs none: why it is locked out. */
  #lockedBecause: ReasonName | undefined;
  #lastScan_us = -1;
  #failed: { readonly cause: unknown } | undefined;

  constructor(settings: ReferenceSettings, machine: Machine) {
    this.#settings = settings;
    this.#machine = machine;
  }

  boot(_seed: number): void {
    this.#actor?.stop();
    this.#clock = new ScanClock();
    this.#actor = undefined;
    this.#outputs = undefined;
    this.#failed = undefined;
  }

  /** First the new view, then what has run out: of a timer and a change that fall on one scan the change is heard first. */
  scan(inputs: Inputs): ScanResult {
    const { now_us } = inputs;
    const view = viewOf(inputs, this.#settings.view);
    this.#clock.advanceTo(now_us);
    const actor = this.#actor ?? this.#start(inputs, view);
    // The chart hangs on view and timers alone: the same view again, and nothing due, moves nothing.
    const due = (this.#clock.earliest_us ?? Number.POSITIVE_INFINITY) <= now_us;
    if (this.#outputs === undefined || due || !isSame(view, actor.getSnapshot().context.view)) {
      actor.send({ type: 'scan', view });
      this.#clock.fireDue();
      if (this.#failed !== undefined) rethrow(this.#failed.cause);
      this.#outputs = this.#answer(actor);
    }
    this.#lastScan_us = now_us;
    const wake_us = this.#clock.earliest_us;
    return {
      outputs: this.#outputs,
      wake: wake_us === undefined ? 'never' : (Math.max(wake_us, now_us + 1) as SimUs),
    };
  }

  #start(inputs: Inputs, view: View): Actor<Machine> {
    if (inputs.now_us <= this.#lastScan_us) this.#lockedBecause = undefined; // Another run.
    this.#held = heldAt(inputs, view);
    const actor = createActor(this.#machine, {
      clock: this.#clock,
      input: {
        settings: this.#settings.chart,
        view,
        lockedBefore: this.#lockedBecause !== undefined,
        because: this.#lockedBecause ?? 'none',
      },
    });
    // A chart that fails tells its subscribers; it is thrown out of the scan, not later out of nowhere.
    actor.subscribe({
      error: (cause: unknown) => {
        this.#failed = { cause };
      },
    });
    actor.start();
    this.#actor = actor;
    return actor;
  }

  #answer(actor: Actor<Machine>): Outputs {
    const { value, context } = actor.getSnapshot();
    const places = placesOf(value);
    const state = transferState(places);
    this.#lockedBecause = state === 'locked' || state === 'lockedClosed' ? context.because : undefined;
    return outputsOf(places, context, this.#settings.orders, this.#held);
  }

  digestState(): string {
    const snapshot = this.#actor?.getSnapshot();
    const { settings: _, ...memory } = snapshot?.context ?? { settings: undefined };
    return JSON.stringify([
      snapshot?.value ?? 'not booted',
      memory,
      this.#held,
      this.#lockedBecause ?? 'not locked',
      this.#clock.remaining_us(),
    ]);
  }

  inState(): readonly string[] {
    const value = this.#actor?.getSnapshot().value;
    return value === undefined ? [] : Object.entries(placesOf(value)).map(([region, place]) => `${region}.${place}`);
  }
}

/** What stands as the controller boots: what it must not change before it knows more. */
function heldAt({ neutralAux }: Inputs, view: View): Held {
  const runs = view.openProved && view.sourceJoined && !view.houseDead;
  return {
    relayCoil: view.closedProved ? 1 : 0,
    neutralContactor: neutralAux.value === POSITION.closed ? 1 : 0,
    vehicleCommand: runs ? VEHICLE_COMMAND.form : VEHICLE_COMMAND.idle,
  };
}

function placesOf(value: object): Places {
  const path = (state: unknown): string => {
    if (typeof state !== 'object' || state === null) return String(state);
    const [name, inner] = Object.entries(state)[0]!;
    return `${name}.${path(inner)}`;
  };
  return Object.fromEntries(Object.entries(value).map(([region, state]) => [region, path(state)]));
}

function isSame(a: View, b: View): boolean {
  return (
    a.chargeRoom_A === b.chargeRoom_A && a.missing === b.missing && VIEW_FLAGS.every((flag) => a[flag] === b[flag])
  );
}

function rethrow(cause: unknown): never {
  throw cause instanceof Error ? cause : new DeadbusBug(String(cause));
}
