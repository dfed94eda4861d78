import type { Scenario } from '../../harness/scenario/model.ts';
import { play } from './sites.ts';

/** A run whose channels can be read at any instant: a frame holds until the next. */
export interface Trace {
  /** Value of a channel at an instant, s; of several frames at one instant the last. */
  at(channel: string, at_s: number): number;
  /** Largest value between two instants, s, what held at the first included. */
  most(channel: string, from_s: number, to_s: number): number;
}

export function traceOf(scenario: Scenario): Trace {
  const names = new Map<string, number>();
  const frames: { readonly at_us: number; readonly values: Float64Array }[] = [];
  const { cutShort, controllerFault } = play(scenario, {
    telemetry: (telemetry) => {
      if (telemetry.kind === 'head') {
        for (const [i, { name }] of telemetry.channels.entries()) names.set(name, i);
      } else if (telemetry.kind === 'frame') frames.push({ at_us: telemetry.at_us, values: telemetry.values.slice() });
    },
  });
  if (cutShort !== undefined)
    throw new Error(`the run did not come to its end: ${controllerFault?.message ?? cutShort}`);
  const index = (channel: string): number => {
    const found = names.get(channel);
    if (found === undefined) throw new Error(`no channel ${channel}`);
    return found;
  };
  const last = (at_us: number): number => {
    let found = 0;
    for (let i = 0; i < frames.length && frames[i]!.at_us <= at_us; i += 1) found = i;
    return found;
  };
  return {
    at: (channel, at_s) => frames[last(Math.round(at_s * 1e6))]!.values[index(channel)]!,
    most: (channel, from_s, to_s) => {
      const span = frames.slice(last(Math.round(from_s * 1e6)), last(Math.round(to_s * 1e6)) + 1);
      return Math.max(...span.map(({ values }) => values[index(channel)]!));
    },
  };
}
