import { and, not, type SetupReturn } from 'xstate';
import { type ChartInput, type Memory, referenceParts, type ScanEvent } from './reference-parts.ts';
import type { ReasonName } from './reference-reasons.ts';

type Parts = typeof referenceParts;
type Config = Parameters<Parts['createMachine']>[0];
type Names = NamesOf<Parts>;
/** Guards, actions and delays by the names under which the parts have them. */
type NamesOf<Of> =
  Of extends SetupReturn<
    Memory,
    ScanEvent,
    infer _Actors,
    infer _Children,
    infer Actions,
    infer Guards,
    infer Delays,
    string,
    ChartInput,
    infer _Output,
    infer _Emitted,
    infer _Meta
  >
    ? { guards: keyof Guards & string; actions: keyof Actions & string; delays: Delays }
    : never;
export type GuardName = Names['guards'];
export type ActionName = Exclude<Names['actions'], 'because'>;
export type DelayName = Names['delays'];

/** A guard by name; `!` turns it round. */
export type PlainGuard = GuardName | `!${GuardName}`;
/** An action by name, or the reason that is remembered. */
export type PlainAction = ActionName | { readonly because: ReasonName };

/** One way out of a state. All of its guards must hold; without a target it only acts, and its guard must then fail. */
export interface PlainStep {
  readonly if?: readonly PlainGuard[];
  readonly to?: string;
  readonly do?: readonly PlainAction[];
}

/** A state as plain data: it can be drawn, explained, compared and made wrong on purpose. The first way that is open is taken. */
export interface PlainState {
  readonly about?: string;
  readonly initial?: string;
  readonly entry?: readonly PlainAction[];
  /** Looked at in each scan. */
  readonly always?: readonly PlainStep[];
  /** After a delay by name, in a scan. */
  readonly after?: Partial<Readonly<Record<DelayName, readonly PlainStep[]>>>;
  readonly states?: Readonly<Record<string, PlainState>>;
}

/** A chart of parallel regions. */
export interface PlainChart {
  readonly id: string;
  readonly regions: Readonly<Record<string, PlainState>>;
}

/** Steps of the chart in one scan; more is a circle of conditions, which must not hang whoever scans it. */
const STEPS_max = 1000;

/** The chart as a machine: everything is decided in a scan, which brings a view; the guards look at it. */
export function machineOf({ id, regions }: PlainChart) {
  const states = Object.fromEntries(Object.entries(regions).map(([name, state]) => [name, configOf(state)]));
  const config = {
    id,
    type: 'parallel',
    context: ({ input }: { input: Pick<Memory, 'settings' | 'view' | 'lockedBefore' | 'because'> }): Memory => ({
      ...input,
      exportedBefore: false,
      overruled: false,
      formTries: 0,
      closeTries: 0,
      shorts: 0,
      neutralKept: false,
      shed: 0,
      chargeLimit_A: 0,
      diagnosis: 'none',
    }),
    on: { scan: { actions: 'look' } },
    options: { maxIterations: STEPS_max },
    states,
  };
  return referenceParts.createMachine(config as Config);
}

function configOf({ initial, entry, always, after, states }: PlainState): object {
  return {
    ...(initial !== undefined && { initial }),
    ...(entry !== undefined && { entry: entry.map(actionOf) }),
    ...(always !== undefined && { always: always.map(stepOf) }),
    ...(after !== undefined && {
      after: Object.fromEntries(Object.entries(after).map(([delay, steps]) => [delay, (steps ?? []).map(stepOf)])),
    }),
    ...(states !== undefined && {
      states: Object.fromEntries(Object.entries(states).map(([name, state]) => [name, configOf(state)])),
    }),
  };
}

function stepOf({ if: guards, to, do: actions }: PlainStep): object {
  return {
    ...(guards !== undefined && { guard: and(guards.map(guardOf) as never) }),
    ...(to !== undefined && { target: to }),
    ...(actions !== undefined && { actions: actions.map(actionOf) }),
  };
}

function guardOf(guard: PlainGuard): unknown {
  return guard.startsWith('!') ? not(guard.slice(1) as never) : guard;
}

function actionOf(action: PlainAction): object {
  return typeof action === 'string' ? { type: action } : { type: 'because', params: { why: action.because } };
}
