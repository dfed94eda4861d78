import { and, assign, setup, stateIn } from 'xstate';
import type { View } from './view.ts';

/** Timings and policies of the reference controller; ms, as xstate counts. */
export interface ChartSettings {
  readonly outageDeep_ms: number;
  readonly outageShallow_ms: number;
  readonly rideThroughShallow_ms: number;
  readonly ceaseWait_ms: number;
  readonly prove_ms: number;
  readonly separation_ms: number;
  readonly form_ms: number;
  readonly returnGood_ms: number;
  readonly requestLapse_ms: number;
  readonly handOpening: 'isolation' | 'outage';
}

interface Memory {
  readonly settings: ChartSettings;
  readonly view: View | undefined;
  /** Whether the house gave power to the utility just before the disturbance: then it owes the ride-through time. */
  readonly exportedBefore: boolean;
  readonly formTries: number;
  readonly closeTries: number;
}

const TRIES_max = 3;
const seen =
  (test: (view: View) => boolean) =>
  ({ context }: { context: Memory }): boolean =>
    context.view !== undefined && test(context.view);

const parts = setup({
  types: {
    context: {} as Memory,
    input: {} as ChartSettings,
    events: {} as { type: 'scan'; view: View },
  },
  guards: {
    deep: seen((view) => view.deep),
    shallow: seen((view) => view.shallow && !view.deep),
    sound: seen((view) => !view.deep && !view.shallow),
    good: seen((view) => view.good),
    notGood: seen((view) => !view.good),
    utilityLost: stateIn({ supply: 'lost' }),
    utilitySound: stateIn({ supply: 'sound' }),
    returnQualified: stateIn({ return: 'qualified' }),
    returnBroken: seen((view) => !view.good),
    handOpenedForOutage: ({ context }) => context.view?.mainOpen === true && context.settings.handOpening === 'outage',
    handOpenedForIsolation: ({ context }) =>
      context.view?.mainOpen === true && context.settings.handOpening === 'isolation',
    mainClosed: seen((view) => !view.mainOpen),
    pvCeased: seen((view) => view.pvCeased),
    openProved: seen((view) => view.openProved),
    openLost: seen((view) => !view.openProved),
    closedProved: seen((view) => view.closedProved),
    closedLost: seen((view) => !view.closedProved),
    islandRuns: seen((view) => view.openProved && view.houseGood),
    houseDead: seen((view) => view.houseDead),
    houseLive: seen((view) => !view.houseDead),
    houseGood: seen((view) => view.houseGood),
    neutralIn: seen((view) => view.neutralIn),
    neutralLost: seen((view) => !view.neutralIn),
    neutralOut: seen((view) => view.neutralOut),
    canForm: ({ context }) => canForm(context),
    cannotForm: ({ context }) => context.view !== undefined && !canForm(context),
    canFormAgain: ({ context }) => canForm(context) && context.formTries < TRIES_max,
    canCloseAgain: ({ context }) => context.closeTries < TRIES_max,
    askedToFormOnSite: ({ context }) => canForm(context) && context.view?.asked === 'form' && context.view.onSite,
    askedToReset: seen((view) => view.asked === 'reset'),
  },
  actions: {
    look: assign({ view: ({ event }) => event.view }),
    rememberExport: assign({ exportedBefore: ({ context }) => context.view?.exporting === true }),
    countFormTry: assign({ formTries: ({ context }) => context.formTries + 1 }),
    countCloseTry: assign({ closeTries: ({ context }) => context.closeTries + 1 }),
    forgetTries: assign({ formTries: 0, closeTries: 0 }),
  },
  delays: {
    outageDeep: ({ context }) => context.settings.outageDeep_ms,
    outageShallow: ({ context: { settings, exportedBefore } }) =>
      exportedBefore ? Math.max(settings.rideThroughShallow_ms, settings.outageShallow_ms) : settings.outageShallow_ms,
    ceaseWait: ({ context }) => context.settings.ceaseWait_ms,
    prove: ({ context }) => context.settings.prove_ms,
    separation: ({ context }) => context.settings.separation_ms,
    form: ({ context }) => context.settings.form_ms,
    returnGood: ({ context }) => context.settings.returnGood_ms,
    contradiction: 100,
    patience: 10_000,
  },
});

function canForm({ view }: Memory): boolean {
  return view?.sourceReady === true && !view.sourceFault && view.commissioned;
}

/**
 * The transfer logic as a chart in plain data: guards, actions and delays by name, so that it can be drawn, explained and
 * sabotaged. Three regions: what the utility does, whether it has been good for long enough, and the transfer itself.
 *
 * The order is always the same. Away: charge stops, PV permit off, PV ceased (at most 2 s, then anyway), relay open,
 * proved, bus dead, neutral formed, source forms, PV permitted. Back: permit off, ceased, source stops, bus dead, neutral
 * out, relay closes. Everything is decided in a scan: it brings a view, and the guards look at it.
 */
