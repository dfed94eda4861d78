import { describe, expect, it } from 'vitest';
import { lockout } from '../../../harness/rules/lockout.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { coilOrdered, PROVED_CLOSED, PROVED_OPEN } from './equipment-stories.ts';
import { CAR_STOPS, darkHouse, forms, onGrid } from './house.ts';
import { judge, type Story } from './telemetry-builder.ts';

const END_us = 60_000_000;
const of = (story: Story, end_us = END_us): Verdict => judge(lockout, story.end(end_us));
const marginOf = ({ outcome }: Verdict) => (outcome.is === 'not exercised' ? undefined : outcome.worst);

/** An island at 3 s behind a relay that was ordered open and has proved it. */
const island = (): Story => forms(coilOrdered(darkHouse(), 2_500_000, 0, PROVED_OPEN), 3_000_000);
/** Its relay loses a proof at 5 s: it has closed by itself, or says so. */
const proofLost = (): Story => island().frame(5_000_000, { 'iso.openProved2': 0 });
const opensOrdered = (): Story => coilOrdered(onGrid(), 1_000_000, 0);
/** The house dark, the relay proved open; then it is ordered closed at each of these instants, for 1 s, and does not move. */
function triesToClose(...at_us: readonly number[]): Story {
  const story = coilOrdered(darkHouse(), 2_000_000, 0, PROVED_OPEN);
  for (const try_us of at_us) {
    coilOrdered(story, try_us, 1);
    coilOrdered(story, try_us + 1_000_000, 0);
  }
  return story;
}

