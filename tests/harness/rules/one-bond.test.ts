import { describe, expect, it } from 'vitest';
import { oneBond } from '../../../harness/rules/one-bond.ts';
import { DARK, darkHouse, forms, HOUSE_DARK, house, ON_GRID, onGrid } from './house.ts';
import { each, judge, Story } from './telemetry-builder.ts';

const verdictOf = (story: Story, end_us = 10_000_000): ReturnType<typeof judge> => judge(oneBond, story.end(end_us));

/** Another number of bonds for so long, since a person lifted or put one. */
const wrongFor = (for_us: number, bonds = 0): Story =>
  onGrid()
    .happening(1_000_000, 'bond', bonds === 0 ? 'bond parted' : 'bond joined', 'person')
    .frame(1_000_000, { 'house.bonds': bonds })
    .happening(1_000_000 + for_us, 'bond', bonds === 0 ? 'bond joined' : 'bond parted', 'controller')
    .frame(1_000_000 + for_us, { 'house.bonds': 1 });

describe('oneBond', () => {
  it('passes a live section with one bond, and is not armed by a dark one', () => {
    expect(verdictOf(onGrid())).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { value: 1 } } });
    const dark = new Story(house()).frame(0, { ...ON_GRID, ...HOUSE_DARK });
    expect(verdictOf(dark)).toMatchObject({ armed: 0, outcome: { is: 'not exercised', why: 'never armed' } });
  });

  it.each([0, 2])('lets %i bonds stand for 100 ms: exactly passes, one µs late fails by the whole scale', (bonds) => {
    expect(verdictOf(wrongFor(50_000, bonds)).outcome).toMatchObject({ is: 'pass', worst: { value: 0.5 } });
    expect(verdictOf(wrongFor(100_000, bonds)).outcome).toMatchObject({ is: 'pass', worst: { value: 0 } });
    expect(verdictOf(wrongFor(100_001, bonds)).outcome).toMatchObject({
      is: 'fail',
      against: 'person',
      worst: { value: -1 },
    });
  });

  it('is cut short where the run ends before the 100 ms are over', () => {
    const wrong = (): Story => onGrid().frame(1_000_000, { 'house.bonds': 0 });
    expect(verdictOf(wrong(), 1_100_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(wrong(), 1_100_001).outcome).toMatchObject({ is: 'fail', against: 'site' });
  });

  it('holds an island without bond against who left it so, not against who forms it', () => {
    const lifted = darkHouse()
      .happening(1_600_000, 'bond', 'bond parted', 'person')
      .frame(1_600_000, { 'house.bonds': 2 })
      .frame(1_700_000, { 'house.bonds': 0 })
      .happening(1_800_000, 'grid', 'neutral lost', 'utility')
      .frame(1_800_000, { 'house.v1': 1 });
    expect(verdictOf(forms(lifted, 3_000_000, { 'house.bonds': 0 })).outcome).toMatchObject({
      is: 'fail',
      against: 'person',
    });
  });

  it('holds two bonds that stood from the start against the site, for the hour that they stood', () => {
    const double = new Story(house()).frame(0, { ...ON_GRID, 'house.bonds': 2 });
    expect(verdictOf(double, 1).outcome).toMatchObject({ is: 'fail', against: 'site', worst: { value: -10 } });
  });

  it('stops counting as the section goes dark', () => {
    const story = onGrid()
      .frame(1_000_000, { 'house.bonds': 0 })
      .frame(1_080_000, each(['house'], DARK));
    expect(verdictOf(story).outcome).toMatchObject({ is: 'pass', worst: { found: 80_000 } });
  });
});
