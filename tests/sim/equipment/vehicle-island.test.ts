import { describe, expect, it } from 'vitest';
import { former } from '../../../sim/equipment/former.ts';
import { pv } from '../../../sim/equipment/pv.ts';
import { relay } from '../../../sim/equipment/relay.ts';
import { vehicle } from '../../../sim/equipment/vehicle.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor } from './rig-devices.ts';

const S = 1_000_000;
const FORM = 4;
const modeOf = (rig: Rig): string => VEHICLE_MODES[rig.value('car.mode')]!;

/** Vehicle and relay in front of a dead street. */
function behindRelay(interlock: string, closed: boolean): Rig {
  return new Rig({
    buses: ['street', 'house'],
    pieces: [
      { kind: relay, id: 'iso', at: ['street', 'house'], start: { closed } },
      { kind: vehicle, id: 'car', at: ['house'], params: { interlock } },
    ],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      return [resistor(index, L1, L2, 57.6)];
    },
  });
}

/** Vehicle that forms, PV beside it, a load. */
function withSun(start: Bag, params: Bag = {}, inverter: Bag = {}, ohms = 57.6): Rig {
  return new Rig({
    buses: ['house'],
    pieces: [
      { kind: vehicle, id: 'car', at: ['house'], params, start: { mode: 'forming', ...start } },
      { kind: pv, id: 'sun', at: ['house'], params: { rated: 5000, ...inverter }, start: { running: true } },
    ],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      return [resistor(index, L1, L2, ohms)];
    },
  });
}

describe('vehicle, its wires', () => {
  it('does not form while the relay is closed, and is off 0.5 ms after the relay no longer proves open', () => {
    const shut = behindRelay('iso', true);
    shut.order('vehicleCommand', FORM);
    shut.run(5 * S);
    expect(modeOf(shut)).toBe('idle');
    shut.order('relayCoil', 0);
    shut.run(10 * S);
    expect(modeOf(shut)).toBe('forming');
    const { number } = shut.order('relayCoil', 1);
    shut.run(11 * S);
    const proof = shut.trace('iso.openProved1').findLast(([, value]) => value === 0)!;
    const stop = shut.happenings.find(({ did }) => did === 'stops')!;
    expect(stop.at_us).toBe(proof[0] + 500);
    expect(stop.origin).toBe('controller');
    expect(number).toBeDefined();
    expect(shut.value('car.fault')).toBe(3);
  });

  it('forms on a closed relay where there is no interlock', () => {
    const rig = behindRelay('none', true);
    rig.order('vehicleCommand', FORM);
    rig.run(5 * S);
    expect(modeOf(rig)).toBe('forming');
  });

  it('stops 150 ms after the neutral former has opened', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [
        { kind: former, id: 'at', at: ['house'], start: { closed: true } },
        { kind: vehicle, id: 'car', at: ['house'], params: { neutralFormer: 'at' }, start: { mode: 'forming' } },
      ],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [resistor(index, L1, L2, 57.6)];
      },
    });
    rig.run(S);
    rig.order('neutralContactor', 0);
    rig.run(2 * S);
    const opened = rig.trace('at.contactor').findLast(([, value]) => value === 0)!;
    expect(rig.when('car', 'stops')).toEqual([opened[0] + 150_000]);
    expect(rig.value('car.fault')).toBe(5);
  });
});

describe('vehicle, surplus', () => {
  it('takes what the sun gives over the load as charge', () => {
    const rig = withSun({ soc: 0.5 });
    rig.run(5 * S);
    // 5 kW less (240 V)² / 57.6 ohm, but for the drop in the impedance.
    expect(rig.value('car.p')).toBeGreaterThan(-4050);
    expect(rig.value('car.p')).toBeLessThan(-3950);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(60, 9);
  });

  it('lifts the frequency by the slow integral when full: 1.1 Hz in at least 20 s, and no further', () => {
    const rig = withSun({ soc: 0.9 }, {}, { droop: 'no' });
    rig.run(20 * S);
    // 1.1 Hz / 20 s · (4 kW / 9.6 kW) · 20 s: less than half of the way.
    expect(rig.level.parts[0]!.frame.f_Hz).toBeGreaterThan(60.4);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeLessThan(60.5);
    rig.run(58 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(61.1, 9);
    expect(modeOf(rig)).toBe('forming');
  });

  it('lets the battery open after a minute of 1 kW too much, and the d.c. link then stops it within milliseconds', () => {
    const rig = withSun({ soc: 0.9 }, {}, { droop: 'no' });
    rig.run(70 * S);
    const [opened] = rig.when('car', 'battery opens');
    expect(opened).toBeGreaterThan(60 * S);
    expect(opened).toBeLessThan(60.02 * S);
    const [stopped] = rig.when('car', 'stops');
    // 1 mF from 400 to 500 V at 4 kW: 11.25 ms.
    expect(stopped! - opened!).toBeGreaterThan(11_000);
    expect(stopped! - opened!).toBeLessThan(11_500);
    expect(rig.value('car.fault')).toBe(6);
  });

  it('settles where the droop leaves what the battery takes, and comes down again when the load is back', () => {
    const rig = withSun({ soc: 0.9 }, {}, {}, 14.4);
    rig.run(60 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(60, 9);
    const lighter = withSun({ soc: 0.9 }, {}, {}, 13.5);
    lighter.run(60 * S);
    expect(lighter.value('car.p')).toBeGreaterThan(-200);
  });
});
