import { assign, cancel, raise, setup } from 'xstate';
import { CHART_OPTIONS } from './chart.ts';
import type { Cause } from './piece.ts';

/** States of the chart, by the value of the channel `mode`. */
export const PV_MODES = ['off', 'waiting', 'starting', 'running', 'cessation', 'tripped', 'not permitted'] as const;
export type PvMode = (typeof PV_MODES)[number];

export interface PvChartInput {
  readonly initial: 'running' | 'out';
  readonly sunny: boolean;
  readonly permitted: boolean;
  readonly enterDelay_us: number;
  readonly permitDelay_us: number;
  /** Extra delay of one count, µs. */
  readonly drawExtra_us: () => number;
}

interface Context extends PvChartInput {
  /** Voltage and frequency stand inside the enter-service window. */
  readonly inside: boolean;
  readonly stuckOn: boolean;
  readonly ramped: boolean;
  /** Whose order took the permit away. */
  readonly permitCause: Cause;
}

export type PvEvent =
  | { readonly type: 'sun'; readonly up: boolean; readonly cause: Cause }
  | { readonly type: 'permit'; readonly given: boolean; readonly cause: Cause }
  | { readonly type: 'permit lost' }
  | { readonly type: 'window'; readonly inside: boolean }
  | { readonly type: 'trip'; readonly row: string; readonly cause: Cause }
  | { readonly type: 'cease' }
  | { readonly type: 'recover' }
  | { readonly type: 'ramped' }
  | { readonly type: 'start'; readonly cause: Cause }
  | { readonly type: 'stick on' };

const EQUIPMENT: Cause = { origin: 'equipment', number: undefined };

/**
 * What the source may do just now. Physics, windows and trip timers stand outside: they send what they have found.
 *
 * Effects (`enter`, `leave`, `pause`, `resume`) are provided by the piece. Momentary cessation keeps the right to come
 * back at once; each other way out leads through a full count of the enter-service delay.
 */
export const pvChart = setup({
  types: { context: {} as Context, events: {} as PvEvent, input: {} as PvChartInput },
  actions: {
    enter: (_, _params: { cause: Cause }) => {},
    leave: (_, _params: { row: string | undefined; cause: Cause }) => {},
    pause: () => {},
    resume: () => {},
  },
  guards: {
    dark: ({ context }) => !context.sunny,
    forbidden: ({ context }) => !context.permitted && !context.stuckOn,
    ready: ({ context }) => context.sunny && (context.permitted || context.stuckOn),
    inside: ({ context }) => context.inside,
    outside: ({ context }) => !context.inside,
    ramped: ({ context }) => context.ramped,
  },
  delays: {
    enterService: ({ context }) => (context.enterDelay_us + context.drawExtra_us()) / 1000,
    permit: ({ context }) => context.permitDelay_us / 1000,
  },
}).createMachine({
  id: 'pv',
  options: CHART_OPTIONS,
  context: ({ input }) => ({
    ...input,
    inside: false,
    stuckOn: false,
    ramped: true,
    permitCause: EQUIPMENT,
  }),
  initial: 'choosing',
  on: {
    sun: { actions: assign({ sunny: ({ event }) => event.up }) },
    permit: { actions: assign({ permitted: ({ event }) => event.given }) },
    window: { actions: assign({ inside: ({ event }) => event.inside }) },
    'stick on': { actions: assign({ stuckOn: true }) },
  },
  states: {
    choosing: { always: [{ guard: ({ context }) => context.initial === 'running', target: 'serving.running' }, 'out'] },
    out: {
      initial: 'off',
      on: {
        start: {
          guard: 'ready',
          target: '#pv.serving.starting',
          actions: [assign({ ramped: false }), { type: 'enter', params: ({ event }) => ({ cause: event.cause }) }],
        },
      },
      states: {
        off: {
          always: [
            { guard: 'forbidden', target: 'not permitted' },
            { guard: 'ready', target: 'waiting' },
          ],
        },
        'not permitted': { always: [{ guard: 'ready', target: 'waiting' }] },
        tripped: {
          always: [
            { guard: 'forbidden', target: 'not permitted' },
            { guard: 'dark', target: 'off' },
            { guard: 'inside', target: 'waiting' },
          ],
        },
        waiting: {
          initial: 'outside',
          always: [
            { guard: 'forbidden', target: 'not permitted' },
            { guard: 'dark', target: 'off' },
          ],
          states: {
            outside: { always: { guard: 'inside', target: 'counting' } },
            counting: {
              always: { guard: 'outside', target: 'outside' },
              after: {
                enterService: {
                  target: '#pv.serving.starting',
                  actions: [assign({ ramped: false }), { type: 'enter', params: { cause: EQUIPMENT } }],
                },
              },
            },
          },
        },
      },
    },
    serving: {
      initial: 'starting',
      exit: assign({ inside: false }),
      on: {
        trip: {
          target: 'out.tripped',
          actions: [
            cancel('permit'),
            { type: 'leave', params: ({ event }) => ({ row: event.row, cause: event.cause }) },
          ],
        },
        sun: [
          {
            guard: ({ event }) => !event.up,
            target: 'out.off',
            actions: [
              cancel('permit'),
              assign({ sunny: false }),
              { type: 'leave', params: ({ event }) => ({ row: undefined, cause: event.cause }) },
            ],
          },
          { actions: assign({ sunny: true }) },
        ],
        permit: [
          { guard: ({ event }) => event.given, actions: [cancel('permit'), assign({ permitted: true })] },
          {
            guard: ({ context }) => context.stuckOn || !context.permitted,
            actions: assign({ permitted: false }),
          },
          {
            actions: [
              assign({ permitted: false, permitCause: ({ event }) => event.cause }),
              raise({ type: 'permit lost' }, { delay: 'permit', id: 'permit' }),
            ],
          },
        ],
        'permit lost': {
          guard: ({ context }) => !context.stuckOn,
          target: 'out.not permitted',
          actions: { type: 'leave', params: ({ context }) => ({ row: 'PERMIT', cause: context.permitCause }) },
        },
        ramped: { actions: assign({ ramped: true }) },
      },
      states: {
        starting: { always: { guard: 'ramped', target: 'running' }, on: { cease: 'cessation' } },
        running: { on: { cease: 'cessation' } },
        cessation: {
          entry: 'pause',
          on: { recover: { target: 'starting', actions: 'resume' } },
        },
      },
    },
  },
});

/** Mode by the value of the chart's snapshot. */
export function modeOf(value: unknown): PvMode {
  const inner =
    typeof value === 'object' && value !== null ? Object.values(value as Record<string, unknown>)[0] : 'off';
  const name = typeof inner === 'object' && inner !== null ? Object.keys(inner)[0] : inner;
  return PV_MODES.find((mode) => mode === name) ?? 'off';
}
