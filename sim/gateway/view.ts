import { LEG_V, LINE_V } from '../units.ts';
import { COMMISSIONING, type Inputs, POSITION, REQUEST, type Reading } from './boundary.ts';
import { isInStep, polesProved, type SyncSettings } from './reference-proof.ts';
import { type RideLevels, type UtilityFlag, utilityFlags } from './reference-utility.ts';

/** Flags that the reference controller makes of one scan's readings, beside those of the utility. Each is a guard of its chart. */
const FLAGS = [
  // The relay and what lies around it.
  'openProved',
  'closedProved',
  'anyClosed',
  'proofsFresh',
  'supplied',
  'mainOpen',
  'mainUnknown',
  'mainBelowOpen',
  // The house side.
  'houseDead',
  'houseRunDown',
  'houseGood',
  'houseLow',
  'housePressed',
  'legsApart',
  'legsWide',
  'neutralIn',
  'neutralOut',
  // Isolation and synchronism.
  'polesProved',
  'polesApart',
  'inStep',
  // Sources.
  'pvCeased',
  'quiet',
  'exporting',
  'plugged',
  'sourceThere',
  'sourceAwake',
  'sourceJoined',
  'sourceFault',
  'hardFault',
  'overCurrent',
  'spareCurrent',
  // Charge.
  'chargeSpent',
  'chargeLow',
  'chargeRecovered',
  'chargeFull',
  'chargeRoomy',
  'shiftSpent',
  // People and records.
  'commissioned',
  'asksToFormOnSite',
  'asksToReset',
  'asksToReturn',
] as const;
export const VIEW_FLAGS: readonly ViewFlag[] = [
  ...FLAGS,
  'troubled',
  'sound',
  'odd',
  'belowDeep',
  'lineLow',
  'lineMid',
  'legLost',
  'neutralMoved',
  'tooHigh',
  'unusual',
  'good',
];
export type ViewFlag = (typeof FLAGS)[number] | UtilityFlag;

/** What the reference controller makes of one scan's readings. */
export type View = Readonly<Record<ViewFlag, boolean>> & {
  /** Current, whole A, up to which a charge leaves the service inside its rating. */
  readonly chargeRoom_A: number;
  /** Bits of the commissioning record that are not set. */
  readonly missing: number;
};

/** What the view needs to know of the site. */
export interface ViewSettings {
  readonly pvRated_W: number;
  readonly vehicleRated_W: number;
  /** A neutral former with a contactor of its own, and whether a contact shows where it is. */
  readonly formerSwitched: boolean;
  readonly formerShown: boolean;
  /** The main stands on the house side of the relay: what it does says nothing about the utility's taps. */
  readonly mainBelow: boolean;
  readonly commissioned: boolean;
  readonly ride: RideLevels;
  readonly sync: SyncSettings;
  readonly testVoltage_mV: number;
  readonly supplyMin_mV: number;
  /** Continuous current of the source, and of the service for house and charge together, mA. */
  readonly sourceLimit_mA: number;
  readonly serviceLimit_mA: number;
  /** States of charge, permille. */
  readonly reserve: number;
  readonly lowCharge: number;
  readonly recovered: number;
  readonly chargeLimit: number;
  readonly roomy: number;
}

const mV = (share: number, nominal_V: number): number => share * nominal_V * 1000;
const ALL_RECORDS = Object.values(COMMISSIONING).reduce((sum, bit) => sum + bit, 0);
/** Share of rating above which a house counts as exporting before a disturbance. */
const EXPORT_SHARE = 0.1;
/** Power, share of rating, that counts as ceased: IEEE 1547-2018, 4.5. */
const CEASED_SHARE = 0.01;
/** Share of the continuous current below which there is room for a load that was shed. */
const SPARE_SHARE = 0.7;
/** An island at this frequency has no more way up: 61.1 Hz is where the shift ends. */
const SHIFT_SPENT_mHz = 61_000;
/** Above this the shift has begun; PV that gives nothing there has not slowed down but left, and would come back for more of the same. */
const SHIFT_BEGUN_mHz = 60_200;
/** Oldest proof of a contact on which a source may form. */
const RECENT_us = 50_000;
/** Current that comes out of the house, mA, although no PV runs in it: beyond the error of a transformer that hangs right. */
const IMPOSSIBLE_mA = 1000;
/** Codes of `vehicleFault` that say short circuit: another try may be made onto it once. */
const HARD_FAULTS: readonly number[] = [1, 4];

