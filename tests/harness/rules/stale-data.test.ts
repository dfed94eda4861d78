import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { staleData } from '../../../harness/rules/stale-data.ts';
import { fresh } from './equipment-stories.ts';
import { darkHouse, onGrid } from './house.ts';
import { judge, type Story, type Values } from './telemetry-builder.ts';

const of = (story: Story): Verdict => judge(staleData, story.end(30_000_000));
/** An order by a scan at 10 s that took readings of this age. */
const ordered = (order: Values, age_us: number, changes: Values = {}, story = darkHouse()): Verdict =>
  of(fresh(story, 10_000_000, 10_000, { ...order, ...changes, ...aged(order, age_us) }));

function aged(order: Values, age_us: number): Values {
  const every = Object.keys(order).length > 0 ? ['backupL1', 'relayL1Open', 'utilityL1'] : [];
  return Object.fromEntries(every.map((name) => [`gateway.in.${name}.age`, age_us]));
}

const EDGES: readonly (readonly [string, Values])[] = [
  ['close the relay', { 'gateway.relayCoil': 1 }],
  ['form', { 'gateway.vehicleCommand': 4 }],
  ['charge', { 'gateway.vehicleCommand': 1 }],
  ['permit PV', { 'gateway.pvPermit': 1 }],
];

describe('stale-data', () => {
  it('is never armed by orders in the safe direction, however old the readings', () => {
    const story = darkHouse().frame(8_000_000, {
      'gateway.pvPermit': 1,
      'gateway.relayCoil': 1,
      'gateway.vehicleCommand': 4,
    });
    const before = of(story).armed;
    const safe = { 'gateway.pvPermit': 0, 'gateway.relayCoil': 0, 'gateway.vehicleCommand': 5, 'gateway.shed': 7 };
    const later = darkHouse().frame(8_000_000, {
      'gateway.pvPermit': 1,
      'gateway.relayCoil': 1,
      'gateway.vehicleCommand': 4,
    });
    expect(of(fresh(later, 10_000_000, 9_000_000, safe)).armed).toBe(before);
  });

  it.each(EDGES)('keeps the order to %s on readings of 50 ms, and breaks it on 50.001 ms', (_name, order) => {
    const kept = ordered(order, 50_000);
    expect(kept).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { value: 0 } } });
    const broken = ordered(order, 50_001);
    expect(broken.outcome).toMatchObject({
      is: 'fail',
      against: 'controller',
      worst: { found: 50_001, scale: 50_000 },
    });
    expect(broken.violations.controller).toBe(1);
  });

  it('judges a load that is given back, and a limit of charge that is raised, not one that is lowered', () => {
    const shed = darkHouse().frame(8_000_000, { 'gateway.shed': 5 });
    expect(ordered({ 'gateway.shed': 4 }, 60_000, {}, shed).outcome.is).toBe('fail');
    const charge = (): Story =>
      darkHouse().frame(8_000_000, { 'gateway.vehicleCommand': 1, 'gateway.vehicleLimit': 20_000 });
    const armed = of(charge()).armed;
    expect(ordered({ 'gateway.vehicleLimit': 21_000 }, 10_000, {}, charge()).armed).toBe(armed + 1);
    expect(ordered({ 'gateway.vehicleLimit': 19_000 }, 10_000, {}, charge()).armed).toBe(armed);
  });

  it('takes an order to close a relay that is closed for none', () => {
    expect(
      ordered({ 'gateway.relayCoil': 1 }, 9_000_000, {}, onGrid().frame(5_000_000, { 'gateway.relayCoil': 0 })).armed,
    ).toBe(0);
  });

  it('allows 2 s of what the vehicle says and 3 s of power', () => {
    const form = { 'gateway.vehicleCommand': 4 };
    const said = (age_us: number) => ordered(form, 10_000, { 'gateway.in.vehicleReady.age': age_us });
    expect(said(2_000_000).outcome.is).toBe('pass');
    expect(said(2_000_001).outcome.is).toBe('fail');
    const charge = { 'gateway.vehicleCommand': 1 };
    const power = (age_us: number) => ordered(charge, 10_000, { 'gateway.in.serviceL1.age': age_us });
    expect(power(3_000_000).outcome.is).toBe('pass');
    expect(power(3_000_001).outcome.is).toBe('fail');
  });

  it('takes a stale reading for as old as the sample that it holds', () => {
    const held = (from_us: number) =>
      ordered({ 'gateway.pvPermit': 1 }, 0, {
        'gateway.in.backupL2.state': 1,
        'gateway.in.backupL2.age': 0,
        'gateway.in.backupL2.heldFrom': from_us,
      });
    expect(held(9_950_000).outcome.is).toBe('pass');
    expect(held(9_949_999).outcome).toMatchObject({ is: 'fail', worst: { found: 50_001 } });
  });

  it('asks nothing of an input that is not fitted', () => {
    const none = { 'gateway.in.mainAux.state': 2, 'gateway.in.mainAux.age': 9_000_000 };
    expect(ordered({ 'gateway.relayCoil': 1 }, 10_000, none).outcome.is).toBe('pass');
  });

  it('takes what a silent vehicle has said for as old as its silence, until it speaks again', () => {
    const silent = (): Story => darkHouse().happening(8_000_000, 'car', 'lose communication', 'equipment');
    expect(ordered({ 'gateway.vehicleCommand': 4 }, 0, {}, silent()).outcome.is).toBe('pass');
    const longer = darkHouse().happening(7_999_999, 'car', 'lose communication', 'equipment');
    expect(ordered({ 'gateway.vehicleCommand': 4 }, 0, {}, longer).outcome).toMatchObject({
      is: 'fail',
      worst: { found: 2_000_001 },
    });
    const again = darkHouse().happening(5_000_000, 'car', 'lose communication', 'equipment');
    again.happening(9_000_000, 'car', 'restore communication', 'equipment');
    expect(ordered({ 'gateway.vehicleCommand': 4 }, 0, {}, again).outcome.is).toBe('pass');
  });
});
