import { assert } from '../../../sim/check.ts';
import type { PlainChart, PlainGuard, PlainState, PlainStep } from '../../../sim/gateway/reference-plain.ts';

type Change = (state: PlainState) => PlainState;

/** The chart with one state changed. `path` leads to it from its region, joined by dots: `transfer.proving.testing`. */
export function changed(chart: PlainChart, path: string, change: Change): PlainChart {
  const { states } = at({ states: chart.regions }, path.split('.'), change);
  return { ...chart, regions: states ?? {} };
}

/** The chart with every state changed, from the inside out. */
export function changedAll(chart: PlainChart, change: Change): PlainChart {
  const all: Change = (state) => {
    const { states } = state;
    if (states === undefined) return change(state);
    const inner = Object.entries(states).map(([name, each]) => [name, all(each)]);
    return change({ ...state, states: Object.fromEntries(inner) });
  };
  return { ...chart, regions: all({ states: chart.regions }).states ?? {} };
}

/** The chart without the ways that are taken under this guard. */
export function without(chart: PlainChart, guard: PlainGuard): PlainChart {
  const stays = ({ if: guards }: PlainStep): boolean => guards?.includes(guard) !== true;
  return changedAll(chart, (state) =>
    state.always === undefined ? state : { ...state, always: state.always.filter(stays) },
  );
}

function at(state: PlainState, [name, ...further]: readonly string[], change: Change): PlainState {
  if (name === undefined) return change(state);
  const inner = state.states?.[name];
  assert(inner !== undefined, `the chart has no state ${name}; a saboteur must change what is there`);
  return { ...state, states: { ...state.states, [name]: at(inner, further, change) } };
}