const isFresh = (...readings: readonly Reading[]): boolean => readings.every(({ state }) => state === 'fresh');
const isOn = ({ value, state }: Reading): boolean => state === 'fresh' && value === 1;

export function viewOf(inputs: Inputs, settings: ViewSettings): View {
  const contacts = contactFlags(inputs, settings);
  return {
    ...utilityFlags(inputs, contacts.closedProved, settings.ride),
    ...contacts,
    ...houseFlags(inputs, settings),
    ...sourceFlags(inputs, settings),
    ...chargeFlags(inputs, settings),
    polesProved: areProofsRecent(inputs) && polesProved(inputs, settings.testVoltage_mV),
    polesApart: arePolesApart(inputs),
    inStep: isInStep(inputs, settings.sync),
    commissioned: settings.commissioned && missingOf(inputs) === 0,
    missing: missingOf(inputs),
    asksToFormOnSite: inputs.request.value === REQUEST.form && isOn(inputs.onSite),
    asksToReturn: inputs.request.value === REQUEST.return,
    asksToReset: inputs.request.value === REQUEST.reset && isOn(inputs.onSite),
  };
}

/** Of a closed pole no voltage can be read, but for half a turn where the leads of one side are exchanged. */
function arePolesApart({ poleVoltsL1, poleVoltsL2 }: Inputs): boolean {
  return Math.max(poleVoltsL1.value, poleVoltsL2.value) > mV(0.1, LEG_V);
}

/** What decides on a voltage must be of now: a reading may say fresh and bear an old instant, or one still to come, as where a clock is wrong. */
function areProofsRecent({ now_us, relayL1Open, relayL2Open, relayL1Closed, relayL2Closed }: Inputs): boolean {
  return [relayL1Open, relayL2Open, relayL1Closed, relayL2Closed].every(
    ({ at_us }) => Math.abs(now_us - at_us) <= RECENT_us,
  );
}

function missingOf({ commissioning }: Inputs): number {
  return ALL_RECORDS & ~(commissioning.state === 'fresh' ? commissioning.value : 0);
}

function contactFlags(inputs: Inputs, settings: ViewSettings) {
  const { relayL1Open, relayL2Open, relayL1Closed, relayL2Closed, mainAux, controlSupply } = inputs;
  const proofsFresh = isFresh(relayL1Open, relayL2Open, relayL1Closed, relayL2Closed);
  const anyClosed = isOn(relayL1Closed) || isOn(relayL2Closed);
  const anyOpen = isOn(relayL1Open) || isOn(relayL2Open);
  const mainOpen = mainAux.state === 'fresh' && mainAux.value === POSITION.open;
  return {
    proofsFresh,
    anyClosed,
    openProved: proofsFresh && isOn(relayL1Open) && isOn(relayL2Open) && !anyClosed,
    closedProved: proofsFresh && isOn(relayL1Closed) && isOn(relayL2Closed) && !anyOpen,
    supplied: controlSupply.state !== 'fresh' || controlSupply.value >= settings.supplyMin_mV,
    mainOpen: mainOpen && !settings.mainBelow,
    mainBelowOpen: mainOpen && settings.mainBelow,
    mainUnknown: mainAux.state !== 'fresh' || mainAux.value === POSITION.unknown,
  };
}

/** Of a reading that is not fresh nothing is said: the bus is neither dead nor good. */
function houseFlags({ backupL1, backupL2, backupL12, neutralAux }: Inputs, settings: ViewSettings) {
  const fresh = isFresh(backupL1, backupL2, backupL12);
  const shares = [
    backupL1.value / mV(1, LEG_V),
    backupL2.value / mV(1, LEG_V),
    backupL12.value / mV(1, LINE_V),
  ] as const;
  const most = Math.max(...shares);
  const apart = Math.abs(shares[0] - shares[1]);
  const shown = settings.formerSwitched && settings.formerShown;
  return {
    houseDead: fresh && most <= 0.1,
    houseRunDown: fresh && most <= 0.25,
    houseGood: fresh && shares.every((share) => share >= 0.88 && share <= 1.1),
    houseLow: fresh && Math.min(...shares) < 0.5,
    housePressed: fresh && shares[2] < 0.88,
    legsApart: fresh && most > 0.25 && apart > 0.05,
    legsWide: fresh && most > 0.25 && apart > 0.15,
    neutralIn: !shown || neutralAux.value === POSITION.closed,
    neutralOut: !shown || neutralAux.value === POSITION.open,
  };
}

