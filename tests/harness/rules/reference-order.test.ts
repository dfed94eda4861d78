import { describe, expect, it } from 'vitest';
import { referenceOrder } from '../../../harness/rules/reference-order.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_RELAY,
  CAR_STOPS,
  darkHouse,
  forms,
  HOUSE_DARK,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  outage,
  PV_RUNS,
  piece,
  siteOf,
} from './house.ts';
import { relayOpens } from './stories.ts';
import { each, judge, Story } from './telemetry-builder.ts';

const END_us = 6_000_000;
const verdictOf = (story: Story): ReturnType<typeof judge> => judge(referenceOrder, story.end(END_us));

describe('referenceOrder', () => {
  it.each([
    [50, 'pass', 0],
    [50.5, 'fail', -0.01],
    [5000, 'fail', -10],
  ])('holds a relay that opens on %f W of a 5 kW inverter to 1 %%: %s', (power_W, is, value) => {
    const story = new Story(house()).frame(0, { ...ON_GRID, 'roof.p': power_W });
    const { outcome, grade } = verdictOf(relayOpens(story, 2_000_000));
    expect(outcome.is).toBe(is);
    expect(grade).toBe('memory');
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
    if (outcome.is === 'fail') expect(outcome.against).toBe('controller');
  });

  it('reads the power just before, though the frame of the opening shows none', () => {
    expect(verdictOf(relayOpens(onGrid(), 2_000_000)).outcome).toMatchObject({ worst: { found: 5000, unit: 'W' } });
  });

  it('judges a relay that opens in an outage while PV runs: the street was what held it', () => {
    expect(verdictOf(relayOpens(outage(onGrid(), 1_000_000), 1_210_000)).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
    });
  });

  it('lets it open anyway when the permit has been off for 2 s in an outage, one µs less does not do', () => {
    const off = (at_us: number): Story =>
      outage(onGrid(), 1_000_000).frame(1_200_000, { 'roof.permit': 0 }).frame(at_us, {});
    expect(verdictOf(relayOpens(off(2_000_000), 3_200_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0 } });
    expect(verdictOf(relayOpens(off(2_000_000), 3_199_999)).outcome).toMatchObject({ is: 'fail' });
    // Without an outage there is no hurry.
    const calm = onGrid().frame(1_200_000, { 'roof.permit': 0 });
    expect(verdictOf(relayOpens(calm, 4_000_000)).outcome.is).toBe('fail');
  });

  it.each([
    [1, 1, 'pass'],
    [1, 1.01, 'fail'],
    [0, 0.6, 'fail'],
  ])('only reports where the neutral is held (%i) and n_isl is %f: %s', (neutralHeld, nIsl, is) => {
    const after = each(BEHIND_RELAY, { neutralHeld, nIsl });
    const { outcome, notes } = verdictOf(relayOpens(onGrid(), 2_000_000, after));
    expect(outcome.is).toBe(is);
    if (outcome.is === 'pass') expect(outcome.worst).toMatchObject({ found: 1, unit: '1' });
    expect(notes?.map(({ text }) => text)).toEqual(
      is === 'pass' ? ['roof loses its reference at 5 kW, n_isl 1.00, neutral held: reported only'] : undefined,
    );
  });

  const stops = (origin: Origin): Story =>
    forms(darkHouse(), 2_000_000)
      .frame(3_000_000, PV_RUNS)
      .happening(4_000_000, 'car', 'stops', origin)
      .frame(4_000_000, { ...CAR_STOPS, ...each(BEHIND_RELAY, { forming: 0, supply: 3, neutralHeld: 0, nIsl: 2.63 }) });

  it('judges an ordered stop with PV on; a stop by itself is not the controller’s', () => {
    expect(verdictOf(stops('controller')).outcome).toMatchObject({ is: 'fail', worst: { value: -10, found: 5000 } });
    // Armed by the relay alone, which the controller had opened over a quiet PV and an idle vehicle.
    expect(verdictOf(stops('equipment'))).toMatchObject({ armed: 2, outcome: { is: 'pass' } });
  });

  it('judges a neutral former that is opened in an island', () => {
    const base = house();
    const site = siteOf('house', [...base.pieces, piece('former', 'former', ['house'])]);
    const story = new Story(site)
      .frame(0, {
        ...ON_GRID,
        ...HOUSE_DARK,
        ...each(BEHIND_RELAY, { forming: 1, following: 1, neutralHeld: 1, supply: 2 }),
        ...PV_RUNS,
      })
      .happening(2_000_000, 'former', 'parts L1', 'controller')
      .frame(2_000_000, each(BEHIND_RELAY, { neutralHeld: 0 }));
    expect(verdictOf(story).outcome).toMatchObject({ is: 'fail', worst: { found: 5000 } });
  });

  it('leaves alone what persons, the utility and other breakers do', () => {
    expect(verdictOf(mainOpened(onGrid(), 1_000_000)).armed).toBe(0);
    expect(verdictOf(outage(onGrid(), 1_000_000)).armed).toBe(0);
    const branch = onGrid()
      .happening(1_000_000, 'ev-breaker', 'parts L1', 'controller')
      .frame(1_000_000, { 'ev-breaker.L1': 0 });
    expect(verdictOf(branch).armed).toBe(0);
  });

  it('takes charging for no power of a source', () => {
    const story = new Story(house()).frame(0, { ...ON_GRID, 'roof.p': 0, 'car.p': -9600, 'car.i': 40 });
    expect(verdictOf(relayOpens(story, 2_000_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 1 } });
  });
});
