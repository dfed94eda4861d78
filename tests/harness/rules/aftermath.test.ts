import { describe, expect, it } from 'vitest';
import { manualOrder } from '../../../harness/rules/manual-order.ts';
import { BEHIND_MAIN, house, mainOpened, ON_GRID, onGrid, PV_STOPS } from './house.ts';
import { each, judge, Story } from './telemetry-builder.ts';

const END_us = 6_000_000;
const notesOf = (story: Story, end_us = END_us) => judge(manualOrder, story.end(end_us)).notes;
const swings = (): Story =>
  mainOpened(onGrid(), 1_000_000)
    .frame(1_008_000, { 'house.u1': 98, 'house.u2': 150 })
    .frame(1_020_000, { 'house.u1': 60, 'house.u2': 205.7 });

describe('Aftermath', () => {
  it('reports what a main opened over a running inverter did: worst legs, time above 1.2 pu, time to cease', () => {
    const story = swings()
      .frame(1_150_000, PV_STOPS)
      .frame(1_160_000, { 'house.u2': 130 })
      .frame(1_200_000, { 'house.u2': 0 });
    expect(notesOf(story)).toEqual([
      {
        is: 'report',
        at_us: 1_000_000,
        text:
          'roof, its reference taken at main: L1 up to 120 V, L2 up to 205.7 V, 152 ms with a leg above 1.2 pu; ' +
          'ceased after 150 ms',
        found: { worstL1_V: 120, worstL2_V: 205.7, above_us: 152_000, lasted_us: 150_000 },
      },
    ]);
  });

  it('counts no longer than the cycle that proves it ceased, whether or not a frame stands there', () => {
    const ceases = (): Story => swings().frame(1_150_000, PV_STOPS);
    const found = { above_us: 150_000 - 8_000 + 16_667, lasted_us: 150_000 };
    expect(notesOf(ceases())?.[0]?.found).toMatchObject(found);
    expect(notesOf(ceases().frame(1_166_667).frame(2_000_000))?.[0]?.found).toMatchObject(found);
    expect(notesOf(ceases().frame(3_000_000, { 'house.u2': 300 }))?.[0]?.found).toMatchObject(found);
  });

  it('takes exactly 1.2 pu for not above', () => {
    const story = mainOpened(onGrid(), 1_000_000, { 'house.u2': 144 }).frame(1_500_000, PV_STOPS);
    expect(notesOf(story)?.[0]?.found).toMatchObject({ worstL2_V: 144, above_us: 0 });
  });

  it('says so where a reference came back, or the run ended, before it ceased', () => {
    const back = swings().frame(1_500_000, each(BEHIND_MAIN, { present1: 1, present2: 1 }));
    expect(notesOf(back)?.[0]?.text).toMatch(/had a reference again, not ceased, after 500 ms$/);
    expect(notesOf(swings(), 1_300_000)?.[0]).toMatchObject({
      text: expect.stringMatching(/had not ceased at the end of the run, after 300 ms$/),
      found: { lasted_us: 300_000, above_us: 292_000 },
    });
  });

  it('has nothing to report of a source that was quiet', () => {
    const calm = new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS });
    expect(notesOf(mainOpened(calm, 1_000_000))).toBeUndefined();
  });
});
