import { describe, expect, it } from 'vitest';
import { outageTime } from '../../../harness/rules/outage-time.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import { COMMISSIONING } from '../../../sim/gateway/boundary.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { coilOrdered, PROVED_OPEN } from './equipment-stories.ts';
import {
  CAR_READY,
  CAR_STOPS,
  DARK,
  forms,
  HOUSE_DARK,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  piece,
  poles,
  SOUND,
  STREET_DARK,
  STREET_SOUND,
  siteOf,
} from './house.ts';
import { relayCloses } from './stories.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const DARK_us = 1_000_000;
const NEVER = { armed: 0, outcome: { is: 'not exercised', why: 'never armed' } };
const verdictOf = (story: Story, end_us = 2_000_000_000): ReturnType<typeof judge> =>
  judge(outageTime, story.end(end_us));
const mode = (name: (typeof VEHICLE_MODES)[number]): Values => ({ 'car.mode': VEHICLE_MODES.indexOf(name) });
const LIT = each(['house', 'garage'], SOUND);

/** Relay open and all dark from 1 s on, the car as it is told. */
function outage(car: Values = CAR_READY, settings: Bag = {}, main: Bag = {}): Story {
  const pieces = house().pieces.map((each) => {
    if (each.id === 'main') return { ...each, params: { ...each.params, ...main } };
    return each.id === 'car' ? { ...each, params: { rated: 10_000, reserve: 0.2, bootTime: 60_000_000 } } : each;
  });
  return new Story(siteOf('house', pieces, settings))
    .frame(0, { ...ON_GRID, ...car })
    .happening(DARK_us, 'grid', 'supply lost', 'utility')
    .happening(DARK_us, 'gateway', 'orders relayCoil 0', 'controller')
    .frame(DARK_us, { ...HOUSE_DARK, ...STREET_DARK });
}
const litAfter = (after_us: number, story = outage()): Story => story.frame(DARK_us + after_us, LIT);