export const referenceChart = parts.createMachine({
  id: 'reference',
  context: ({ input }) => ({ settings: input, view: undefined, exportedBefore: false, formTries: 0, closeTries: 0 }),
  type: 'parallel',
  on: { scan: { actions: 'look' } },
  states: {
    supply: {
      initial: 'unknown',
      states: {
        unknown: {
          always: [
            { guard: 'deep', target: 'deep' },
            { guard: 'shallow', target: 'shallow' },
            { guard: 'sound', target: 'sound' },
          ],
        },
        sound: {
          always: [
            { guard: 'deep', target: 'deep' },
            { guard: 'shallow', target: 'shallow' },
          ],
          exit: 'rememberExport',
        },
        deep: {
          after: { outageDeep: 'lost' },
          always: [
            { guard: 'sound', target: 'sound' },
            { guard: 'shallow', target: 'shallow' },
          ],
        },
        shallow: {
          after: { outageShallow: 'lost' },
          always: [
            { guard: 'sound', target: 'sound' },
            { guard: 'deep', target: 'deep' },
          ],
        },
        lost: { always: { guard: 'sound', target: 'sound' } },
      },
    },
    return: {
      initial: 'broken',
      states: {
        broken: { always: { guard: 'good', target: 'counting' } },
        counting: { after: { returnGood: 'qualified' }, always: { guard: 'notGood', target: 'broken' } },
        qualified: { always: { guard: 'notGood', target: 'broken' } },
      },
    },
    transfer: {
      initial: 'booting',
      states: {
        // The position is unknown until it is read; nothing is ordered that would change it.
        booting: {
          always: [
            { guard: 'closedProved', target: 'onUtility' },
            { guard: 'islandRuns', target: 'islanded' },
            { guard: 'openProved', target: 'dark' },
          ],
          after: { prove: 'locked' },
        },
        onUtility: {
          entry: 'forgetTries',
          initial: 'proved',
          states: {
            proved: { always: { guard: 'closedLost', target: 'unproved' } },
            unproved: {
              always: { guard: 'closedProved', target: 'proved' },
              after: { contradiction: '#reference.transfer.locked' },
            },
          },
          always: [
            { guard: 'handOpenedForIsolation', target: 'standingDown' },
            { guard: 'handOpenedForOutage', target: 'leaving' },
            { guard: and(['utilityLost', 'canForm']), target: 'leaving' },
          ],
        },
        leaving: {
          always: [
            { guard: and(['utilitySound', 'mainClosed']), target: 'onUtility' },
            { guard: 'pvCeased', target: 'isolating' },
          ],
          after: { ceaseWait: 'isolating' },
        },
        isolating: {
          always: { guard: 'openProved', target: 'awaitingDeadBus' },
          after: { prove: 'locked' },
        },
        awaitingDeadBus: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'houseDead', target: 'deadBus' },
          ],
          after: { patience: 'locked' },
        },
        deadBus: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'houseLive', target: 'awaitingDeadBus' },
          ],
          after: { separation: 'formingNeutral' },
        },
        formingNeutral: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'cannotForm', target: 'dark' },
            { guard: 'neutralIn', target: 'forming' },
          ],
          after: { prove: 'dark' },
        },
        forming: {
          entry: 'countFormTry',
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'neutralLost', target: 'dark' },
            { guard: 'cannotForm', target: 'dark' },
            { guard: 'houseGood', target: 'islanded' },
          ],
          after: { form: 'dark' },
        },
        islanded: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'neutralLost', target: 'dark' },
            { guard: 'cannotForm', target: 'dark' },
            { guard: and(['returnQualified', 'mainClosed']), target: 'returning' },
          ],
        },
        returning: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'returnBroken', target: 'islanded' },
            { guard: 'neutralLost', target: 'dark' },
            { guard: 'pvCeased', target: 'stopping' },
          ],
          after: { ceaseWait: 'stopping' },
        },
        stopping: {
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: 'houseDead', target: 'partingNeutral' },
          ],
          after: { patience: 'locked' },
        },
        partingNeutral: {
          always: [
            { guard: 'returnBroken', target: 'awaitingDeadBus' },
            { guard: 'neutralOut', target: 'closing' },
          ],
          after: { patience: 'locked' },
        },
        closing: {
          entry: 'countCloseTry',
          always: { guard: 'closedProved', target: 'onUtility' },
          after: { prove: [{ guard: 'openProved', target: 'notClosed' }, { target: 'locked' }] },
        },
        // It would not close: the coil rests, then another try; after the third the island is formed anew.
        notClosed: {
          after: {
            patience: [
              { guard: and(['canCloseAgain', 'returnQualified']), target: 'stopping' },
              { target: 'awaitingDeadBus' },
            ],
          },
        },
        standingDown: {
          always: { guard: 'pvCeased', target: 'openedByHand' },
          after: { ceaseWait: 'openedByHand' },
        },
        // Somebody may be working on the line: dark until the main is closed again or a person on the spot asks.
        openedByHand: {
          initial: 'parting',
          states: {
            parting: {
              always: { guard: 'openProved', target: 'parted' },
              after: { prove: '#reference.transfer.locked' },
            },
            parted: { always: { guard: 'openLost', target: '#reference.transfer.locked' } },
          },
          always: [
            { guard: and(['askedToFormOnSite', 'openProved']), target: 'awaitingDeadBus' },
            { guard: and(['returnQualified', 'mainClosed', 'openProved']), target: 'stopping' },
          ],
        },
        // Relay open, nobody forms. Never for good: the utility's return ends it, and so does a source that can.
        dark: {
          initial: 'resting',
          states: {
            resting: { after: { patience: 'ready' } },
            ready: { always: { guard: 'canFormAgain', target: '#reference.transfer.awaitingDeadBus' } },
          },
          always: [
            { guard: 'openLost', target: 'locked' },
            { guard: and(['returnQualified', 'mainClosed']), target: 'stopping' },
          ],
        },
        locked: { always: { guard: 'askedToReset', target: 'booting' } },
      },
    },
  },
});

export type TransferState =
  | 'booting'
  | 'onUtility'
  | 'leaving'
  | 'isolating'
  | 'awaitingDeadBus'
  | 'deadBus'
  | 'formingNeutral'
  | 'forming'
  | 'islanded'
  | 'returning'
  | 'stopping'
  | 'partingNeutral'
  | 'closing'
  | 'notClosed'
  | 'standingDown'
  | 'openedByHand'
  | 'dark'
  | 'locked';
