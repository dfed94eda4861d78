import { assign, setup, stateIn } from 'xstate';
import type { ReasonName } from './reference-reasons.ts';
import { VIEW_FLAGS, type View, type ViewFlag } from './view.ts';

/** Timings (ms, as xstate counts) and policies of the reference controller. */
export interface ChartSettings {
  readonly times_ms: Readonly<Record<TimeName, number>>;
  /** What an exporting house owes the utility by the category of its inverters, and what any house takes: three bands. */
  readonly ride_ms: { readonly low: number; readonly mid: number; readonly shallow: number };
  readonly handOpening: 'isolation' | 'outage';
  readonly formWhenHandOpenedUnknown: boolean;
  readonly transition: 'open' | 'closed';
  readonly stuckContact: 'lockout' | 'voltage test';
  readonly atReserve: 'stop' | 'spend';
  readonly surplus: 'withdraw' | 'curtail';
  readonly openNeutral: 'person' | 'try';
  readonly chargeOnUtility: boolean;
  /** Number of shed contacts that carry a load. */
  readonly sheds: number;
}

export const TIME_NAMES = [
  'outageDeep',
  'outageShallow',
  'ceaseWait',
  'proveTime',
  'separation',
  'formTime',
  'returnGood',
  'requestLapse',
  'testTime',
  'testHold',
  'neutralTravel',
  'sourceTime',
  'wakeTime',
  'islandSettle',
  'islandLow',
  'neutralWide',
  'neutralApart',
  'rest',
  'formAgain',
  'closeAgain',
  'restartWindow',
  'shedAfter',
  'shedPressed',
  'unshedAfter',
  'exportMemory',
  'unusualAfter',
  'syncTime',
  'chargeRaise',
] as const;
export type TimeName = (typeof TIME_NAMES)[number];

export interface Memory {
  readonly settings: ChartSettings;
  readonly view: View;
  /** Lockout outlives a loss of supply: only a person ends it. */
  readonly lockedBefore: boolean;
  /** Whether the house gave power to the utility just before the disturbance: then it owes the ride-through time. */
  readonly exportedBefore: boolean;
  /** The poles count as open though a contact does not say so: policy, and only until the relay has moved again. */
  readonly overruled: boolean;
  readonly formTries: number;
  readonly closeTries: number;
  /** Short circuits that have stopped the source since the house left. */
  readonly shorts: number;
  /** The neutral former is in by the chart's own order: it stays, so that a further try does not make it anew. */
  readonly neutralKept: boolean;
  readonly shed: number;
  readonly chargeLimit_A: number;
  /** What the disturbance looked like, and what has gone wrong since. */
  readonly diagnosis: ReasonName;
  readonly because: ReasonName;
}

export interface ChartInput {
  readonly settings: ChartSettings;
  readonly view: View;
  readonly lockedBefore: boolean;
  readonly because: ReasonName;
}

export interface ScanEvent {
  readonly type: 'scan';
  readonly view: View;
}

/** Tries of forming, and of closing, in a row. */
const TRIES_max = 3;
/** Short circuits after which nobody starts the source again: one restart onto a fault, no more. */
const SHORTS_max = 2;
/** Lowest current that the control pilot can ask for, and how much more room a raise or a new start wants. */
const PILOT_A = 6;
const RAISE_A = 2;

type Told = { context: Memory };
const flags = Object.fromEntries(
  VIEW_FLAGS.map((name) => [name, ({ context }: Told): boolean => context.view[name]]),
) as Record<ViewFlag, (told: Told) => boolean>;

const isDeep = ({ view, exportedBefore }: Memory): boolean => (exportedBefore ? view.lineLow : view.belowDeep);
const hasSource = ({ view }: Memory): boolean => view.sourceThere && view.commissioned;
const triesLeft = ({ formTries, shorts }: Memory): boolean => formTries < TRIES_max && shorts < SHORTS_max;
const isSpent = ({ settings }: Memory): boolean => settings.atReserve === 'stop';
/** Where nobody knows the main's position, an opening by hand looks like an outage; a site may take each for one by hand. */
const standsDown = ({ view, settings }: Memory): boolean =>
  settings.handOpening === 'isolation' &&
  (view.mainOpen || (view.mainUnknown && !settings.formWhenHandOpenedUnknown && !view.good));

