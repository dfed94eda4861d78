import { assign, setup } from 'xstate';
import type { Cause } from './piece.ts';

/** Codes of the gateway's vehicle order, as its boundary table has them. */
export const COMMAND = { idle: 0, charge: 1, discharge: 2, testVoltage: 3, form: 4, stop: 5 } as const;
/** Fault codes as the boundary table has them: a test holds the two together. */
export const VEHICLE_FAULTS = {
  none: 0,
  overload: 1,
  undervoltage: 2,
  notProven: 3,
  earthFault: 4,
  neutralLost: 5,
  overcharge: 6,
  link: 7,
  internal: 8,
  empty: 9,
} as const;

/** States of the chart, by the value of the channel `mode`. */
export const VEHICLE_MODES = [
  'unplugged',
  'asleep',
  'booting',
  'idle',
  'closing',
  'charging',
  'discharging',
  'testing',
  'forming',
  'easing',
  'opening',
  'stopped',
  'faulted',
  'leaving',
  'releasing',
] as const;
export type VehicleMode = (typeof VEHICLE_MODES)[number];
/** What it does with its output contact closed. */
export type Work = 'charging' | 'discharging' | 'testing' | 'forming';

export interface VehicleTimes {
  readonly boot_us: number;
  /** Idle for so long it goes to sleep; 0: never. */
  readonly sleepAfter_us: number;
  readonly contactorClose_us: number;
  readonly contactorOpen_us: number;
  readonly pilotLoss_us: number;
  /** Longest wait for the current to fall before the contactor opens all the same. */
  readonly ease_us: number;
  readonly retryDelay_us: number;
  /** Formed for so long, the count of retries starts over. */
  readonly retryReset_us: number;
}

export interface VehicleChartInput extends VehicleTimes {
  readonly initial: 'unplugged' | 'asleep' | 'idle' | Work;
  readonly command: number;
  readonly retries: number;
  /** Whether the rest of the vehicle lets a command be carried out just now. */
  readonly allows: (command: number) => boolean;
  /** From the open contactor until the plug can be drawn. */
  readonly release_us: () => number;
}

interface Context extends VehicleChartInput {
  readonly cause: Cause;
  readonly fault: number;
  readonly mayRetry: boolean;
  /** A fault that only a person clears. */
  readonly hard: boolean;
  readonly retriesLeft: number;
  /** Times that it formed again by itself. */
  readonly restarts: number;
  /** A person wants the plug out: whatever is ordered, it ends, opens, unlocks. */
  readonly leaves: boolean;
}

export type VehicleEvent =
  | { readonly type: 'order'; readonly command: number; readonly cause: Cause }
  | { readonly type: 'plug' | 'unplug' | 'leave' | 'sleep' | 'wake' | 'clear'; readonly cause: Cause }
  /** Own protection: `retry` says whether it may try again by itself. */
  | { readonly type: 'stop itself'; readonly code: number; readonly retry: boolean; readonly cause: Cause }
  | { readonly type: 'fault'; readonly code: number; readonly cause: Cause }
  /** The voltage that it follows is no good: it lets go, and may come back when `allows` says so. */
  | { readonly type: 'let go'; readonly cause: Cause }
  /** The current has fallen far enough to open the contactor. */
  | { readonly type: 'eased' }
  /** Something that `allows` rests on has changed. */
  | { readonly type: 'look' };

const shows = (mode: VehicleMode) => ({ type: 'shows' as const, params: { mode } });
const NOBODY: Cause = { origin: 'equipment', number: undefined };
const wants = (context: Context, command: number): boolean =>
  context.command === command && !context.leaves && context.allows(command);

/**
 * Plug, sleep, supply contactor and the four things a vehicle can do with it.
 *
 * An order is a level: what stands is carried out as soon as it may be. Effects are provided by the piece. Charge and
 * discharge end by a ramp down before the contactor opens; forming ends at once.
 */
