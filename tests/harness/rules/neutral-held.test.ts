import { describe, expect, it } from 'vitest';
import { neutralHeld } from '../../../harness/rules/neutral-held.ts';
import { CAR_STOPS, darkHouse, forms, HOUSE_DARK, house, ON_GRID, onGrid, outage, piece, siteOf } from './house.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const END_us = 60_000_000;
const verdictOf = (story: Story, end_us = END_us): ReturnType<typeof judge> => judge(neutralHeld, story.end(end_us));

/** The house with a 40 A former, in circuit unless told otherwise. */
function withFormer(changes: Values = {}): Story {
  const pieces = [...house().pieces, piece('middle', 'former', ['house'], { rating: 40 }, ['L1', 'L2', 'N'])];
  return new Story(siteOf('house', pieces)).frame(0, { ...ON_GRID, 'middle.contactor': 1, ...changes });
}
const island = (changes: Values = {}): Story => forms(darkHouse(), 2_000_000, changes);
const UNHELD = each(['house', 'garage'], { neutralHeld: 0 });
const OFF: Values = { ...CAR_STOPS, ...each(['house', 'garage'], { forming: 0 }) };

describe('neutralHeld', () => {
  it('is not armed on the utility without a former, however unlike the legs are', () => {
    const story = onGrid().frame(1_000_000, { 'house.u1': 80, 'house.u2': 160 });
    expect(verdictOf(story)).toMatchObject({ armed: 0, outcome: { is: 'not exercised', why: 'never armed' } });
  });

  it.each([
    [6, 40_000_000, 'pass', 1],
    [6.1, 9_990_000, 'pass', 0.001],
    [6.1, 10_000_000, 'unresolved', 0],
    [6.1, 10_100_000, 'fail', -0.01],
    [18, 9_000_000, 'pass', 0.1],
    [18.1, 150_000, 'pass', 0.0625],
    [18.1, 160_000, 'unresolved', 0],
    [18.1, 170_000, 'fail', -0.0625],
  ] as const)('lets the legs be %f V apart for %i µs: %s', (apart_V, for_us, is, value) => {
    const story = island()
      .frame(4_000_000, { 'house.u1': 120 + apart_V })
      .frame(4_000_000 + for_us, { 'house.u1': 120 });
    const { outcome } = verdictOf(story);
    expect(outcome.is === 'not exercised' ? outcome.why : outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('holds unlike legs against what changed the circuit last, and no longer than the island stands', () => {
    const apart = (): Story =>
      island().happening(4_000_000, 'kitchen', 'on', 'person').frame(4_000_000, { 'house.u1': 130 });
    expect(verdictOf(apart()).outcome).toMatchObject({ is: 'fail', against: 'person' });
    expect(verdictOf(apart().frame(8_000_000, OFF)).outcome.is).toBe('pass');
    const late = island().frame(4_000_000, { 'house.u1': 140 }).frame(4_200_000, OFF);
    expect(verdictOf(late).outcome).toMatchObject({ is: 'fail', worst: { found: 200_000 } });
    expect(verdictOf(apart(), 8_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
  });

  it('gives 200 ms from the loss of the neutral to source off: exactly passes, one µs late fails', () => {
    const off = (after_us: number): Story =>
      island()
        .frame(4_000_000, UNHELD)
        .frame(4_000_000 + after_us, OFF);
    expect(verdictOf(off(200_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0, limit: 200_000 } });
    expect(verdictOf(off(200_001)).outcome).toMatchObject({ is: 'fail' });
    expect(verdictOf(off(400_000)).outcome).toMatchObject({ worst: { value: -1 } });
  });

  it('holds a loss against what let go, and a start without neutral against who formed', () => {
    const opens = forms(withFormer({ ...HOUSE_DARK, 'middle.contactor': 0 }), 2_000_000)
      .happening(4_000_000, 'middle', 'parts L1', 'equipment')
      .frame(4_000_000, UNHELD);
    expect(verdictOf(opens).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    expect(verdictOf(island(UNHELD)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('needs a load on a leg', () => {
    const pieces = house().pieces.filter(({ id }) => id !== 'kitchen' && id !== 'office');
    const story = new Story(siteOf('house', pieces)).frame(0, { ...ON_GRID, ...HOUSE_DARK });
    expect(verdictOf(forms(story, 2_000_000, UNHELD)).armed).toBe(0);
  });

  it('is cut short where the run ends before the 200 ms are over', () => {
    expect(verdictOf(island().frame(4_000_000, UNHELD), 4_200_000).outcome).toMatchObject({ why: 'cut short' });
    expect(verdictOf(island().frame(4_000_000, UNHELD), 4_200_001).outcome).toMatchObject({ is: 'fail' });
  });

  it.each([
    [40, 50_000_000, 'pass', 1],
    [44, 9_000_000, 'pass', 0.1],
    [44, 11_000_000, 'fail', -0.1],
    [61, 450_000, 'pass', 0.1],
    [61, 550_000, 'fail', -0.1],
  ] as const)('lets a former of 40 A carry %f A for %i µs, on the utility too: %s', (i_A, for_us, is, value) => {
    const story = withFormer()
      .happening(1_000_000, 'grid', 'neutral lost', 'utility')
      .frame(1_000_000, { 'middle.neutralCurrent': i_A })
      .frame(1_000_000 + for_us, { 'middle.neutralCurrent': 0 });
    const { outcome } = verdictOf(story);
    expect(outcome.is).toBe(is);
    if (outcome.is === 'fail') expect(outcome.against).toBe('utility');
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('leaves a former alone that is out of circuit', () => {
    expect(verdictOf(outage(withFormer({ 'middle.contactor': 0 }), 1_000_000)).armed).toBe(0);
  });
});
