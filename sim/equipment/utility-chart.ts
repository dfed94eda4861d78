import { assign, setup } from 'xstate';
import { CHART_OPTIONS } from './chart.ts';
import type { Cause } from './piece.ts';

/** Off once for each dead time, on for a while in between; at the end it stays on or off. Whole µs. */
export interface Reclosing {
  readonly dead_us: readonly number[];
  readonly on_us: number;
  readonly endsOn: boolean;
}

export type SwitchEvent =
  | { readonly type: 'OFF'; readonly cause: Cause }
  | { readonly type: 'ON'; readonly cause: Cause }
  | { readonly type: 'RECLOSE'; readonly plan: Reclosing; readonly cause: Cause };

export interface SwitchInput {
  readonly closed: boolean;
  /** Called at each change, and idly where nothing changes. */
  readonly act: (closed: boolean, cause: Cause) => void;
}

interface Context extends SwitchInput {
  readonly plan: Reclosing;
  readonly tried: number;
  readonly cause: Cause;
}

const NO_PLAN: Reclosing = { dead_us: [], on_us: 0, endsOn: true };

const ready = setup({
  types: {} as { context: Context; events: SwitchEvent; input: SwitchInput },
  guards: {
    startsClosed: ({ context }) => context.closed,
    holds: ({ context }) => context.tried >= context.plan.dead_us.length && context.plan.endsOn,
    hasMore: ({ context }) => context.tried < context.plan.dead_us.length,
  },
  delays: {
    dead: ({ context }) => context.plan.dead_us[context.tried]! / 1000,
    on: ({ context }) => context.plan.on_us / 1000,
  },
  actions: {
    open: ({ context }) => context.act(false, context.cause),
    close: ({ context }) => context.act(true, context.cause),
    note: assign(({ event }) => ({ cause: event.cause })),
    plan: assign(({ event }) => (event.type === 'RECLOSE' ? { plan: event.plan, tried: 0, cause: event.cause } : {})),
    count: assign({ tried: ({ context }) => context.tried + 1 }),
  },
});

/** The medium-voltage switch: closed, open, and the recloser's dead time and trial. */
export const switchChart = ready.createMachine({
  id: 'switch',
  options: CHART_OPTIONS,
  context: ({ input }) => ({ ...input, plan: NO_PLAN, tried: 0, cause: { origin: 'site', number: undefined } }),
  initial: 'starting',
  on: {
    OFF: { target: '.open', actions: 'note' },
    ON: { target: '.closed', actions: 'note' },
    RECLOSE: { target: '.dead', actions: 'plan', reenter: true },
  },
  states: {
    starting: { always: [{ guard: 'startsClosed', target: 'closed' }, { target: 'open' }] },
    closed: { entry: 'close' },
    open: { entry: 'open' },
    dead: { entry: 'open', after: { dead: { target: 'trying', actions: 'count' } } },
    trying: {
      entry: 'close',
      always: { guard: 'holds', target: 'closed' },
      after: { on: [{ guard: 'hasMore', target: 'dead' }, { target: 'open' }] },
    },
  },
});
