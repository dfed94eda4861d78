import type { Controller, Inputs, Outputs, ScanResult } from '../../sim/gateway/boundary.ts';
import type { SimUs } from '../../sim/units.ts';

// A first controller: it parts from a dead street and goes back when the street has been good for 300 s. It never forms an
// island. Everything it knows comes from the readings of a scan; everything it wants to be woken for it says in `wake`.

type State = 'on utility' | 'leaving' | 'apart';

/** How long what a state waits for must have held. */
const WAIT_us: Readonly<Record<State, number>> = { 'on utility': 160_000, leaving: 2_000_000, apart: 300_000_000 };

let state: State = 'on utility';
/** Since when the condition that the state waits for has held. */
let since_us: number | undefined;

function orders(relayCoil: 0 | 1, pvPermit: 0 | 1): Outputs {
  return {
    relayCoil,
    pvPermit,
    pvContactor: 1,
    neutralContactor: 0,
    vehicleCommand: 0,
    vehicleLimit: 0,
    islandVoltage: 0,
    islandFrequency: 0,
    shed: 0,
    plugLock: 0,
    lockout: 0,
    reason: 0,
  };
}

/** Both legs and line to line, 0.90 to 1.06 of nominal. */
function isGood({ utilityL1, utilityL2, utilityL12 }: Inputs): boolean {
  const inside = (value_mV: number, nominal_mV: number): boolean =>
    value_mV >= 0.9 * nominal_mV && value_mV <= 1.06 * nominal_mV;
  return inside(utilityL1.value, 120_000) && inside(utilityL2.value, 120_000) && inside(utilityL12.value, 240_000);
}

/** Whether a condition has held for as long as the state asks; the time starts anew when it does not hold. */
function hasHeld(holds: boolean, now_us: number): boolean {
  if (!holds) since_us = undefined;
  else since_us ??= now_us;
  return since_us !== undefined && now_us - since_us >= WAIT_us[state];
}

function become(next: State): void {
  state = next;
  since_us = undefined;
}

function scan(inputs: Inputs): ScanResult {
  const { now_us } = inputs;
  if (state === 'on utility') {
    if (hasHeld(inputs.utilityL12.value < 120_000, now_us)) become('leaving');
  }
  if (state === 'leaving') {
    // The sun must not be left without a reference: its permit goes first, and the relay waits until it has ceased.
    if (hasHeld(true, now_us) || Math.abs(inputs.pvPower.value) <= 50) become('apart');
  }
  if (state === 'apart') {
    if (hasHeld(isGood(inputs), now_us)) become('on utility');
  }
  const outputs = state === 'on utility' ? orders(1, 1) : state === 'leaving' ? orders(1, 0) : orders(0, 0);
  // It is scanned when a reading changes, and when what it waits for is due; in between nobody asks it.
  return { outputs, wake: since_us === undefined ? 'never' : ((since_us + WAIT_us[state]) as SimUs) };
}

const controller: Controller = {
  boot(): void {
    become('on utility');
  },
  scan,
  digestState: () => `${state} ${since_us ?? '-'}`,
};

export default controller;
