import { describe, expect, it } from 'vitest';
import { islandFault } from '../../../harness/rules/island-fault.ts';
import { CAR_STOPS, darkHouse, forms, onGrid } from './house.ts';
import { HOUSE_OFF, shorted } from './stories.ts';
import { judge, type Story } from './telemetry-builder.ts';

const STRUCK_us = 3_000_000;
const verdictOf = (story: Story, end_us = 60_000_000): ReturnType<typeof judge> =>
  judge(islandFault, story.end(end_us));
const OFF = { ...HOUSE_OFF, ...CAR_STOPS };
const deadAfter = (after_us: number): Story => shorted().frame(STRUCK_us + after_us, OFF);

describe('islandFault', () => {
  it('is not armed by an island without fault, nor by a fault on the utility', () => {
    const never = { armed: 0, outcome: { is: 'not exercised', why: 'never armed' } };
    expect(verdictOf(forms(darkHouse(), 2_000_000))).toMatchObject(never);
    expect(verdictOf(onGrid().frame(1_000_000, { 'short.struck': 1 }))).toMatchObject(never);
  });

  it('gives 500 ms until the faulted part is dead, known to half a cycle', () => {
    expect(verdictOf(deadAfter(491_000)).outcome).toMatchObject({ is: 'pass', worst: { found: 491_000 } });
    expect(verdictOf(deadAfter(500_000)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(deadAfter(509_000)).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    expect(verdictOf(deadAfter(501_000).wave(3_490_000, 3_510_000)).outcome).toMatchObject({ is: 'fail' });
    expect(verdictOf(deadAfter(750_000)).outcome).toMatchObject({ worst: { value: -0.5, limit: 500_000 } });
  });

  it('takes no part for dead that a source feeds, holds a voltage, or comes back within 100 ms', () => {
    const fed = deadAfter(200_000).frame(3_250_000, { 'house.following': 1 }).frame(4_000_000, OFF);
    expect(verdictOf(fed).outcome).toMatchObject({ worst: { found: 1_000_000 } });
    const left = deadAfter(200_000).frame(3_200_000, { 'house.v1': 12.1 }).frame(3_900_000, { 'house.v1': 12 });
    expect(verdictOf(left).outcome).toMatchObject({ worst: { found: 900_000 } });
  });

  it('says what else went dark with it', () => {
    const { outcome } = verdictOf(deadAfter(200_000));
    expect(outcome.is === 'pass' && outcome.worst.about).toBe('short at house from its start until that part is dead');
  });

  it('ends with a fault that ends by itself', () => {
    const story = shorted().frame(3_300_000, { 'short.struck': 0 });
    expect(verdictOf(story).outcome).toMatchObject({ is: 'pass', worst: { found: 300_000 } });
  });

  it('lets a source form onto it once more, and no second time', () => {
    const again = (story: Story, at_us: number): Story =>
      forms(story, at_us, { 'house.v1': 20 }).frame(at_us + 100_000, OFF);
    const once = again(deadAfter(200_000), 10_000_000);
    expect(verdictOf(once)).toMatchObject({ armed: 2, outcome: { is: 'pass', worst: { value: 0, found: 1 } } });
    const twice = again(again(deadAfter(200_000), 10_000_000), 20_000_000);
    expect(verdictOf(twice).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { value: -1, found: 2 },
    });
    const mended = again(deadAfter(200_000), 10_000_000).frame(15_000_000, { 'short.struck': 0 });
    const anew = forms(mended, 20_000_000)
      .happening(25_000_000, 'short', 'strike', 'equipment')
      .frame(25_000_000, { 'short.struck': 1, 'house.v1': 20 })
      .frame(25_200_000, OFF);
    expect(verdictOf(again(anew, 30_000_000)).outcome).toMatchObject({ is: 'pass', worst: { found: 1 } });
  });

  it('times a source that forms onto a fault that stood, against who formed; that is no restart', () => {
    const story = forms(darkHouse().frame(1_600_000, { 'short.struck': 1 }), 3_000_000);
    expect(verdictOf(story.frame(3_300_000, OFF)).outcome).toMatchObject({ is: 'pass', worst: { found: 300_000 } });
    const fed = forms(darkHouse().frame(1_600_000, { 'short.struck': 1 }), 3_000_000);
    expect(verdictOf(fed).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('is cut short where the run ends before the 500 ms, or the 100 ms of dead, are over', () => {
    expect(verdictOf(shorted(), 3_500_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(shorted(), 3_510_000).outcome.is).toBe('fail');
    expect(verdictOf(deadAfter(200_000), 3_299_999).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(deadAfter(200_000), 3_300_000).outcome.is).toBe('pass');
  });
});
