import { describe, expect, it } from 'vitest';
import { changed, changedAll, without } from '../../../../harness/campaign/saboteurs/edit-chart.ts';
import type { PlainChart } from '../../../../sim/gateway/reference-plain.ts';

const chart: PlainChart = {
  id: 'small',
  regions: {
    lamp: {
      initial: 'off',
      states: {
        off: { always: [{ if: ['good', 'sound'], to: 'on' }, { to: 'off' }] },
        on: { initial: 'bright', states: { bright: { always: [{ if: ['good'], to: 'off' }] }, dim: {} } },
      },
    },
    door: { after: { rest: [{ to: 'door' }] } },
  },
};
const before = JSON.stringify(chart);

describe('changed', () => {
  it('changes the state at the end of the path and nothing else, the chart that it was given included', () => {
    const after = changed(chart, 'lamp.on.dim', (state) => ({ ...state, about: 'low' }));
    expect(after.regions['lamp']?.states?.['on']?.states).toEqual({
      bright: { always: [{ if: ['good'], to: 'off' }] },
      dim: { about: 'low' },
    });
    expect(after.regions['lamp']?.states?.['off']).toBe(chart.regions['lamp']?.states?.['off']);
    expect(after.regions['door']).toBe(chart.regions['door']);
    expect(JSON.stringify(chart)).toBe(before);
  });

  it.each(['lamp.none', 'none', 'door.none.dim'])('%s, which is not there, is a fault of ours', (path) => {
    expect(() => changed(chart, path, (state) => state)).toThrow('the chart has no state none');
  });
});

describe('changedAll', () => {
  it('reaches every state once, regions included, from the inside out', () => {
    const seen: string[] = [];
    changedAll(chart, (state) => {
      seen.push(Object.keys(state).join());
      return state;
    });
    // off, bright, dim, on, lamp, door, and the chart itself.
    expect(seen).toEqual(['always', 'always', '', 'initial,states', 'initial,states', 'after', 'states']);
  });
});

describe('without', () => {
  it('takes away each way that a guard opens, alone or with others', () => {
    const { lamp } = without(chart, 'good').regions;
    expect(lamp?.states?.['off']?.always).toEqual([{ to: 'off' }]);
    expect(lamp?.states?.['on']?.states?.['bright']?.always).toEqual([]);
    expect(without(chart, 'sound').regions['lamp']?.states?.['on']?.states?.['bright']?.always).toHaveLength(1);
  });
});
