import { assign, setup } from 'xstate';
import { CHART_OPTIONS } from './chart.ts';
import type { Cause } from './piece.ts';

/** How fast one contact moves. Whole µs. */
export interface ContactTimes {
  readonly make_us: number;
  readonly break_us: number;
  /** By how much the mirror contact opens before the main contact touches. */
  readonly mirror_us: number;
  readonly bounceCount: number;
  /** Time together, and the same apart, of one bounce. */
  readonly bounce_us: number;
}

/** What a contact does to the world, each called at the exact instant. */
export interface ContactHands {
  touch(cause: Cause): void;
  part(cause: Cause): void;
  weld(cause: Cause): void;
  /** A weld is broken: the contact conducts as before, but can part again. */
  unweld(cause: Cause): void;
  /** Just before it would touch. */
  nears(cause: Cause): void;
  /** Back at its open rest, without having touched, or after it has parted. */
  rests(cause: Cause): void;
}

export interface ContactInput {
  readonly closed: boolean;
  readonly times: ContactTimes;
  readonly hands: ContactHands;
}

interface Context {
  readonly times: ContactTimes;
  readonly hands: ContactHands;
  readonly startsClosed: boolean;
  readonly wantsClosed: boolean;
  readonly cause: Cause;
  /** How long ago the coil changed: a crossing that was found only at the end of a step. */
  readonly early_us: number;
  readonly extra_us: number;
  readonly stuck: boolean;
  readonly weldsNext: boolean;
  readonly bouncesLeft: number;
  readonly chattersLeft: number;
  readonly chatter_us: number;
}

export type ContactEvent =
  | { readonly type: 'DRIVE'; readonly closed: boolean; readonly cause: Cause; readonly early_us?: number }
  | { readonly type: 'WELD'; readonly cause: Cause }
  | { readonly type: 'MEND'; readonly cause: Cause }
  | { readonly type: 'SLOW'; readonly extra_us: number }
  | { readonly type: 'STICK' }
  | { readonly type: 'CHATTER'; readonly count: number; readonly period_us: number; readonly cause: Cause };

const NOBODY: Cause = { origin: 'site', number: undefined };
const lead_us = ({ times, extra_us }: Context): number => Math.min(times.mirror_us, times.make_us + extra_us);

const ready = setup({
  types: {} as { context: Context; events: ContactEvent; input: ContactInput },
  guards: {
    startsClosed: ({ context }) => context.startsClosed,
    closes: ({ context }) => context.wantsClosed && !context.stuck,
    staysOpen: ({ context }) => !context.wantsClosed || context.stuck,
    opens: ({ context }) => !context.wantsClosed && !context.stuck,
    staysClosed: ({ context }) => context.wantsClosed || context.stuck,
    weldsNext: ({ context }) => context.weldsNext,
    bounces: ({ context }) => context.bouncesLeft > 0,
    chatters: ({ context }) => context.chattersLeft > 0,
  },
  delays: {
    pull: ({ context }) => {
      const { times, extra_us, early_us } = context;
      return Math.max(0, times.make_us + extra_us - lead_us(context) - early_us) / 1000;
    },
    lead: ({ context }) => lead_us(context) / 1000,
    drop: ({ context }) => Math.max(0, context.times.break_us + context.extra_us - context.early_us) / 1000,
    bounce: ({ context }) => context.times.bounce_us / 1000,
    chatter: ({ context }) => context.chatter_us / 1000,
  },
  actions: {
    touch: ({ context }) => context.hands.touch(context.cause),
    part: ({ context }) => context.hands.part(context.cause),
    weld: ({ context }) => context.hands.weld(context.cause),
    unweld: ({ context }) => context.hands.unweld(context.cause),
    near: ({ context }) => context.hands.nears(context.cause),
    rest: ({ context }) => context.hands.rests(context.cause),
    startBounce: assign({ bouncesLeft: ({ context }) => context.times.bounceCount }),
    countBounce: assign({ bouncesLeft: ({ context }) => context.bouncesLeft - 1 }),
    countChatter: assign({ chattersLeft: ({ context }) => context.chattersLeft - 1 }),
    noMoreWeld: assign({ weldsNext: false }),
    drive: assign(({ event, context }) =>
      event.type === 'DRIVE'
        ? { wantsClosed: event.closed, cause: event.cause, early_us: event.early_us ?? 0 }
        : { wantsClosed: context.wantsClosed },
    ),
    fault: assign(({ event }) => {
      if (event.type === 'WELD') return { weldsNext: true, cause: event.cause };
      if (event.type === 'SLOW') return { extra_us: event.extra_us };
      if (event.type === 'STICK') return { stuck: true };
      if (event.type === 'MEND') return { weldsNext: false, extra_us: 0, stuck: false, cause: event.cause };
      if (event.type !== 'CHATTER') return {};
      // Each period parts and touches once; it ends where it began.
      return { chattersLeft: 2 * event.count, chatter_us: Math.round(event.period_us / 2), cause: event.cause };
    }),
  },
});

