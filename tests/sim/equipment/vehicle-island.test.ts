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

  it('lifts the frequency by the slow integral when full: 1.1 Hz in 20 s at most speed, and no further', () => {
    const rig = withSun({ soc: 0.9 }, {}, { droop: 'no' });
    rig.run(10 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(60.55, 1);
    rig.run(19 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeLessThan(61.05);
    rig.run(21 * S);
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

  it('settles where the droop leaves what the load takes, and comes down again when the sun is gone', () => {
    const rig = withSun({ soc: 0.9 }, {}, { detection: 'none' }, 14.4);
    rig.run(240 * S);
    // 4 of 5 kW: 60.036 Hz + 0.2 · 3 Hz, within the band of 100 W.
    expect(Math.abs(rig.value('car.p'))).toBeLessThan(101);
    expect(Math.abs(rig.level.parts[0]!.frame.f_Hz - 60.636)).toBeLessThan(0.065);
    const { steps } = rig;
    rig.run(280 * S);
    expect(rig.steps).toBe(steps);
    rig.happen('sun', 'irradiance', { value: 0 });
    rig.run(400 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(60, 9);
  });

  it('has no lift for a set frequency at the end of the range, and follows what the gateway orders', () => {
    const rig = withSun({ soc: 0.9 });
    rig.order('islandFrequency', 61_100);
    rig.run(30 * S);
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(61.1, 9);
    rig.order('islandVoltage', 236_000);
    rig.run(40 * S);
    expect(rig.value('car.reference')).toBeCloseTo(236 / 240, 9);
    expect(Math.abs(rig.volts('house', 'L1', 'L2') - 236)).toBeLessThan(1); // The charge flows through the impedance.
  });
});

describe('vehicle, droop', () => {
  it('falls 1 % of 60 Hz at rated power where it is asked to share, and holds 60 Hz where not', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [
        { kind: vehicle, id: 'car', at: ['house'], params: { droopP: 0.01, virtualX: 0 }, start: { mode: 'forming' } },
      ],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [resistor(index, L1, L2, 12)];
      },
    });
    rig.run(10 * S);
    const p_W = rig.value('car.p');
    expect(rig.level.parts[0]!.frame.f_Hz).toBeCloseTo(60 - (0.6 * p_W) / 9600, 6);
    const { steps } = rig;
    rig.run(20 * S);
    expect(rig.steps).toBe(steps);
  });
});