export const vehicleChart = setup({
  types: { context: {} as Context, events: {} as VehicleEvent, input: {} as VehicleChartInput },
  actions: {
    begin: (_, _params: { work: Work; cause: Cause }) => {},
    ease: () => {},
    cease: (_, _params: { cause: Cause }) => {},
    close: (_, _params: { cause: Cause }) => {},
    open: (_, _params: { cause: Cause }) => {},
    release: (_, _params: { cause: Cause }) => {},
    drawn: (_, _params: { cause: Cause }) => {},
    shows: (_, _params: { mode: VehicleMode }) => {},
    takesFault: assign(({ event }) =>
      event.type === 'fault' || event.type === 'stop itself'
        ? {
            fault: event.code,
            cause: event.cause,
            hard: event.type === 'fault',
            mayRetry: event.type === 'stop itself' && event.retry,
          }
        : {},
    ),
    forgetsFault: assign({ fault: 0, mayRetry: false, hard: false }),
    takesCause: assign(({ event }) => ('cause' in event ? { cause: event.cause } : {})),
    becauseOfItself: assign({ cause: NOBODY }),
  },
  guards: {
    leaves: ({ context }) => context.leaves,
    called: ({ context }) => context.command >= COMMAND.charge && context.command <= COMMAND.form,
    wanted: ({ context }) =>
      context.command >= COMMAND.charge && context.command <= COMMAND.form && context.allows(context.command),
    charge: ({ context }) => wants(context, COMMAND.charge),
    discharge: ({ context }) => wants(context, COMMAND.discharge),
    test: ({ context }) => wants(context, COMMAND.testVoltage),
    form: ({ context }) => wants(context, COMMAND.form),
    released: ({ context }) => context.command === COMMAND.idle || context.command === COMMAND.stop,
    sleeps: ({ context }) => context.sleepAfter_us > 0,
    hardFault: ({ context }) => context.fault !== 0 && context.hard,
    softFault: ({ context }) => context.fault !== 0,
    retries: ({ context }) => context.mayRetry && context.retriesLeft > 0 && context.command === COMMAND.form,
  },
  delays: {
    boot: ({ context }) => context.boot_us / 1000,
    sleepAfter: ({ context }) => context.sleepAfter_us / 1000,
    contactorClose: ({ context }) => context.contactorClose_us / 1000,
    contactorOpen: ({ context }) => context.contactorOpen_us / 1000,
    pilotLoss: ({ context }) => context.pilotLoss_us / 1000,
    easeTime: ({ context }) => context.ease_us / 1000,
    retryDelay: ({ context }) => context.retryDelay_us / 1000,
    retryReset: ({ context }) => context.retryReset_us / 1000,
    release: ({ context }) => context.release_us() / 1000,
  },
}).createMachine({
  id: 'vehicle',
  context: ({ input }) => ({
    ...input,
    cause: NOBODY,
    fault: 0,
    mayRetry: false,
    hard: false,
    retriesLeft: input.retries,
    restarts: 0,
    leaves: false,
  }),
  initial: 'choosing',
  on: {
    order: {
      actions: assign({
        command: ({ event }) => event.command,
        // While a person takes the plug out, what still happens is because of that.
        cause: ({ event, context }) => (context.leaves ? context.cause : event.cause),
      }),
    },
  },
  states: {
    choosing: {
      always: [
        { guard: ({ context }) => context.initial === 'unplugged', target: 'unplugged' },
        { guard: ({ context }) => context.initial === 'asleep', target: 'plugged.asleep' },
        { guard: ({ context }) => context.initial === 'charging', target: 'plugged.joined.charging' },
        { guard: ({ context }) => context.initial === 'discharging', target: 'plugged.joined.discharging' },
        { guard: ({ context }) => context.initial === 'testing', target: 'plugged.joined.testing' },
        { guard: ({ context }) => context.initial === 'forming', target: 'plugged.joined.forming' },
        { target: 'plugged.idle' },
      ],
    },
    unplugged: {
      entry: [assign({ leaves: false }), shows('unplugged')],
      on: { plug: { target: 'plugged.booting', actions: 'takesCause' } },
    },
    leaving: {
      entry: shows('leaving'),
      // The pilot is lost and its contactor on the way: an order that arrives now changes nothing of why it opens.
      on: { order: { actions: assign({ command: ({ event }) => event.command }) } },
      after: { pilotLoss: 'unplugged' },
      exit: [
        { type: 'cease', params: ({ context }) => ({ cause: context.cause }) },
        { type: 'open', params: ({ context }) => ({ cause: context.cause }) },
      ],
    },
    plugged: {
      initial: 'idle',
      on: {
        unplug: { target: 'leaving', actions: 'takesCause' },
        leave: { actions: ['takesCause', assign({ leaves: true })] },
        fault: { target: '.opening', actions: 'takesFault' },
      },
      states: {
        asleep: {
          entry: shows('asleep'),
          always: [
            { guard: 'leaves', target: 'releasing' },
            { guard: 'called', target: 'booting' },
          ],
          on: { wake: 'booting' },
        },
        booting: {
          entry: shows('booting'),
          always: { guard: 'leaves', target: 'releasing' },
          after: { boot: 'idle' },
        },
        idle: {
          entry: shows('idle'),
          always: [
            { guard: 'leaves', target: 'releasing' },
            { guard: 'wanted', target: 'closing' },
          ],
          after: { sleepAfter: { guard: 'sleeps', target: 'asleep' } },
          on: { sleep: 'asleep', look: {} },
        },
        closing: {
          entry: shows('closing'),
          always: {
            guard: ({ context }) =>
              context.leaves ||
              context.command === COMMAND.idle ||
              context.command === COMMAND.stop ||
              !context.allows(context.command),
            target: 'idle',
          },
          after: {
            contactorClose: [
              { guard: 'charge', target: 'joined.charging' },
              { guard: 'discharge', target: 'joined.discharging' },
              { guard: 'test', target: 'joined.testing' },
              { guard: 'form', target: 'joined.forming' },
            ],
          },
          on: { look: {} },
        },
        joined: {
          initial: 'charging',
          entry: { type: 'close', params: ({ context }) => ({ cause: context.cause }) },
          on: {
            'let go': { target: 'opening', actions: 'takesCause' },
            'stop itself': { target: 'opening', actions: 'takesFault' },
            look: {},
          },
          states: {
            charging: {
              entry: [
                { type: 'begin', params: ({ context }) => ({ work: 'charging', cause: context.cause }) },
                shows('charging'),
              ],
              always: { guard: ({ context }) => !wants(context, COMMAND.charge), target: '#vehicle.plugged.easing' },
            },
            discharging: {
              entry: [
                { type: 'begin', params: ({ context }) => ({ work: 'discharging', cause: context.cause }) },
                shows('discharging'),
              ],
              always: { guard: ({ context }) => !wants(context, COMMAND.discharge), target: '#vehicle.plugged.easing' },
            },
            testing: {
              entry: [
                { type: 'begin', params: ({ context }) => ({ work: 'testing', cause: context.cause }) },
                shows('testing'),
              ],
              always: [
                { guard: 'form', target: 'forming' },
                { guard: ({ context }) => !wants(context, COMMAND.testVoltage), target: '#vehicle.plugged.opening' },
              ],
            },
            forming: {
              entry: [
                { type: 'begin', params: ({ context }) => ({ work: 'forming', cause: context.cause }) },
                shows('forming'),
              ],
              always: {
                guard: ({ context }) => context.command !== COMMAND.form || context.leaves,
                target: '#vehicle.plugged.opening',
              },
              after: { retryReset: { actions: assign({ retriesLeft: ({ context }) => context.retries }) } },
            },
          },
        },
        easing: {
          entry: ['ease', shows('easing')],
          after: { easeTime: 'opening' },
          on: {
            eased: 'opening',
            'let go': { target: 'opening', actions: 'takesCause' },
            'stop itself': { target: 'opening', actions: 'takesFault' },
          },
        },
        opening: {
          entry: [{ type: 'cease', params: ({ context }) => ({ cause: context.cause }) }, shows('opening')],
          after: {
            contactorOpen: [
              {
                guard: 'hardFault',
                target: 'faulted',
                actions: { type: 'open', params: ({ context }) => ({ cause: context.cause }) },
              },
              {
                guard: 'softFault',
                target: 'stopped',
                actions: { type: 'open', params: ({ context }) => ({ cause: context.cause }) },
              },
              { target: 'idle', actions: { type: 'open', params: ({ context }) => ({ cause: context.cause }) } },
            ],
          },
        },
        stopped: {
          entry: shows('stopped'),
          always: [
            { guard: 'leaves', target: 'releasing', actions: 'forgetsFault' },
            { guard: 'released', target: 'idle', actions: 'forgetsFault' },
          ],
          after: {
            retryDelay: {
              guard: 'retries',
              target: 'idle',
              actions: [
                'forgetsFault',
                'becauseOfItself',
                assign({
                  retriesLeft: ({ context }) => context.retriesLeft - 1,
                  restarts: ({ context }) => context.restarts + 1,
                }),
              ],
            },
          },
          on: { clear: { target: 'idle', actions: 'forgetsFault' } },
        },
        faulted: {
          entry: shows('faulted'),
          always: { guard: 'leaves', target: 'releasing', actions: 'forgetsFault' },
          on: { clear: { target: 'idle', actions: ['takesCause', 'forgetsFault'] } },
        },
        releasing: {
          entry: [shows('releasing'), { type: 'release', params: ({ context }) => ({ cause: context.cause }) }],
          after: {
            release: {
              target: '#vehicle.unplugged',
              actions: { type: 'drawn', params: ({ context }) => ({ cause: context.cause }) },
            },
          },
        },
      },
    },
  },
});