/**
 * One contact moved by a coil: closing, bouncing, closed, opening, open, welded.
 *
 * A move that is called off before the contact has touched (or parted) goes back without having done so. A weld of an
 * open contact waits for its next touch. Chatter goes on through orders and ends where it began.
 */
export const contactChart = ready.createMachine({
  id: 'contact',
  options: CHART_OPTIONS,
  context: ({ input }) => ({
    times: input.times,
    hands: input.hands,
    startsClosed: input.closed,
    wantsClosed: input.closed,
    cause: NOBODY,
    early_us: 0,
    extra_us: 0,
    stuck: false,
    weldsNext: false,
    bouncesLeft: 0,
    chattersLeft: 0,
    chatter_us: 0,
  }),
  initial: 'starting',
  on: {
    DRIVE: { actions: 'drive' },
    WELD: { actions: 'fault' },
    SLOW: { actions: 'fault' },
    STICK: { actions: 'fault' },
    MEND: { actions: 'fault' },
    CHATTER: { actions: 'fault' },
  },
  states: {
    starting: { always: [{ guard: 'startsClosed', target: 'closed' }, { target: 'open' }] },
    open: {
      always: [
        { guard: 'chatters', target: 'chattering.apart' },
        { guard: 'closes', target: 'closing' },
      ],
    },
    closing: {
      initial: 'pulling',
      always: { guard: 'staysOpen', target: 'open', actions: 'rest' },
      states: {
        pulling: { after: { pull: { target: 'near', actions: 'near' } } },
        near: { after: { lead: { target: '#contact.bouncing', actions: ['startBounce', 'touch'] } } },
      },
    },
    bouncing: {
      initial: 'together',
      states: {
        together: {
          always: [
            { guard: 'weldsNext', target: '#contact.welded' },
            { guard: 'opens', target: '#contact.opening' },
            { guard: ({ context }) => context.bouncesLeft === 0, target: '#contact.closed' },
          ],
          after: { bounce: { target: 'apart', actions: 'part' } },
        },
        apart: {
          always: { guard: 'staysOpen', target: '#contact.open', actions: 'rest' },
          after: { bounce: { target: 'together', actions: ['countBounce', 'touch'] } },
        },
      },
    },
    closed: {
      always: [
        { guard: 'weldsNext', target: 'welded' },
        { guard: 'chatters', target: 'chattering.together' },
        { guard: 'opens', target: 'opening' },
      ],
    },
    opening: {
      always: [
        { guard: 'weldsNext', target: 'welded' },
        { guard: 'staysClosed', target: 'closed' },
      ],
      after: { drop: { target: 'open', actions: ['part', 'rest'] } },
    },
    welded: {
      entry: ['noMoreWeld', 'weld'],
      on: { MEND: { target: 'closed', actions: ['fault', 'unweld'] }, WELD: {}, CHATTER: {} },
    },
    chattering: {
      initial: 'together',
      states: {
        together: {
          always: [
            { guard: 'weldsNext', target: '#contact.welded' },
            { guard: ({ context }) => context.chattersLeft === 0, target: '#contact.closed' },
          ],
          after: { chatter: { target: 'apart', actions: ['countChatter', 'part'] } },
        },
        apart: {
          always: { guard: ({ context }) => context.chattersLeft === 0, target: '#contact.open', actions: 'rest' },
          after: { chatter: { target: 'together', actions: ['countChatter', 'near', 'touch'] } },
        },
      },
    },
  },
});