function sourceFlags(inputs: Inputs, settings: ViewSettings) {
  const { vehiclePower, vehicleReady, vehicleFault, plugged, supplyContactor, vehicleL1, vehicleL2 } = inputs;
  const { serviceL1, serviceL2 } = inputs;
  const pvCeased = isPvCeased(inputs, settings);
  const stands = Math.abs(vehiclePower.value) <= Math.max(1, CEASED_SHARE * settings.vehicleRated_W);
  const service_W = ((serviceL1.value + serviceL2.value) / 1000) * LEG_V;
  const sourceFault = vehicleFault.value !== 0;
  const current_mA = Math.max(Math.abs(vehicleL1.value), Math.abs(vehicleL2.value));
  const sourceThere = isOn(plugged) && !sourceFault;
  return {
    pvCeased,
    quiet: pvCeased && stands,
    exporting: settings.pvRated_W > 0 && service_W < -EXPORT_SHARE * settings.pvRated_W,
    plugged: isOn(plugged),
    sourceThere,
    sourceAwake: sourceThere && isOn(vehicleReady),
    sourceJoined: supplyContactor.state === 'fresh' && supplyContactor.value === POSITION.closed,
    sourceFault,
    hardFault: HARD_FAULTS.includes(vehicleFault.value),
    overCurrent: current_mA > settings.sourceLimit_mA,
    spareCurrent: isFresh(vehicleL1, vehicleL2) && current_mA < SPARE_SHARE * settings.sourceLimit_mA,
  };
}

function isPvCeased({ pvPower }: Inputs, { pvRated_W }: ViewSettings): boolean {
  return Math.abs(pvPower.value) <= Math.max(1, CEASED_SHARE * pvRated_W);
}

function chargeFlags(inputs: Inputs, settings: ViewSettings) {
  const { stateOfCharge, backupFrequency, pvPower } = inputs;
  const soc = stateOfCharge.value;
  const shift_mHz = isFresh(backupFrequency) ? backupFrequency.value : 0;
  const hasLeft = settings.pvRated_W > 0 && isFresh(pvPower) && isPvCeased(inputs, settings);
  return {
    chargeSpent: soc <= settings.reserve,
    chargeLow: soc <= settings.lowCharge,
    chargeRecovered: isFresh(stateOfCharge) && soc >= settings.recovered,
    chargeFull: soc >= settings.chargeLimit,
    chargeRoomy: isFresh(stateOfCharge) && soc <= settings.roomy,
    shiftSpent: shift_mHz >= SHIFT_SPENT_mHz || (shift_mHz >= SHIFT_BEGUN_mHz && hasLeft),
    chargeRoom_A: chargeRoom_A(inputs, settings),
  };
}

/** What the service bears beside the house as it now is, and no more than the source's own circuit. Unknown is none, and what cannot be is unknown. */
function chargeRoom_A(inputs: Inputs, settings: ViewSettings): number {
  const { serviceLimit_mA, sourceLimit_mA } = settings;
  const { serviceL1, serviceL2, vehicleL1, vehicleL2 } = inputs;
  if (!isFresh(serviceL1, serviceL2, vehicleL1, vehicleL2)) return 0;
  const turned = Math.min(serviceL1.value, serviceL2.value) < -IMPOSSIBLE_mA;
  if (turned && isPvCeased(inputs, settings)) return 0;
  const room = (service: Reading, vehicle: Reading): number =>
    serviceLimit_mA - (service.value - Math.max(0, -vehicle.value));
  const least_mA = Math.min(sourceLimit_mA, room(serviceL1, vehicleL1), room(serviceL2, vehicleL2));
  return Math.max(0, Math.floor(least_mA / 1000));
}