/** What the view says, what the memory says, and in which state another region is. */
export const referenceParts = setup({
  types: {
    context: {} as Memory,
    input: {} as ChartInput,
    events: {} as ScanEvent,
  },
  guards: {
    ...flags,
    deep: ({ context }) => isDeep(context),
    mid: ({ context }) => context.exportedBefore && context.view.lineMid && !context.view.lineLow,
    isolated: ({ context: { view, overruled } }) => view.openProved || (overruled && !view.closedProved),
    islandRuns: ({ context: { view } }) => view.openProved && view.houseGood && view.sourceJoined,
    lockedBefore: ({ context }) => context.lockedBefore,
    standsDown: ({ context }) => standsDown(context),
    handOutage: ({ context }) => context.view.mainOpen && context.settings.handOpening === 'outage',
    mainClosed: ({ context }) => !context.view.mainOpen,
    hasSource: ({ context }) => hasSource(context),
    leavesForIt: ({ context }) => hasSource(context) && (context.view.sourceAwake || context.diagnosis === 'outage'),
    harmful: ({ context: { view } }) => view.tooHigh || view.neutralMoved,
    triesLeft: ({ context }) => triesLeft(context),
    hasNotTried: ({ context }) => context.because === 'none',
    hasFailed: ({ context }) => context.formTries + context.closeTries + context.shorts > 0,
    hasShorted: ({ context }) => context.shorts > 0,
    hasFailedToClose: ({ context }) => context.closeTries > 0,
    keepsNeutral: ({ context }) => context.neutralKept,
    closeRested: stateIn({ pause: 'over' }),
    partingNeutral: stateIn({ transfer: 'partingNeutral' }),
    meeting: stateIn({ transfer: 'meeting' }),
    canCloseAgain: ({ context }) => context.closeTries < TRIES_max && context.view.supplied,
    mayOverrule: ({ context }) => context.settings.stuckContact === 'voltage test' && context.view.proofsFresh,
    closedTransition: ({ context }) => context.settings.transition === 'closed',
    reserveStops: ({ context }) => isSpent(context),
    triesNeutral: ({ context }) => context.settings.openNeutral === 'try',
    withdraws: ({ context }) => context.settings.surplus === 'withdraw' || context.view.shiftSpent,
    canShed: ({ context }) => context.shed < context.settings.sheds,
    hasShed: ({ context }) => context.shed > 0,
    chargeWanted: ({ context: { settings, view } }) =>
      settings.chargeOnUtility && view.commissioned && view.sourceThere && !view.chargeFull,
    roomToStart: ({ context }) => context.view.chargeRoom_A >= PILOT_A + RAISE_A,
    roomGone: ({ context }) => context.view.chargeRoom_A < PILOT_A,
    mustLower: ({ context }) => context.view.chargeRoom_A < context.chargeLimit_A,
    mayRaise: ({ context }) => context.view.chargeRoom_A >= context.chargeLimit_A + RAISE_A,
    utilityLost: stateIn({ supply: 'lost' }),
    utilitySound: stateIn({ supply: 'sound' }),
    exported: stateIn({ flow: 'exporting' }),
    exportEbbs: stateIn({ flow: 'ebbing' }),
    returnQualified: stateIn({ return: 'qualified' }),
    polesTrusted: stateIn({ poles: 'trusted' }),
    neutralTrusted: stateIn({ service: 'trusted' }),
    asked: stateIn({ request: 'asked' }),
    islanded: stateIn({ transfer: 'islanded' }),
    onUtility: stateIn({ transfer: 'onUtility' }),
    islandLost: stateIn({ house: 'lost' }),
    islandUnheld: stateIn({ house: 'unheld' }),
    reserveReached: stateIn({ charge: 'spent' }),
    sheddingAll: stateIn({ charge: 'low' }),
    batteryFull: stateIn({ room: 'none' }),
  },
  actions: {
    look: assign({ view: ({ event }) => event.view }),
    rememberExport: assign({ exportedBefore: true }),
    forgetExport: assign({ exportedBefore: false }),
    rememberDiagnosis: assign({ diagnosis: ({ context }) => diagnosisOf(context.view) }),
    rememberHand: assign({ diagnosis: 'handOpened' }),
    because: assign({ because: (_, { why }: { why: ReasonName }) => why }),
    countFormTry: assign({ formTries: ({ context }) => context.formTries + 1 }),
    countCloseTry: assign({ closeTries: ({ context }) => context.closeTries + 1 }),
    countShort: assign({ shorts: ({ context }) => context.shorts + 1 }),
    keepNeutral: assign({ neutralKept: true }),
    dropNeutral: assign({ neutralKept: false }),
    forgetFormTries: assign({ formTries: 0 }),
    forgetTries: assign({ formTries: 0, closeTries: 0, shorts: 0 }),
    forgetAll: assign({ formTries: 0, closeTries: 0, shorts: 0, shed: 0, because: 'none', lockedBefore: false }),
    overrule: assign({ overruled: true }),
    trustContacts: assign({ overruled: false }),
    shedOne: assign({ shed: ({ context }) => context.shed + 1 }),
    shedAll: assign({ shed: ({ context }) => context.settings.sheds }),
    unshedOne: assign({ shed: ({ context }) => context.shed - 1 }),
    takeRoom: assign({ chargeLimit_A: ({ context }) => context.view.chargeRoom_A }),
    noCharge: assign({ chargeLimit_A: 0 }),
  },
  delays: {
    ...delaysOf(),
    /** The exporting house waits as long as its inverters must; never less than any other house. */
    outageLow: ({ context: { settings, exportedBefore } }) =>
      exportedBefore ? Math.max(settings.times_ms.outageDeep, settings.ride_ms.low) : settings.times_ms.outageDeep,
    outageMid: ({ context: { settings } }) => Math.max(settings.times_ms.outageDeep, settings.ride_ms.mid),
    outageAny: ({ context: { settings, exportedBefore } }) =>
      exportedBefore
        ? Math.max(settings.times_ms.outageShallow, settings.ride_ms.shallow)
        : settings.times_ms.outageShallow,
    sourceComes: ({ context: { settings, view } }) =>
      view.sourceAwake ? settings.times_ms.sourceTime : settings.times_ms.wakeTime,
  },
});

/** What a disturbance is called: by line to line and by how the legs stand to each other. */
function diagnosisOf(view: View): ReasonName {
  if (view.mainOpen) return 'handOpened';
  if (view.neutralMoved) return 'openNeutral';
  if (view.legLost) return 'oneLegLost';
  if (view.tooHigh) return 'overvoltage';
  return view.belowDeep ? 'outage' : 'lowVoltage';
}

function delaysOf(): Record<TimeName, (told: Told) => number> {
  return Object.fromEntries(
    TIME_NAMES.map((name) => [name, ({ context }: Told): number => context.settings.times_ms[name]]),
  ) as Record<TimeName, (told: Told) => number>;
}
