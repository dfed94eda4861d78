import { assign, setup } from 'xstate';
import { CHART_OPTIONS } from './chart.ts';
import type { Cause } from './piece.ts';

export interface BreakerHands {
  touchFirst(cause: Cause): void;
  touchSecond(cause: Cause): void;
  partAll(cause: Cause): void;
}

export interface BreakerInput {
  readonly closed: boolean;
  readonly hand_us: number;
  readonly spread_us: number;
  readonly trip_us: number;
  readonly hands: BreakerHands;
}

interface Context extends BreakerInput {
  readonly cause: Cause;
  /** The mechanism no longer moves from where it rests. */
  readonly stuck: boolean;
}
export type BreakerEvent =
  | { readonly type: 'OPEN'; readonly cause: Cause }
  | { readonly type: 'CLOSE'; readonly cause: Cause }
  | { readonly type: 'TRIP'; readonly cause: Cause }
  | { readonly type: 'STICK' | 'MEND' };

const ready = setup({
  types: {} as { context: Context; events: BreakerEvent; input: BreakerInput },
  guards: {
    startsClosed: ({ context }) => context.closed,
    together: ({ context }) => context.spread_us === 0,
    moves: ({ context }) => !context.stuck,
  },
  delays: {
    hand: ({ context }) => context.hand_us / 1000,
    spread: ({ context }) => context.spread_us / 1000,
    trip: ({ context }) => context.trip_us / 1000,
  },
  actions: {
    because: assign({ cause: ({ event, context }) => ('cause' in event ? event.cause : context.cause) }),
    touchFirst: ({ context }) => context.hands.touchFirst(context.cause),
    touchSecond: ({ context }) => context.hands.touchSecond(context.cause),
    part: ({ context }) => context.hands.partAll(context.cause),
    stick: assign(({ event }) => ({ stuck: event.type === 'STICK' })),
  },
});

/**
 * Mechanism of a breaker: free to trip, also while a hand closes it. After a trip it stays tripped until it is closed
 * again, which resets it on the way. A mechanism that sticks ends the movement that is under way and then stays.
 */
export const breakerChart = ready.createMachine({
  id: 'breaker',
  options: CHART_OPTIONS,
  context: ({ input }) => ({ ...input, cause: { origin: 'site', number: undefined }, stuck: false }),
  initial: 'starting',
  on: { STICK: { actions: 'stick' }, MEND: { actions: 'stick' } },
  states: {
    starting: { always: [{ guard: 'startsClosed', target: 'closed' }, { target: 'open' }] },
    open: { on: { CLOSE: { guard: 'moves', target: 'closing', actions: 'because' } } },
    closing: {
      on: { OPEN: { target: 'opening', actions: 'because' }, TRIP: { target: 'tripping', actions: 'because' } },
      initial: 'moving',
      states: {
        moving: { after: { hand: { target: 'half', actions: 'touchFirst' } } },
        half: {
          always: { guard: 'together', target: '#breaker.closed', actions: 'touchSecond' },
          after: { spread: { target: '#breaker.closed', actions: 'touchSecond' } },
        },
      },
    },
    closed: {
      on: {
        OPEN: { guard: 'moves', target: 'opening', actions: 'because' },
        TRIP: { guard: 'moves', target: 'tripping', actions: 'because' },
      },
    },
    opening: {
      on: { TRIP: { target: 'tripping', actions: 'because' } },
      after: { hand: { target: 'open', actions: 'part' } },
    },
    tripping: { after: { trip: { target: 'tripped', actions: 'part' } } },
    tripped: {
      on: {
        CLOSE: { guard: 'moves', target: 'closing', actions: 'because' },
        OPEN: { guard: 'moves', target: 'open' },
      },
    },
  },
});
