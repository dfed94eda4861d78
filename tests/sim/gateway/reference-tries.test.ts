import { describe, expect, it } from 'vitest';
import type { Outputs } from '../../../sim/gateway/boundary.ts';
import { referenceMachine } from '../../../sim/gateway/reference-chart.ts';
import { REASONS } from '../../../sim/gateway/reference-reasons.ts';
import { chartSettings, MiniSite, type World } from './mini-site.ts';

/** Tries as far apart as they are where a site says nothing. */
const settings = () => {
  const { times_ms, ...others } = chartSettings();
  return { ...others, times_ms: { ...times_ms, rest: 10_000, formAgain: 5000, closeAgain: 30_000 } };
};

/** A house that has left for an island. */
function islanded(): MiniSite {
  const house = new MiniSite(referenceMachine, settings());
  house.change({ utility: 'gone' });
  expect(house.run(20, 'islanded')).toBe(true);
  return house;
}

/** Instants, s, at which an output becomes 1 while the house runs on. */
function rises(house: MiniSite, output: keyof Outputs, for_s: number): number[] {
  const found: number[] = [];
  let before = house.outputs[output];
  for (const end_us = house.now_us + for_s * 1e6; house.now_us < end_us; ) {
    house.run(0.01);
    if (before === 0 && house.outputs[output] === 1) found.push(house.now_us / 1e6);
    before = house.outputs[output];
  }
  return found;
}

const gaps = (instants: readonly number[]): number[] => instants.slice(1).map((at, i) => at - instants[i]!);

describe('referenceMachine, tries', () => {
  it.each(['awake', 'absent'] as const)('to close stand 30 s apart, the vehicle %s, and are three', (vehicle) => {
    const house = islanded();
    house.change({ utility: 'good', stuck: true, vehicle });
    const tries = rises(house, 'relayCoil', 200);
    expect(tries).toHaveLength(3);
    for (const gap of gaps(tries)) {
      expect(gap).toBeGreaterThanOrEqual(30);
      expect(gap).toBeLessThan(35);
    }
  });

  it('to close make the neutral former no third time within a minute', () => {
    const house = islanded();
    house.change({ utility: 'good', stuck: true });
    const makes = rises(house, 'neutralContactor', 200);
    expect(makes).toHaveLength(3);
    expect(makes[2]! - makes[0]!).toBeGreaterThan(60);
  });

  it('to form come 5 s after the source was lost, and leave the neutral former in', () => {
    const house = islanded();
    house.change({ vehicle: 'faulty' });
    expect(house.state).toBe('dark');
    house.change({ vehicle: 'awake' });
    expect(house.run(4.9, 'proving')).toBe(false);
    expect(house.outputs.neutralContactor).toBe(1);
    expect(rises(house, 'neutralContactor', 10)).toEqual([]);
    expect(house.state).toBe('islanded');
  });

  it('leave no former in where the plug is out', () => {
    const house = islanded();
    house.change({ vehicle: 'absent' });
    house.run(1);
    expect([house.state, house.outputs.neutralContactor]).toEqual(['dark', 0]);
  });
});

describe('referenceMachine, a neutral former that does not let go on the way back', () => {
  const stays: Partial<World> = { utility: 'good', neutralStays: true };

  it('lets the island live on, and tells', () => {
    const house = islanded();
    house.change(stays);
    expect(house.run(60, 'partingNeutral')).toBe(true);
    expect(house.run(3, 'islanded')).toBe(true);
    house.run(200);
    expect([house.state, house.outputs.lockout]).toEqual(['islanded', 0]);
    expect(house.outputs.reason).toBe(REASONS.neutralStuck.code);
    expect(house.visited).not.toContain('closing');
  });

  it('locks out a house that nobody could feed', () => {
    const house = islanded();
    house.change(stays);
    house.run(60, 'stopping');
    house.change({ vehicle: 'absent' });
    house.run(5);
    expect([house.state, house.outputs.reason]).toEqual(['locked', REASONS.neutralStuck.code]);
  });
});
