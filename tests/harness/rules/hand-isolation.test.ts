import { describe, expect, it } from 'vitest';
import { handIsolation } from '../../../harness/rules/hand-isolation.ts';
import { REQUEST_FORM } from '../../../harness/rules/hand-opening.ts';
import { REQUEST } from '../../../sim/gateway/boundary.ts';
import type { Bag } from '../../../sim/site-description.ts';
import {
  BEHIND_MAIN,
  darkHouse,
  forms,
  HOUSE_DARK,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  poles,
  siteOf,
} from './house.ts';
import { HOUSE_OFF, relayCloses } from './stories.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const OPENED_us = 1_000_000;
const verdictOf = (story: Story, end_us = 900_000_000): ReturnType<typeof judge> =>
  judge(handIsolation, story.end(end_us));
/** Opened by hand at 1 s, dead from 1.5 s on. */
const atWork = (settings: Bag = {}): Story => mainOpened(onGrid(settings), OPENED_us).frame(1_500_000, HOUSE_OFF);
const ASKS: Values = { 'gateway.in.request': REQUEST_FORM, 'gateway.in.onSite': 1 };
const NEVER = { armed: 0, outcome: { is: 'not exercised', why: 'never armed' } };

describe('handIsolation', () => {
  it('is armed by a hand that opens the main, and passes where all stays dead', () => {
    expect(verdictOf(atWork())).toMatchObject({ armed: 1, outcome: { is: 'pass' } });
    expect(verdictOf(onGrid())).toMatchObject(NEVER);
  });

  it('is not armed where an opening is an outage, by a trip, or where no contact shows the main', () => {
    expect(verdictOf(forms(atWork({ handOpening: 'outage' }), 3_000_000))).toMatchObject(NEVER);
    const trips = onGrid()
      .happening(OPENED_us, 'main', 'parts L1', 'equipment')
      .frame(OPENED_us, { ...poles('main', 0), ...each(BEHIND_MAIN, { present1: 0, present2: 0, part: 2 }) });
    expect(verdictOf(trips)).toMatchObject(NEVER);
    const blind = (settings: Bag): Story => {
      const pieces = house().pieces.map((piece) =>
        piece.id === 'main' ? { ...piece, params: { role: 'main', aux: false } } : piece,
      );
      return mainOpened(new Story(siteOf('house', pieces, settings)).frame(0, ON_GRID), OPENED_us);
    };
    expect(verdictOf(blind({}))).toMatchObject(NEVER);
    expect(verdictOf(blind({ formWhenHandOpenedUnknown: false })).armed).toBe(1);
  });

  it('gives a voltage 5 s to go, known to half a cycle, and holds it against the hand', () => {
    const deadAfter = (after_us: number): Story =>
      mainOpened(onGrid(), OPENED_us).frame(OPENED_us + after_us, HOUSE_OFF);
    expect(verdictOf(deadAfter(5_000_000)).outcome.is).toBe('pass');
    expect(verdictOf(deadAfter(5_000_001)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(deadAfter(5_000_001).wave(5_990_000, 6_010_010)).outcome.is).toBe('fail');
    expect(verdictOf(deadAfter(5_008_340)).outcome).toMatchObject({
      is: 'fail',
      against: 'person',
      worst: { value: -1 },
    });
  });

  it('takes 0.10 pu for dead', () => {
    const left = (u1: number): Story => atWork().frame(2_000_000, { 'house.u1': u1 });
    expect(verdictOf(left(12)).outcome.is).toBe('pass');
    expect(verdictOf(left(12.1)).outcome.is).toBe('fail');
  });

  it('is cut short where the run ends with voltage before the 5 s are over', () => {
    const open = mainOpened(onGrid(), OPENED_us);
    expect(verdictOf(open, 6_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(mainOpened(onGrid(), OPENED_us), 6_010_000).outcome.is).toBe('fail');
  });

  it('lets nobody form, and holds a start against who made it', () => {
    expect(verdictOf(forms(atWork(), 3_000_000))).toMatchObject({
      outcome: { is: 'fail', against: 'controller', worst: { value: -1, at_us: 3_000_000 } },
    });
    const byItself = atWork()
      .happening(3_000_000, 'car', 'forms', 'equipment')
      .frame(3_000_000, { 'car.forms': 1, 'car.energises': 1 });
    expect(verdictOf(byItself).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  it('judges nothing once the main is closed again', () => {
    const closed = atWork().frame(2_000_000, poles('main', 1));
    expect(verdictOf(forms(closed, 3_000_000)).outcome.is).toBe('pass');
  });

  it('lets a person on the spot ask for the island, for 600 s: exactly passes, one µs late fails', () => {
    const asked = (forms_us: number): Story => forms(atWork().frame(2_000_000, ASKS), forms_us);
    expect(verdictOf(asked(602_000_000)).outcome.is).toBe('pass');
    expect(verdictOf(asked(602_000_001)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    const tighter = forms(atWork({ requestLapse: 1_000_000 }).frame(2_000_000, ASKS), 3_500_000);
    expect(verdictOf(tighter).outcome.is).toBe('fail');
    const afar = forms(atWork().frame(2_000_000, { ...ASKS, 'gateway.in.onSite': 0 }), 3_000_000);
    expect(verdictOf(afar).outcome.is).toBe('fail');
  });

  it('lets an island that was asked for stand after the request has lapsed, but not start again', () => {
    const stands = forms(atWork().frame(2_000_000, ASKS), 3_000_000);
    expect(verdictOf(stands).outcome.is).toBe('pass');
    const again = forms(
      forms(atWork().frame(2_000_000, ASKS), 3_000_000).frame(10_000_000, {
        ...HOUSE_OFF,
        'car.forms': 0,
        'car.energises': 0,
      }),
      700_000_000,
    );
    expect(verdictOf(again).outcome.is).toBe('fail');
    const dark = { ...HOUSE_OFF, 'car.forms': 0, 'car.energises': 0 };
    const back = forms(atWork().frame(2_000_000, ASKS), 3_000_000)
      .frame(10_000_000, dark)
      .happening(20_000_000, 'iso', 'touches L1', 'equipment')
      .frame(20_000_000, { 'house.v1': 60 });
    expect(verdictOf(back).outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { at_us: 20_000_000 } });
  });

  it('leaves alone an island that ran behind an open relay, until the relay closes on the section', () => {
    const running = (): Story =>
      mainOpened(forms(darkHouse(), 2_000_000), 3_000_000, {
        ...each(['house', 'garage'], { part: 3, supply: 2, neutralHeld: 1 }),
      });
    expect(verdictOf(running())).toMatchObject({ armed: 1, outcome: { is: 'pass' } });
    const closed = relayCloses(running(), 20_000_000).frame(20_000_001, { 'panel.u1': 120 }).frame(30_000_000);
    expect(verdictOf(closed).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('holds a house that was dark already as the main was opened', () => {
    const story = mainOpened(darkHouse(), 2_000_000, HOUSE_DARK);
    expect(verdictOf(forms(story, 3_000_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });
});

describe('REQUEST_FORM', () => {
  it('is the code that the boundary table has', () => {
    expect(REQUEST_FORM).toBe(REQUEST.form);
  });
});
