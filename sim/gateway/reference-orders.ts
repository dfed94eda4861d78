import { LINE_V } from '../units.ts';
import { OUTPUTS_AT_REST, type Outputs, VEHICLE_COMMAND } from './boundary.ts';
import type { Memory } from './reference-parts.ts';
import { REASONS, type ReasonName } from './reference-reasons.ts';
import { TRANSFER_STATES, type TransferState } from './reference-transfer.ts';

const { idle, charge, testVoltage, form, stop } = VEHICLE_COMMAND;

/** What each state of the transfer orders: coil 1 wants the relay closed. What is not named stays at rest. */
export const ORDERS: Readonly<Record<TransferState, Partial<Outputs>>> = {
  booting: {},
  onUtility: { relayCoil: 1, pvPermit: 1, pvContactor: 1 },
  leaving: { relayCoil: 1, pvContactor: 1 },
  isolating: {},
  awaitingDeadBus: {},
  deadBus: {},
  formingNeutral: { neutralContactor: 1 },
  proving: { neutralContactor: 1, vehicleCommand: testVoltage },
  forming: { neutralContactor: 1, vehicleCommand: form },
  islanded: { neutralContactor: 1, vehicleCommand: form, pvPermit: 1, pvContactor: 1 },
  endingIsland: { neutralContactor: 1, vehicleCommand: form, pvContactor: 1 },
  returning: { neutralContactor: 1, vehicleCommand: form, pvContactor: 1 },
  synchronising: { neutralContactor: 1, vehicleCommand: form },
  meeting: { relayCoil: 1, neutralContactor: 1, vehicleCommand: form },
  met: { relayCoil: 1, neutralContactor: 1, vehicleCommand: stop },
  stopping: { vehicleCommand: stop },
  resting: { vehicleCommand: stop },
  partingNeutral: { vehicleCommand: stop },
  closing: { relayCoil: 1, vehicleCommand: stop },
  standingDown: { relayCoil: 1, pvContactor: 1 },
  openedByHand: {},
  dark: { vehicleCommand: stop },
  doubting: { vehicleCommand: stop },
  lockedClosed: { relayCoil: 1, pvPermit: 1, pvContactor: 1, lockout: 1 },
  locked: { vehicleCommand: stop, lockout: 1 },
};

/** Where every region of the chart is: state names from the outside in, joined by dots. */
export type Places = Readonly<Record<string, string>>;

/** What the orders need to know of the site. */
export interface OrderSettings {
  readonly limit_mA: number;
  readonly syncFrequency_mHz: number;
}

/** What stood when the controller booted: until the position is read nothing is ordered that would change it. */
export type Held = Pick<Outputs, 'relayCoil' | 'neutralContactor' | 'vehicleCommand'>;

export function outputsOf(places: Places, memory: Memory, settings: OrderSettings, held: Held): Outputs {
  const state = transferState(places);
  const orders: Outputs = {
    ...OUTPUTS_AT_REST,
    vehicleCommand: idle,
    vehicleLimit: settings.limit_mA,
    islandVoltage: LINE_V * 1000,
    plugLock: memory.view.sourceJoined || !RELEASES.includes(state) ? 1 : 0,
    shed: (1 << memory.shed) - 1,
    reason: reasonOf(places, memory),
    ...ORDERS[state],
  };
  if (state === 'booting') return { ...orders, ...held };
  if (state === 'onUtility') return onUtility(orders, places, memory);
  if (state === 'islanded' && !mayPvRun(places)) return { ...orders, pvPermit: 0, pvContactor: 0 };
  if (KEEPS_NEUTRAL.includes(state)) {
    const isOwed = state === 'dark' && isNeutralOwed(memory);
    return { ...orders, neutralContactor: memory.neutralKept || isOwed ? 1 : 0 };
  }
  if (places['transfer'] === 'locked.ceasing') return { ...orders, relayCoil: 1, pvContactor: 1 };
  if (state === 'synchronising' || state === 'meeting')
    return { ...orders, islandFrequency: settings.syncFrequency_mHz };
  return orders;
}

/** The relay is open and nobody forms: a neutral former that is in stays in, for the next try or until PV has ceased. */
const KEEPS_NEUTRAL: readonly TransferState[] = ['awaitingDeadBus', 'deadBus', 'stopping', 'resting', 'dark'];

/** States in which nothing is asked of the vehicle, so that the plug may be pulled once its contactor is open. */
const RELEASES: readonly TransferState[] = ['openedByHand', 'dark', 'doubting', 'lockedClosed', 'locked'];

function onUtility(orders: Outputs, places: Places, { chargeLimit_A, view }: Memory): Outputs {
  const permit = places['supply'] === 'lost' || view.mainBelowOpen ? 0 : 1;
  const vehicle = isIn(places, 'charging', 'on')
    ? { vehicleCommand: charge, vehicleLimit: chargeLimit_A * 1000 }
    : places['waking'] === 'calling'
      ? { vehicleCommand: charge, vehicleLimit: 0 } // The order wakes it; without a limit it charges nothing.
      : {};
  return { ...orders, pvPermit: permit, ...vehicle };
}

/** The source is gone and PV has not ceased yet: as long as it runs, what holds the middle of its legs stays in. */
function isNeutralOwed({ view }: Memory): boolean {
  return view.neutralIn && !view.pvCeased;
}

function mayPvRun(places: Places): boolean {
  const place = places['transfer'];
  return (place === 'islanded.stable' || place === 'islanded.rested') && places['room'] === 'some';
}

export function transferState(places: Places): TransferState {
  const name = (places['transfer'] ?? 'booting').split('.')[0];
  return TRANSFER_STATES.find((state) => state === name) ?? 'booting';
}

function isIn(places: Places, region: string, state: string): boolean {
  const place = places[region] ?? '';
  return place === state || place.startsWith(`${state}.`);
}

/** The most telling reason: what keeps the house from where it should be, else what is unusual. */
export function reasonOf(places: Places, memory: Memory): number {
  const code = (name: ReasonName): number => REASONS[name].code;
  const state = transferState(places);
  const { view } = memory;
  if (state === 'booting') return code('booting');
  if (state === 'onUtility') {
    if (isIn(places, 'supply', 'lost')) return code(memory.diagnosis);
    if (places['transfer'] === 'onUtility.blind') return code('positionUnknown');
    if (isIn(places, 'supply', 'low')) return code('lowVoltage');
    if (places['supply'] === 'sound.announced') return code('unusualVoltage');
    if (view.mainBelowOpen) return code('mainBelowOpen');
    return view.commissioned ? code('none') : code('notCommissioned') + view.missing;
  }
  if (state === 'openedByHand' || state === 'standingDown') return code('handOpened');
  if (memory.because !== 'none') return code(memory.because);
  if (state === 'proving' && !view.sourceAwake) return code('sourceAsleep');
  if (state === 'islanded') {
    if (places['charge'] === 'low') return code('lowCharge');
    if (places['room'] === 'none') return code('batteryFull');
    if (memory.shed > 0) return code('overload');
  }
  return code(memory.diagnosis);
}
