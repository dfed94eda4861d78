import { describe, expect, it } from 'vitest';
import { plugOrder } from '../../../harness/rules/plug-order.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { charging } from './equipment-stories.ts';
import { onGrid } from './house.ts';
import { judge, type Story } from './telemetry-builder.ts';

const of = (story: Story, end_us = 30_000_000): Verdict => judge(plugOrder, story.end(end_us));
const OPENED = { 'car.contactor': 0, 'car.i': 0, 'car.p': 0 };

function opens(story: Story, at_us: number): Story {
  return story.happening(at_us, 'car', 'leaves', 'controller').frame(at_us, OPENED);
}
/** A charge of 30 A whose plug is pulled at 5 s. */
const pulled = (): Story =>
  charging(30).happening(5_000_000, 'car', 'unplug', 'person').frame(5_000_000, { 'car.plugged': 0 });

describe('plug-order', () => {
  it('is never armed while a charge goes on, nor by a plug that is drawn with the contactor open', () => {
    expect(of(charging(30)).armed).toBe(0);
    expect(of(onGrid().frame(1_000_000, { 'car.plugged': 1 }).frame(2_000_000, { 'car.plugged': 0 })).armed).toBe(0);
  });

  it('gives the contactor 100 ms after the pilot is lost, and not 1 µs more, against the equipment', () => {
    expect(of(opens(pulled(), 5_100_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 100_000 } });
    const late = of(opens(pulled(), 5_100_001));
    expect(late.outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { found: 100_001, limit: 100_000 } });
  });

  it('does not judge the current of that opening', () => {
    expect(of(opens(pulled(), 5_050_000))).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { unit: 'µs' } } });
  });

  it('calls a contactor that is still closed at the end too late, or owed', () => {
    expect(of(pulled(), 5_100_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(of(pulled(), 5_100_001).outcome.is).toBe('fail');
  });

  it('lets the contactor open at 1 A when the end was asked for, and not above, against who had it opened', () => {
    const asked = (current_A: number) =>
      of(opens(charging(current_A).frame(5_000_000, { 'gateway.vehicleCommand': 5 }), 6_000_000));
    expect(asked(1).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 1 } });
    expect(asked(1.5).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { value: -0.5, found: 1.5 } });
  });

  it('reports an opening that is forced after 7 s, and judges it 1 µs before', () => {
    const asked = (): Story => charging(30).frame(5_000_000, { 'gateway.vehicleCommand': 0 });
    const forced = of(opens(asked(), 12_000_000));
    expect(forced.outcome.is).toBe('pass');
    expect(forced.notes).toMatchObject([{ is: 'report', at_us: 12_000_000, found: { current_A: 30 } }]);
    expect(of(opens(asked(), 11_999_999)).outcome.is).toBe('fail');
  });

  it('counts those 7 s from a person who ends it at the vehicle as well', () => {
    const asked = charging(30).happening(5_000_000, 'car', 'stop', 'person');
    expect(of(opens(asked, 12_000_000)).notes?.length).toBe(1);
  });

  it('wants the contactor open before the plug is unlocked', () => {
    const ended = opens(charging(0.5), 5_000_000);
    expect(of(ended.frame(5_000_001, { 'car.locked': 0 })).outcome.is).toBe('pass');
    const same = charging(0.5).happening(5_000_000, 'car', 'leaves', 'controller');
    expect(of(same.frame(5_000_000, { ...OPENED, 'car.locked': 0 })).outcome.is).toBe('pass');
  });

  it.each([
    [
      'the controller, by its order',
      'controller',
      (s: Story) => s.frame(5_000_000, { 'gateway.plugLock': 0, 'car.locked': 0 }),
    ],
    [
      'a person, by force',
      'person',
      (s: Story) => s.happening(5_000_000, 'car', 'lock broken', 'person').frame(5_000_000, { 'car.locked': 0 }),
    ],
    ['the equipment, that lets go', 'equipment', (s: Story) => s.frame(5_000_000, { 'car.locked': 0 })],
  ] as const)('holds a plug that is unlocked under charge against %s', (_who, against, unlock) => {
    expect(of(unlock(charging(30))).outcome).toMatchObject({ is: 'fail', against, worst: { value: -1 } });
  });
});