describe('lockout', () => {
  it('is never armed while the relay does what is ordered, within 100 ms', () => {
    const story = coilOrdered(onGrid(), 1_000_000, 0).frame(1_100_000, PROVED_OPEN).frame(9_000_000, { 'house.u1': 1 });
    expect(of(story).outcome).toEqual({ is: 'not exercised', why: 'never armed' });
  });

  it('is armed by an open order that is not proved 1 µs longer than that', () => {
    const verdict = of(coilOrdered(onGrid(), 1_000_000, 0).frame(1_100_001, PROVED_OPEN));
    expect(verdict.armed).toBe(1);
    expect(verdict.outcome.is).toBe('pass');
  });

  it('takes an order that is given anew after a boot for no new one', () => {
    const story = coilOrdered(onGrid(), 0, 1, PROVED_CLOSED).happening(
      5_000_000,
      'gateway',
      'orders relayCoil 1',
      'controller',
    );
    expect(of(story).armed).toBe(0);
  });

  it.each([
    ['opens by itself', () => onGrid().frame(1_000_000, { ...PROVED_OPEN })],
    ['closes by itself', () => coilOrdered(darkHouse(), 2_000_000, 0, PROVED_OPEN).frame(5_000_000, PROVED_CLOSED)],
    ['proves a pole open and closed', () => onGrid().frame(1_000_000, { 'iso.openProved1': 1 })],
  ])('locks where it %s', (_how, story) => {
    const verdict = of(story().frame(10_000_000, { 'gateway.vehicleCommand': 4 }));
    expect(verdict.outcome).toMatchObject({ is: 'fail', against: 'controller' });
    expect(verdict.violations.controller).toBe(1);
    expect(marginOf(verdict)).toMatchObject({ value: -1, at_us: 10_000_000 });
  });

  it('takes a relay that falls open without its control supply, and closes again with it, for sound', () => {
    const story = onGrid().frame(1_000_000, { 'iso.controlSupply': 8.9 }).frame(1_015_000, PROVED_OPEN);
    story.frame(5_000_000, { 'iso.controlSupply': 12 }).frame(5_030_000, PROVED_CLOSED);
    expect(of(story).armed).toBe(0);
  });

  it('notices one that does not fall open then, and one that does not close again', () => {
    expect(of(onGrid().frame(1_000_000, { 'iso.controlSupply': 0 })).armed).toBe(1);
    const stays = onGrid().frame(1_000_000, { 'iso.controlSupply': 0 }).frame(1_015_000, PROVED_OPEN);
    expect(of(stays.frame(5_000_000, { 'iso.controlSupply': 12 })).outcome.is).toBe('pass');
    expect(of(onGrid().frame(1_000_000, { 'iso.controlSupply': 9, ...PROVED_OPEN })).armed).toBe(1);
  });

  it('lets the source run on for 100 ms after the notice, which is a margin of 0', () => {
    const verdict = of(proofLost().frame(5_200_000, CAR_STOPS));
    expect(marginOf(verdict)).toMatchObject({ value: 0, found: 100_000, limit: 100_000, scale: 100_000 });
    expect(verdict.outcome.is).toBe('pass');
  });

  it('does not let it run 1 µs longer, against the controller while its order stands', () => {
    const verdict = of(proofLost().frame(5_200_001, CAR_STOPS));
    expect(verdict.outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { found: 100_001 } });
  });

  it('is against the equipment where the order to form was taken back in time', () => {
    const story = proofLost().frame(5_150_000, { 'gateway.vehicleCommand': 5 }).frame(6_000_000, CAR_STOPS);
    expect(of(story).outcome).toMatchObject({ is: 'fail', against: 'equipment' });
  });

  it('calls a source that still runs at the end too late, or owed', () => {
    expect(of(proofLost(), 5_200_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(of(proofLost(), 5_200_001).outcome.is).toBe('fail');
  });

  it('sees trouble that nothing but the end of the run shows', () => {
    expect(of(opensOrdered(), 1_100_000).armed).toBe(0);
    expect(of(opensOrdered(), 1_100_001).armed).toBe(1);
  });

  it('forbids an order to close, and a source that begins by an older order, while locked', () => {
    const closed = coilOrdered(opensOrdered(), 3_000_000, 1);
    expect(of(closed).violations.controller).toBe(1);
    const late = opensOrdered().frame(1_050_000, { 'gateway.vehicleCommand': 4 });
    late.frame(4_000_000, { 'car.forms': 1, 'car.energises': 1 }).frame(4_010_000, CAR_STOPS);
    expect(of(late).violations).toMatchObject({ controller: 1, equipment: 0 });
  });

  it('stays through a restart; the lockout that then falls was cleared by nobody', () => {
    const story = opensOrdered().frame(1_200_000, { 'gateway.lockout': 1 });
    story.happening(5_000_000, 'gateway', 'restart', 'equipment').frame(5_000_010, { 'gateway.lockout': 0 });
    expect(of(story).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { at_us: 5_000_010 } });
  });

  it('ends when a person asks for it; trouble that still stands counts anew', () => {
    const cleared = opensOrdered().frame(1_200_000, { 'gateway.lockout': 1 });
    cleared.frame(5_000_000, { 'gateway.in.request': 3, 'gateway.lockout': 0 });
    const again = { 'gateway.vehicleCommand': 4 };
    expect(of(cleared.frame(5_100_000, again)).outcome.is).toBe('pass');
    const later = opensOrdered().frame(5_000_000, { 'gateway.in.request': 3 }).frame(5_100_001, again);
    expect(of(later)).toMatchObject({ armed: 2, outcome: { is: 'fail' } });
  });

  it('allows three tries to close, 10 s apart, and no fourth', () => {
    const three = of(triesToClose(10_000_000, 20_000_000, 30_000_000));
    expect(three.outcome.is).toBe('pass');
    expect(marginOf(three)?.value).toBe(0);
    const four = of(triesToClose(10_000_000, 20_000_000, 30_000_000, 40_000_000));
    expect(four.outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { found: 4, limit: 3 } });
    expect(marginOf(four)?.value).toBeCloseTo(-1 / 3, 12);
  });

  it('does not allow a second try 1 µs before 10 s are over', () => {
    const early = of(triesToClose(10_000_000, 19_999_999));
    expect(early.outcome).toMatchObject({ is: 'fail', worst: { found: 9_999_999, limit: 10_000_000 } });
  });

  it('counts an order to close that is given up before 100 ms are over', () => {
    const story = coilOrdered(darkHouse(), 2_000_000, 0, PROVED_OPEN);
    coilOrdered(coilOrdered(story, 10_000_000, 1), 10_060_000, 0);
    coilOrdered(coilOrdered(story, 15_000_000, 1), 15_060_000, 0);
    expect(of(story)).toMatchObject({ outcome: { is: 'fail', worst: { found: 5_000_000, limit: 10_000_000 } } });
  });

  it('counts tries anew after a person has asked for it, locked out or not', () => {
    const story = triesToClose(10_000_000, 20_000_000, 30_000_000).frame(35_000_000, { 'gateway.in.request': 3 });
    coilOrdered(story, 40_000_000, 1).frame(40_030_000, PROVED_CLOSED);
    expect(of(story).outcome.is).toBe('pass');
  });

  it('takes no order that is merely repeated for a try', () => {
    const story = coilOrdered(coilOrdered(darkHouse(), 2_000_000, 0, PROVED_OPEN), 10_000_000, 1);
    story
      .happening(12_000_000, 'gateway', 'orders relayCoil 1', 'controller')
      .frame(12_000_000, { 'gateway.lockout': 1 });
    expect(of(story).outcome).toMatchObject({ is: 'pass', worst: { found: 1 } });
  });

  it('takes no movement of the coil by itself for an order, though one was repeated before', () => {
    const story = coilOrdered(onGrid(), 0, 1, PROVED_CLOSED).frame(1_000_000, { 'iso.coil': 0, ...PROVED_OPEN });
    story.happening(3_000_000, 'gateway', 'orders relayCoil 1', 'controller');
    expect(of(story.frame(4_000_000, { 'iso.coil': 1, ...PROVED_CLOSED })).outcome.is).toBe('pass');
  });

  it('counts tries anew after a restart, and once it has closed', () => {
    const restarted = triesToClose(10_000_000, 20_000_000, 30_000_000);
    restarted.happening(35_000_000, 'gateway', 'restart', 'equipment');
    expect(of(coilOrdered(restarted, 40_000_000, 1)).outcome.is).toBe('pass');
    const closed = coilOrdered(triesToClose(10_000_000, 20_000_000), 30_000_000, 1, PROVED_CLOSED);
    coilOrdered(closed, 35_000_000, 0, PROVED_OPEN);
    for (const try_us of [40_000_000, 50_000_000]) {
      coilOrdered(coilOrdered(closed, try_us, 1), try_us + 1_000_000, 0);
    }
    expect(of(closed).outcome.is).toBe('pass');
  });

  it('does not stop an island that goes on beside a relay that does not close', () => {
    const story = coilOrdered(darkHouse(), 2_000_000, 0, PROVED_OPEN);
    coilOrdered(story, 3_000_000, 1);
    coilOrdered(story, 4_000_000, 0);
    expect(of(forms(story, 5_000_000)).outcome.is).toBe('pass');
  });
});
