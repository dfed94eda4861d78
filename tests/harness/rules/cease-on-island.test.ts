import { describe, expect, it } from 'vitest';
import { ceaseOnIsland } from '../../../harness/rules/cease-on-island.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_MAIN,
  BEHIND_RELAY,
  CAR_STOPS,
  darkHouse,
  forms,
  mainOpened,
  onGrid,
  outage,
  PV_RUNS,
  PV_STOPS,
  STREET_DARK,
} from './house.ts';
import { each, judge, type Story } from './telemetry-builder.ts';

const END_us = 9_000_000;
const opened = (): Story => mainOpened(onGrid(), 1_000_000);
const rejoined = { ...each(BEHIND_MAIN, { present1: 1, present2: 1, supply: 1 }) };

describe('ceaseOnIsland', () => {
  it('ends exactly at 2 s when the utility rejoins then, and is one µs late after that', () => {
    const back = (at_us: number) => judge(ceaseOnIsland, opened().frame(at_us, rejoined).end(END_us)).outcome;
    expect(back(3_000_000)).toMatchObject({ is: 'pass', worst: { value: 0, found: 2_000_000 } });
    expect(back(3_000_001)).toMatchObject({ is: 'fail', against: 'person', worst: { found: 2_000_001 } });
  });

  it('knows a detection to a tenth: 1.8 s passes, 1.9 s is unresolved, 2.3 s fails', () => {
    const ceases = (after_us: number) =>
      judge(
        ceaseOnIsland,
        opened()
          .frame(1_000_000 + after_us, PV_STOPS)
          .end(END_us),
      ).outcome;
    expect(ceases(1_800_000)).toMatchObject({ is: 'pass', worst: { found: 1_800_000 } });
    expect(ceases(1_900_000)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(ceases(2_300_000)).toMatchObject({ is: 'fail', against: 'person' });
  });

  it('rests on the clause where the island holds the street, on practice where it is the house alone', () => {
    expect(judge(ceaseOnIsland, opened().frame(1_500_000, PV_STOPS).end(END_us)).grade).toBe('common practice');
    const street = outage(onGrid(), 1_000_000)
      .frame(1_500_000, { ...PV_STOPS, ...STREET_DARK })
      .end(END_us);
    expect(judge(ceaseOnIsland, street)).toMatchObject({
      grade: 'confirmed',
      outcome: { is: 'pass', worst: { value: 0.75 } },
    });
  });

  it('is held against the utility for an outage that an inverter outlasts, against the equipment for a source that stops by itself', () => {
    expect(judge(ceaseOnIsland, outage(onGrid(), 1_000_000).end(END_us)).outcome).toMatchObject({
      is: 'fail',
      against: 'utility',
    });
    const stops = (origin: Origin): Story =>
      forms(darkHouse(), 2_000_000)
        .frame(3_000_000, { ...PV_RUNS, ...each(BEHIND_RELAY, { following: 1 }) })
        .happening(4_000_000, 'car', 'stops', origin)
        .frame(4_000_000, { ...CAR_STOPS, ...each(BEHIND_RELAY, { forming: 0, supply: 3 }) })
        .end(END_us);
    expect(judge(ceaseOnIsland, stops('equipment')).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { found: 5_000_000 },
    });
    expect(judge(ceaseOnIsland, stops('controller')).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('lets each half of a split island inherit the birth', () => {
    const split = outage(onGrid(), 1_000_000)
      .frame(2_500_000, each(BEHIND_RELAY, { part: 2 }))
      .frame(3_300_000, PV_STOPS)
      .end(END_us);
    expect(judge(ceaseOnIsland, split).outcome).toMatchObject({ is: 'fail', worst: { found: 2_300_000 } });
  });

  it('takes the older birth when two islands join', () => {
    const joined = mainOpened(onGrid(), 1_000_000);
    outage(joined, 2_000_000)
      .frame(2_500_000, each(BEHIND_MAIN, { part: 1 }))
      .frame(3_300_000, PV_STOPS)
      .end(END_us);
    expect(judge(ceaseOnIsland, joined).outcome).toMatchObject({ is: 'fail', worst: { found: 2_300_000 } });
    const younger = onGrid()
      .frame(1_000_000, each(['service'], { present1: 0, present2: 0, part: 9 }))
      .frame(2_000_000, each(BEHIND_MAIN, { present1: 0, present2: 0 }))
      .frame(2_500_000, each(['service'], { part: 1 }))
      .frame(3_300_000, PV_STOPS)
      .end(END_us);
    expect(judge(ceaseOnIsland, younger).outcome).toMatchObject({ is: 'fail', worst: { found: 2_300_000 } });
    const apart = outage(onGrid(), 2_000_000).frame(3_300_000, PV_STOPS).end(END_us);
    expect(judge(ceaseOnIsland, apart).outcome).toMatchObject({ is: 'pass', worst: { found: 1_300_000 } });
  });

  it('ends when a forming source arrives, and a new island is born when that leaves', () => {
    const story = opened()
      .frame(2_000_000, each(BEHIND_MAIN, { forming: 1 }))
      .frame(4_000_000, each(BEHIND_MAIN, { forming: 0 }))
      .frame(5_500_000, PV_STOPS)
      .end(END_us);
    expect(judge(ceaseOnIsland, story)).toMatchObject({
      armed: 2,
      outcome: { is: 'pass', worst: { found: 1_500_000 } },
    });
  });

  it('counts a start after all have ceased once, against whoever started it, and still wants it to leave in 2 s', () => {
    const again = (until_us: number): Story =>
      opened()
        .frame(1_500_000, PV_STOPS)
        .happening(4_000_000, 'roof', 'starts', 'equipment')
        .frame(4_000_000, PV_RUNS)
        .frame(until_us, PV_STOPS)
        .end(END_us);
    expect(judge(ceaseOnIsland, again(4_200_000))).toMatchObject({
      outcome: { is: 'fail', against: 'equipment', worst: { value: -1, at_us: 4_000_000 } },
      violations: { equipment: 1, person: 0 },
    });
    expect(judge(ceaseOnIsland, again(7_000_000)).violations).toMatchObject({ equipment: 1, person: 1 });
  });

  it('counts a first start from the birth of a part that has been dark', () => {
    const story = mainOpened(onGrid().frame(500_000, PV_STOPS), 1_000_000)
      .frame(2_500_000, PV_RUNS)
      .frame(4_000_000, PV_STOPS)
      .end(END_us);
    expect(judge(ceaseOnIsland, story).outcome).toMatchObject({ is: 'fail', worst: { found: 3_000_000 } });
  });

  it('does not tell an island of a part that keeps one leg of the utility', () => {
    const story = onGrid()
      .frame(1_000_000, each(BEHIND_MAIN, { present2: 0 }))
      .end(END_us);
    expect(judge(ceaseOnIsland, story).armed).toBe(0);
  });

  it('is cut short where the run ends before the 2 s are over', () => {
    expect(judge(ceaseOnIsland, opened().end(3_000_000)).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(judge(ceaseOnIsland, opened().end(3_000_001)).outcome.is).toBe('fail');
  });
});
