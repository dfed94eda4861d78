import { describe, expect, it } from 'vitest';
import { deadBusForm } from '../../../harness/rules/dead-bus-form.ts';
import { COMMAND_FORM } from '../../../harness/rules/evidence.ts';
import { VEHICLE_COMMAND } from '../../../sim/gateway/boundary.ts';
import {
  BEHIND_RELAY,
  CAR_STOPS,
  darkHouse,
  forms,
  HOUSE_FORMED,
  mainOpened,
  onGrid,
  SCAN_SEES_OPEN,
} from './house.ts';
import { each, judge, type Story, type Values } from './telemetry-builder.ts';

const END_us = 6_000_000;
const verdictOf = (story: Story): ReturnType<typeof judge> => judge(deadBusForm, story.end(END_us));
const formed = (at_us = 3_000_000, changes: Values = {}, seen: Values = SCAN_SEES_OPEN): Story =>
  forms(darkHouse(), at_us, changes, seen);

describe('deadBusForm', () => {
  it('wants all line poles of the relay open for 50 ms: exactly passes, one µs less fails', () => {
    expect(verdictOf(formed(1_550_000)).outcome).toMatchObject({ is: 'fail' }); // The bus was live less than 100 ms ago.
    const late = (parts_us: number): Story => {
      const story = darkHouse().frame(1_600_000, { 'iso.L2': 1 });
      return forms(story.frame(parts_us, { 'iso.L2': 0 }), 3_000_000);
    };
    expect(verdictOf(late(2_950_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 50_000 } });
    expect(verdictOf(late(2_950_001)).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { found: 49_999 },
    });
    const unproved = forms(darkHouse().frame(1_600_000, { 'iso.L2': 1 }), 3_000_000, {}, {});
    expect(verdictOf(unproved).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { value: -1 } });
  });

  it('holds a welded pole behind a contact that says open against the equipment', () => {
    const story = darkHouse().happening(1_600_000, 'iso', 'welds L2', 'equipment').frame(1_600_000, { 'iso.L2': 2 });
    expect(verdictOf(forms(story, 3_000_000)).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { value: -1, found: 0 },
    });
  });

  it('takes no open main for an open relay', () => {
    const story = forms(
      mainOpened(onGrid(), 1_000_000).frame(
        1_500_000,
        each(BEHIND_RELAY, { v1: 0, v2: 0, v12: 0, u1: 0, u2: 0, u12: 0 }),
      ),
      3_000_000,
      {},
      {},
    );
    const { outcome, violations } = verdictOf(story);
    expect(outcome).toMatchObject({ is: 'fail', against: 'controller' });
    // Relay closed, PV neither tripped nor without permit, no proof in hand, and still unproved at the end.
    expect(violations).toEqual({ controller: 4, person: 0, equipment: 0, utility: 0, site: 0 });
  });

  it.each([
    [{ 'garage.u1': 12 }, 'pass', 0],
    [{ 'garage.u2': 12.6 }, 'fail', -0.05],
    [{ 'garage.v12': 26.4 }, 'fail', -0.1],
  ] as const)('holds the bus to 0.10 pu, whatever carries it: %o is a %s', (changes, is, value) => {
    const { outcome } = verdictOf(forms(darkHouse().frame(2_000_000, changes), 3_000_000, { 'garage.u1': 0 }));
    expect(outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('looks back 100 ms, and does not know within half a cycle of that', () => {
    const lived = (until_us: number): Story => {
      const story = darkHouse().frame(2_000_000, { 'garage.u1': 60 }).frame(until_us, { 'garage.u1': 0 });
      return forms(story, 3_000_000, { 'garage.u1': 0 });
    };
    expect(verdictOf(lived(2_890_000)).outcome.is).toBe('pass');
    expect(verdictOf(lived(2_900_000)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(lived(2_900_001).wave(2_890_000, 3_010_000)).outcome).toMatchObject({
      is: 'fail',
      worst: { found: 0.5 },
    });
    expect(verdictOf(lived(2_900_000).wave(2_890_000, 3_010_000)).outcome.is).toBe('pass');
    expect(verdictOf(lived(2_915_000)).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { value: -4 },
    });
  });

  it('holds a live bus that reads dead against the equipment', () => {
    const blownFuse = {
      ...SCAN_SEES_OPEN,
      'gateway.in.backupL1': 0,
      'gateway.in.backupL2': 0,
      'gateway.in.backupL12': 0,
    };
    const live = darkHouse().frame(2_000_000, { 'garage.u1': 60, 'garage.v1': 60 });
    expect(verdictOf(forms(live, 3_000_000, {}, blownFuse)).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
    });
    const seen = { ...SCAN_SEES_OPEN, 'gateway.in.backupL1': 60_000 };
    const again = darkHouse().frame(2_000_000, { 'garage.u1': 60, 'garage.v1': 60 });
    expect(verdictOf(forms(again, 3_000_000, {}, seen)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('wants every inverter beside it tripped or without permit; momentary cessation is neither', () => {
    expect(verdictOf(formed(3_000_000, { 'roof.tripped': 0 })).outcome.is).toBe('pass');
    expect(verdictOf(formed(3_000_000, { 'roof.permit': 1 })).outcome.is).toBe('pass');
    const waiting = verdictOf(formed(3_000_000, { 'roof.tripped': 0, 'roof.permit': 1 }));
    expect(waiting.outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { value: -1 } });
    // Behind an open breaker of its own it is not beside.
    const apart = forms(darkHouse(), 3_000_000, { 'roof.tripped': 0, 'roof.permit': 1, 'garage.part': 7 });
    expect(verdictOf(apart).outcome.is).toBe('pass');
  });

  it.each([
    [{ 'gateway.in.relayL1Open.age': 50_000 }, 'pass'],
    [{ 'gateway.in.relayL1Open.age': 50_001 }, 'fail'],
    // Stale: as old as the sample that it holds. The scan stands at 2.98 s.
    [{ 'gateway.in.relayL2Open.state': 1, 'gateway.in.relayL2Open.heldFrom': 2_930_000 }, 'pass'],
    [{ 'gateway.in.relayL2Open.state': 1, 'gateway.in.relayL2Open.heldFrom': 2_929_999 }, 'fail'],
    [{ 'gateway.in.relayL2Open': 0 }, 'fail'],
    [{ 'gateway.in.relayL1Closed': 1 }, 'fail'],
    [{ 'gateway.in.relayL2Closed.state': 2 }, 'fail'],
  ] as const)('wants proof in hand at the deciding scan, at most 50 ms old: %o is a %s', (seen, is) => {
    const { outcome } = verdictOf(formed(3_000_000, {}, { ...SCAN_SEES_OPEN, ...seen }));
    expect(outcome.is).toBe(is);
    if (outcome.is === 'fail') expect(outcome.against).toBe('controller');
  });

  it('reads the evidence at the scan that ordered, not at the start', () => {
    const story = forms(darkHouse(), 3_000_000, { 'gateway.in.relayL1Open': 0, 'gateway.in.relayL1Open.age': 900_000 });
    expect(verdictOf(story).outcome.is).toBe('pass');
  });

  it('knows what an order saw that was withdrawn on its way, for 100 ms', () => {
    const withdrawn = (at_us: number): Story =>
      darkHouse()
        .frame(2_880_000, { 'gateway.vehicleCommand': 4, ...SCAN_SEES_OPEN })
        .frame(at_us, { 'gateway.vehicleCommand': 5, 'gateway.in.relayL2Open': 0 })
        .frame(2_995_000, {})
        .happening(3_000_000, 'car', 'forms', 'controller')
        .frame(3_000_000, { ...HOUSE_FORMED, 'gateway.vehicleCommand': 5 });
    expect(verdictOf(withdrawn(2_900_000)).outcome.is).toBe('pass');
    expect(verdictOf(withdrawn(2_890_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it.each(['person', 'equipment', 'utility'] as const)(
    'holds a source that forms without an order against who made it: %s',
    (origin) => {
      const story = darkHouse()
        .happening(3_000_000, 'car', 'forms', origin)
        .frame(3_000_000, { 'car.forms': 1, 'car.energises': 1 });
      expect(verdictOf(story).outcome).toMatchObject({ is: 'fail', against: origin });
    },
  );

  it('gives 100 ms from loss of proof to source off: exactly passes, one µs late fails, against who moved the relay', () => {
    const off = (after_us: number, origin: 'equipment' | 'controller' = 'equipment'): Story =>
      formed()
        .happening(4_000_000, 'iso', 'touches L1', origin)
        .frame(4_000_000, { 'iso.openProved1': 0 })
        .frame(4_000_000 + after_us, CAR_STOPS);
    expect(verdictOf(off(100_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0 } });
    expect(verdictOf(off(100_001)).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
    expect(verdictOf(off(200_000, 'controller')).outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { value: -1 },
    });
  });

  it('holds a closing whose proof goes 3 ms before its touch against whoever closed, not against an older touch', () => {
    const story = formed()
      .happening(1_000, 'iso', 'touches L1', 'person')
      .frame(4_000_000, { 'iso.openProved1': 0 })
      .happening(4_003_000, 'iso', 'touches L1', 'controller')
      .frame(4_003_000, { 'iso.L1': 1 });
    expect(judge(deadBusForm, story.end(6_000_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('leaves the ramp of the source itself out of what stood on its bus: 0.09 pu of its own are none', () => {
    const ramp = darkHouse()
      .frame(2_990_000, {
        'car.forms': 1,
        'car.reference': 0.019,
        'house.u1': 2.28,
        'house.u2': 2.28,
        'house.u12': 4.56,
      })
      .frame(3_000_000, {});
    const { outcome } = verdictOf(forms(ramp, 3_000_000));
    expect(outcome).toMatchObject({ is: 'pass' });
    expect(outcome.is === 'pass' && outcome.worst.value).toBeGreaterThan(0.5);
  });

  it('is cut short where the run ends before the 100 ms are over', () => {
    const open = (end_us: number) =>
      judge(deadBusForm, formed().frame(4_000_000, { 'iso.openProved1': 0 }).end(end_us)).outcome;
    expect(open(4_100_000)).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(open(4_100_001)).toMatchObject({ is: 'fail', against: 'site' });
  });

  it('is not armed by a proving test, which does not energise', () => {
    const story = darkHouse().frame(3_000_000, { 'car.forms': 1, 'car.reference': 0.02 });
    expect(verdictOf(story)).toMatchObject({ armed: 0, outcome: { is: 'not exercised', why: 'never armed' } });
  });
});

describe('COMMAND_FORM', () => {
  it('is the code that the boundary table has', () => {
    expect(COMMAND_FORM).toBe(VEHICLE_COMMAND.form);
  });
});
