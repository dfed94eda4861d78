import { describe, expect, it } from 'vitest';
import { vehicle } from '../../../sim/equipment/vehicle.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor, stiffSource } from './rig-devices.ts';

const S = 1_000_000;
const CHARGE = 1;
const STOP = 5;

/** A vehicle on a stiff utility, or alone on 12 ohm; its plug locked since 0.32 s. */
function locked(start: Bag, grid: boolean, params: Bag = {}): Rig {
  const rig = new Rig({
    buses: ['house'],
    pieces: [{ kind: vehicle, id: 'car', at: ['house'], params, start }],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      if (!grid) return [resistor(index, L1, L2, 12)];
      return [stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-4, x_ohm: 0 })];
    },
  });
  rig.order('plugLock', 1);
  rig.run(10 * S);
  return rig;
}

const isLocked = (rig: Rig): number => rig.piece('car').signal!('plugLocked');
const modeOf = (rig: Rig): string => VEHICLE_MODES[rig.value('car.mode')]!;
const didsFrom = (rig: Rig, from_us: number): string[] =>
  rig.happenings.filter(({ at_us }) => at_us >= from_us).map(({ did }) => did);

// IEC 61851-1, sequence from memory: current down, contactor open, then unlocked.
describe('PlugLock', () => {
  it('locks 20 ms of link and 300 ms of travel after the order', () => {
    const rig = locked({}, true);
    expect(rig.when('car', 'locks')).toEqual([320_000]);
    expect(isLocked(rig)).toBe(1);
  });

  it('an order to unlock waits for the contactor: 300 ms after it has opened, not before', () => {
    const rig = locked({ mode: 'charging' }, true);
    rig.order('plugLock', 0);
    rig.run(20 * S);
    expect(isLocked(rig)).toBe(1);
    rig.order('vehicleCommand', STOP);
    rig.run(30 * S);
    const [leaves_us] = rig.when('car', 'leaves');
    expect(rig.when('car', 'unlocks')).toEqual([leaves_us! + 300_000]);
    expect(isLocked(rig)).toBe(0);
  });

  it('taken back before it has moved, an order moves nothing', () => {
    const rig = locked({}, true);
    rig.order('plugLock', 0);
    rig.run(10 * S + 200_000);
    rig.order('plugLock', 1);
    rig.run(20 * S);
    expect(rig.when('car', 'unlocks')).toEqual([]);
  });

  it('holds a plug that is pulled: nothing happens but that', () => {
    const rig = locked({ mode: 'charging' }, true);
    rig.happen('car', 'unplug');
    rig.run(20 * S);
    expect(didsFrom(rig, 10 * S)).toEqual(['unplug', 'plug held']);
    expect([rig.value('car.plugged'), modeOf(rig)]).toEqual([1, 'charging']);
  });

  it('is broken by force: the contactor opens 50 ms later under the full current, and it no longer locks', () => {
    const rig = locked({ mode: 'forming' }, false);
    rig.happen('car', 'pull by force');
    rig.run(20 * S);
    expect(didsFrom(rig, 10 * S)).toEqual(['pull by force', 'lock broken', 'stops', 'leaves']);
    expect(rig.when('car', 'leaves')).toEqual([10 * S + 50_000]);
    rig.happen('car', 'plug in');
    rig.run(100 * S);
    expect(isLocked(rig)).toBe(0);
    rig.happen('car', 'mend lock');
    rig.run(101 * S);
    expect(isLocked(rig)).toBe(1);
  });

  it('that is lost shows so, and a plug can then be pulled', () => {
    const rig = locked({ mode: 'charging' }, true);
    rig.happen('car', 'lose lock');
    expect(isLocked(rig)).toBe(0);
    rig.happen('car', 'unplug');
    rig.run(11 * S);
    expect(rig.value('car.plugged')).toBe(0);
  });
});

describe('vehicle leave', () => {
  it('ends a charge by its ramp, opens at 1 A or less, unlocks 300 ms later, and the plug comes out', () => {
    const rig = locked({ mode: 'charging' }, true);
    rig.order('vehicleCommand', CHARGE); // The order stands; the person goes before.
    rig.happen('car', 'leave');
    rig.run(30 * S);
    expect(didsFrom(rig, 10 * S).filter((did) => !did.startsWith('orders'))).toEqual([
      'leave',
      'ceases charging',
      'leaves',
      'unlocks',
      'plug out',
    ]);
    const [leaves_us] = rig.when('car', 'leaves');
    const [ceases_us] = rig.when('car', 'ceases charging');
    const before = rig.trace('car.i').filter(([at_us]) => at_us < ceases_us!);
    expect(before[before.length - 1]![1]).toBeLessThanOrEqual(1);
    expect(rig.when('car', 'unlocks')).toEqual([leaves_us! + 300_000]);
    expect(rig.when('car', 'plug out')).toEqual([leaves_us! + 300_000]);
    expect([rig.value('car.plugged'), modeOf(rig)]).toEqual([0, 'unplugged']);
    expect(rig.happenings.find(({ did }) => did === 'plug out')?.origin).toBe('person');
  });

  it('while it makes an island: the voltage goes at once, 50 ms to the contactor, 300 ms to the lock', () => {
    const rig = locked({ mode: 'forming' }, false);
    rig.happen('car', 'leave');
    rig.run(20 * S);
    expect(rig.when('car', 'stops')).toEqual([10 * S]);
    expect(rig.when('car', 'leaves')).toEqual([10 * S + 50_000]);
    expect(rig.when('car', 'plug out')).toEqual([10 * S + 350_000]);
    expect(rig.volts('house', 'L1', 'L2')).toBe(0);
    rig.happen('car', 'plug in');
    rig.run(79 * S);
    expect([isLocked(rig), modeOf(rig)]).toEqual([1, 'booting']);
  });

  it('asleep with no lock on it goes at once', () => {
    const rig = locked({ awake: false }, true);
    rig.order('plugLock', 0);
    rig.run(11 * S);
    rig.happen('car', 'leave');
    rig.run(12 * S);
    expect(rig.when('car', 'plug out')).toEqual([11 * S]);
  });

  it('from a fault: the plug comes out and the fault is forgotten', () => {
    const rig = locked({ mode: 'charging' }, true);
    rig.happen('car', 'fault', { code: 4 });
    rig.run(12 * S);
    expect(modeOf(rig)).toBe('faulted');
    rig.happen('car', 'leave');
    rig.run(13 * S);
    expect([modeOf(rig), rig.value('car.fault')]).toEqual(['unplugged', 0]);
  });
});