describe('outageTime', () => {
  it('is not armed without darkness, nor by one of 20 ms', () => {
    expect(verdictOf(onGrid())).toMatchObject(NEVER);
    expect(verdictOf(litAfter(20_000))).toMatchObject(NEVER);
    expect(verdictOf(litAfter(20_001)).armed).toBe(1);
  });

  it('gives a source that is awake 10 s, known to half a cycle', () => {
    expect(verdictOf(litAfter(9_900_000)).outcome).toMatchObject({ is: 'pass', worst: { found: 9_900_000 } });
    expect(verdictOf(litAfter(10_000_000)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(litAfter(10_001_000).wave(990_000, 11_100_000)).outcome).toMatchObject({ is: 'fail' });
    expect(verdictOf(litAfter(10_009_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    expect(verdictOf(litAfter(15_000_000)).outcome).toMatchObject({ worst: { value: -0.5, limit: 10_000_000 } });
  });

  it.each(['asleep', 'booting'] as const)('gives one that is %s its boot time and 15 s', (name) => {
    const { outcome } = verdictOf(litAfter(30_000_000, outage({ ...CAR_READY, ...mode(name) })));
    expect(outcome).toMatchObject({ is: 'pass', worst: { limit: 75_000_000, value: 0.6 } });
  });

  it.each([
    ['unplugged', { 'car.plugged': 0 }],
    ['faulted', mode('faulted')],
    ['stopped by its own protection', mode('stopped')],
    ['at its reserve', { 'car.soc': 0.2 }],
    ['not commissioned', { 'gateway.in.commissioning': 15 }],
    ['locked out', { 'gateway.lockout': 1 }],
    ['behind an open breaker', { 'garage.part': 7 }],
    ['with a fault where it would feed', { 'short.struck': 1 }],
  ] as const)('is not armed by a source that cannot be had: %s', (_what, car) => {
    const without = outage(CAR_READY).frame(DARK_us, car as Values);
    expect(verdictOf(without, DARK_us + 50_000_000).outcome.is).not.toBe('fail');
    expect(
      verdictOf(outage({ ...CAR_READY, 'garage.part': 1, ...car }).frame(DARK_us, car as Values)).violations,
    ).toEqual({ controller: 0, person: 0, equipment: 0, utility: 0, site: 0 });
  });

  it('times a source from when it can be had', () => {
    const plugged = outage({ ...CAR_READY, 'car.plugged': 0 }).frame(100_000_000, { 'car.plugged': 1 });
    expect(verdictOf(plugged.frame(105_000_000, LIT)).outcome).toMatchObject({ worst: { found: 5_000_000 } });
  });

  it('counts a darkness that is still open at the end: late fails, not yet late is owed', () => {
    expect(verdictOf(outage(), DARK_us + 10_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(outage(), DARK_us + 10_100_000).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('takes one leg below 0.50 pu for dark', () => {
    const leg = (u2: number): Story =>
      new Story(house()).frame(0, { ...ON_GRID, ...CAR_READY }).frame(DARK_us, { 'house.u2': u2 });
    expect(verdictOf(leg(59.9)).outcome.is).toBe('fail');
    expect(verdictOf(leg(106))).toMatchObject(NEVER);
  });

  it('does not leave a house dark beside a utility that was good for T_return and 10 s', () => {
    const back = (closes_us: number, settings: Bag = {}): Story =>
      relayCloses(outage({ 'car.plugged': 0 }, settings).frame(2_000_000, STREET_SOUND), closes_us).frame(
        closes_us + 10,
        LIT,
      );
    expect(verdictOf(back(311_000_000)).outcome).toMatchObject({ is: 'pass', worst: { limit: 310_000_000 } });
    expect(verdictOf(back(313_000_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    expect(verdictOf(back(75_000_000, { returnGood: 60_000_000 })).outcome).toMatchObject({ is: 'fail' });
    const open = outage({ 'car.plugged': 0 }).frame(2_000_000, STREET_SOUND);
    expect(verdictOf(open, 313_000_000).outcome.is).toBe('fail');
    const locked = outage({ 'car.plugged': 0, 'gateway.lockout': 1 }).frame(2_000_000, STREET_SOUND);
    expect(verdictOf(locked)).toMatchObject(NEVER);
  });

  it('times no utility for a bus that a contact behind the relay keeps from it', () => {
    const site = siteOf('house', [
      ...house().pieces.filter(({ kind }) => kind !== 'load'),
      piece('shed', 'load', ['garage']),
    ]);
    const story = new Story(site)
      .frame(0, { ...ON_GRID, ...CAR_READY, 'car.plugged': 0 })
      .frame(DARK_us, { ...HOUSE_DARK, ...STREET_DARK, 'garage.part': 9 })
      .frame(2_000_000, STREET_SOUND);
    expect(verdictOf(story)).toMatchObject(NEVER);
  });

  describe('on the way back', () => {
    const GOOD_us = 400_000_000;
    const stops = (settings: Bag = {}): Story =>
      forms(outage(CAR_READY, settings), 3_000_000)
        .frame(10_000_000, STREET_SOUND)
        .happening(GOOD_us, 'car', 'stops', 'controller')
        .frame(GOOD_us, { ...CAR_STOPS, ...each(['house', 'garage'], DARK), 'gateway.vehicleCommand': 5 });
    const closes = (story: Story, at_us: number): Story => relayCloses(story, at_us).frame(at_us + 10, LIT);

    it('gives break before make 2 s', () => {
      expect(verdictOf(closes(stops(), GOOD_us + 1_900_000)).outcome).toMatchObject({
        is: 'pass',
        worst: { limit: 2_000_000 },
      });
      expect(verdictOf(closes(stops(), GOOD_us + 2_100_000)).outcome).toMatchObject({
        is: 'fail',
        against: 'controller',
      });
    });

    it('is an outage like another where the utility fails in the gap, from the first darkness on', () => {
      const fails = (lit_us: number): Story =>
        stops()
          .frame(GOOD_us + 500_000, STREET_DARK)
          .frame(GOOD_us + lit_us, LIT);
      expect(verdictOf(fails(9_000_000)).outcome).toMatchObject({ is: 'pass', worst: { found: 9_000_000 } });
      expect(verdictOf(fails(11_000_000)).outcome.is).toBe('fail');
    });

    it('is none before the utility has been good for T_return', () => {
      const early = forms(outage(), 3_000_000)
        .frame(10_000_000, STREET_SOUND)
        .happening(309_000_000, 'car', 'stops', 'controller')
        .frame(309_000_000, { ...CAR_STOPS, ...each(['house', 'garage'], DARK) });
      expect(verdictOf(early.frame(314_000_000, LIT)).outcome).toMatchObject({ is: 'pass', worst: { value: 0.5 } });
    });

    it('is none where the source stops by itself', () => {
      const story = forms(outage(), 3_000_000)
        .frame(10_000_000, STREET_SOUND)
        .happening(GOOD_us, 'car', 'stops', 'equipment')
        .frame(GOOD_us, { ...CAR_STOPS, ...each(['house', 'garage'], DARK) });
      expect(verdictOf(story.frame(GOOD_us + 5_000_000, LIT)).outcome.is).toBe('pass');
    });
  });

  describe('behind a main that a hand has open', () => {
    const opened = (settings: Bag): Story =>
      mainOpened(new Story(house(settings)).frame(0, { ...ON_GRID, ...CAR_READY }), DARK_us).frame(
        DARK_us,
        each(['panel', 'house', 'garage'], DARK),
      );

    it('gives a trial 120 s', () => {
      const tried = (lit_us: number): Story => opened({ handOpening: 'outage' }).frame(DARK_us + lit_us, LIT);
      expect(verdictOf(tried(119_000_000)).outcome).toMatchObject({ is: 'pass', worst: { limit: 120_000_000 } });
      expect(verdictOf(tried(121_000_000)).outcome).toMatchObject({ is: 'fail' });
    });

    it('cannot tell a trip from a hand where an open main means isolation, and gives it 10 s where it does not', () => {
      const trips = (settings: Bag): Story =>
        new Story(house(settings))
          .frame(0, { ...ON_GRID, ...CAR_READY })
          .happening(DARK_us, 'main', 'parts L1', 'equipment')
          .frame(DARK_us, { ...poles('main', 0), ...HOUSE_DARK, ...STREET_DARK });
      expect(verdictOf(trips({}))).toMatchObject(NEVER);
      expect(verdictOf(trips({ handOpening: 'outage' })).outcome).toMatchObject({
        is: 'fail',
        worst: { limit: 10_000_000 },
      });
    });

    it('stays dark for isolation, until somebody there asks or the main is closed again', () => {
      expect(verdictOf(opened({}))).toMatchObject(NEVER);
      const asks = opened({}).frame(50_000_000, { 'gateway.in.request': 1, 'gateway.in.onSite': 1 });
      expect(verdictOf(asks.frame(160_000_000, LIT)).outcome).toMatchObject({
        is: 'pass',
        worst: { found: 110_000_000 },
      });
      const closed = opened({}).frame(40_000_000, poles('main', 1));
      expect(verdictOf(closed, 51_000_000).outcome).toMatchObject({ is: 'fail', worst: { found: 11_000_000 } });
    });
  });

  it.each([
    ['an order to form that stood in time', { 'gateway.vehicleCommand': 4 }, 'equipment'],
    ['a reading that has stopped', { 'gateway.in.utilityL12.state': 1 }, 'equipment'],
    ['neither', {}, 'controller'],
  ] as const)('holds it against who kept it dark: %s', (_what, changes, against) => {
    const story = outage().frame(3_000_000, changes as Values);
    expect(verdictOf(litAfter(11_000_000, story)).outcome).toMatchObject({ is: 'fail', against });
    const late = outage().frame(9_000_000, changes as Values);
    if ('gateway.vehicleCommand' in changes)
      expect(verdictOf(litAfter(11_000_000, late)).outcome).toMatchObject({ against: 'controller' });
  });

  it('holds a relay that does not close, and a former that has let go, against the equipment', () => {
    const coil = outage({ 'car.plugged': 0 })
      .frame(2_000_000, STREET_SOUND)
      .frame(300_000_000, { 'gateway.relayCoil': 1 });
    expect(verdictOf(coil).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    const pieces = [...house().pieces, piece('middle', 'former', ['house'], { rating: 40 }, ['L1', 'L2', 'N'])];
    const story = (): Story =>
      new Story(siteOf('house', pieces))
        .frame(0, { ...ON_GRID, ...CAR_READY })
        .happening(500_000, 'middle', 'open by itself', 'equipment')
        .happening(DARK_us, 'gateway', 'orders relayCoil 0', 'controller')
        .frame(DARK_us, { ...HOUSE_DARK, ...STREET_DARK });
    expect(verdictOf(story(), 60_000_000).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    const mended = story().happening(100_000_000, 'middle', 'mend', 'equipment').frame(108_000_000, LIT);
    expect(verdictOf(mended).outcome).toMatchObject({ is: 'pass', worst: { found: 8_000_000 } });
  });

  it('holds a relay that has refused each try to close against the equipment', () => {
    const waits = (): Story => outage({ 'car.plugged': 0 }).frame(2_000_000, STREET_SOUND);
    expect(verdictOf(waits(), 330_000_000).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    const tried = coilOrdered(coilOrdered(waits(), 302_000_000, 1), 302_100_000, 0);
    expect(verdictOf(tried, 330_000_000).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  it('is not armed by a relay that does not prove open, until a person has cleared it', () => {
    const stuck = (): Story =>
      coilOrdered(new Story(house()).frame(0, { ...ON_GRID, ...CAR_READY }), DARK_us, 0, {
        ...each(['panel', 'house', 'garage'], DARK),
        ...STREET_DARK,
      });
    const noticed = (): Story => stuck().frame(1_100_001, { 'house.u1': 1 });
    expect(verdictOf(noticed()).outcome).toMatchObject({ is: 'pass', worst: { found: 100_001 } });
    const cleared = noticed().frame(50_000_000, { 'gateway.in.request': 3 });
    expect(verdictOf(cleared, 50_090_000).outcome).toMatchObject({ why: 'cut short' });
    const lit = coilOrdered(stuck().frame(1_010_000, PROVED_OPEN), 3_000_000, 0).frame(12_000_000, LIT);
    expect(verdictOf(lit).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('holds it against the equipment where the house reads live, or the former out, though it is not', () => {
    const lie = (changes: Values, story = outage()): Story => story.frame(2_000_000, changes);
    expect(verdictOf(litAfter(11_000_000, lie({ 'gateway.in.backupL1': 120_000 }))).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
    });
    const told = lie({ 'gateway.in.backupL1': 120_000 }).frame(2_090_000, { 'gateway.in.backupL1': 0 });
    expect(verdictOf(litAfter(11_000_000, told)).outcome).toMatchObject({ against: 'controller' });
    expect(verdictOf(litAfter(11_000_000, lie({ 'gateway.in.supplyContactor': 2 }))).outcome).toMatchObject({
      against: 'equipment',
    });
    expect(verdictOf(litAfter(11_000_000, lie({ 'gateway.in.supplyContactor': 1 }))).outcome).toMatchObject({
      against: 'controller',
    });
  });

  it('takes a charge that had run down for a source only when it has recovered, at most a tenth above its reserve', () => {
    const recovers = (soc: number, settings: Bag): Story =>
      outage({ ...CAR_READY, 'car.soc': 0.2 }, settings).frame(50_000_000, { 'car.soc': soc });
    const end_us = 100_000_000;
    expect(verdictOf(recovers(0.25, { reserveReturn: 0.05 }), end_us)).toMatchObject(NEVER);
    expect(verdictOf(recovers(0.26, { reserveReturn: 0.05 }), end_us).outcome.is).toBe('fail');
    expect(verdictOf(recovers(0.31, { reserveReturn: 0.5 }), end_us).outcome.is).toBe('fail');
    expect(verdictOf(recovers(0.21, {}), end_us).outcome.is).toBe('fail');
  });

  it('holds it against the equipment where the controller has lost its supply meanwhile', () => {
    const restarted = outage().happening(5_000_000, 'gateway', 'restart', 'equipment').frame(5_000_000);
    expect(verdictOf(litAfter(11_000_000, restarted)).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  it('asks no third time within 10 min for a source that has stopped by itself twice', () => {
    const collapses = (story: Story, at_us: number, origin: 'equipment' | 'controller' = 'equipment'): Story =>
      forms(story, at_us)
        .happening(at_us + 1_000_000, 'car', 'stops', origin)
        .frame(at_us + 1_000_000, { ...CAR_STOPS, ...each(['house', 'garage'], DARK) });
    const twice = (): Story => collapses(collapses(outage(), 5_000_000), 15_000_000);
    expect(verdictOf(twice(), 606_000_000).outcome.is).toBe('pass');
    expect(verdictOf(twice(), 615_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(twice(), 617_000_000).outcome).toMatchObject({ is: 'fail', worst: { found: 11_000_000 } });
    expect(verdictOf(collapses(outage(), 5_000_000), 30_000_000).outcome.is).toBe('fail');
    const ordered = collapses(collapses(outage(), 5_000_000, 'controller'), 15_000_000);
    expect(verdictOf(ordered, 30_000_000).outcome.is).toBe('fail');
  });

  it('wants a low voltage told by another reason within 10 s', () => {
    const low = (): Story => onGrid().frame(DARK_us, { 'house.u1': 80 });
    const told = (after_us: number): Story => low().frame(DARK_us + after_us, { 'gateway.reason': 3 });
    expect(verdictOf(told(9_000_000)).outcome).toMatchObject({ is: 'pass', worst: { found: 9_000_000 } });
    expect(verdictOf(told(11_000_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    expect(verdictOf(low(), DARK_us + 9_000_000).outcome).toMatchObject({ why: 'cut short' });
    expect(verdictOf(low(), DARK_us + 11_000_000).outcome.is).toBe('fail');
    const untold = low().frame(DARK_us + 2_000_000, { 'house.u1': 81 });
    expect(verdictOf(untold, DARK_us + 11_000_000).outcome.is).toBe('fail');
    // Said from the first half wave on, before a whole cycle was low.
    const early = onGrid()
      .frame(DARK_us - 10_000, { 'gateway.reason': 3 })
      .frame(DARK_us, { 'house.u1': 80 });
    expect(verdictOf(early, DARK_us + 20_000_000)).toMatchObject(NEVER);
    const other = onGrid()
      .frame(DARK_us - 60_000, { 'gateway.reason': 3 })
      .frame(DARK_us, { 'house.u1': 80 });
    expect(verdictOf(other, DARK_us + 20_000_000).outcome.is).toBe('fail');
    const short = low().frame(DARK_us + 5_000_000, { 'house.u1': 120 });
    expect(verdictOf(short).outcome).toMatchObject({ is: 'pass', worst: { value: 0.5 } });
  });
});

describe('outageTime where no contact shows the main', () => {
  it('leaves a house dark in any outage where every opening may mean isolation, until a person asks', () => {
    const blind = outage(CAR_READY, { handOpening: 'isolation', formWhenHandOpenedUnknown: false }, { aux: false });
    expect(verdictOf(blind, 60_000_000)).toMatchObject(NEVER);
    const shown = outage(CAR_READY, { handOpening: 'isolation', formWhenHandOpenedUnknown: false });
    expect(verdictOf(shown, 60_000_000).outcome.is).toBe('fail');
  });
});

describe('COMMISSIONED', () => {
  it('has every bit of the boundary table', () => {
    expect(Object.values(COMMISSIONING).reduce((sum, bit) => sum + bit, 0)).toBe(31);
  });
});
