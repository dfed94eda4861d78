import { describe, expect, it } from 'vitest';
import { type UtilityPiece, utility } from '../../../sim/equipment/utility.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor } from './rig-devices.ts';

const rigOf = (params: Bag = {}, start: Bag = {}): Rig =>
  new Rig({
    buses: ['service'],
    pieces: [{ kind: utility, id: 'street', at: ['service'], params, start }],
    devices: (wiring) => {
      const bus = wiring.bus('service');
      return [resistor(bus.index, bus.L1, bus.N, 16), resistor(bus.index, bus.N, bus.L2, 36)];
    },
  });

const frameOf = (rig: Rig) => rig.level.partAt(rig.wiring.busIndex('service')).frame;
const angle_deg = (rig: Rig): number => (frameOf(rig).angleAt(rig.kernel.now_us) * 180) / Math.PI;
const street = (rig: Rig): UtilityPiece => rig.piece('street') as UtilityPiece;
const dids = (rig: Rig) =>
  rig.happenings.filter(({ did }) => / (lost|back|over)/.test(did)).map(({ at_us, did }) => [at_us / 1000, did]);

describe('utility', () => {
  it('holds both legs near 120 V and leads its part at 60 Hz', () => {
    const rig = rigOf();
    expect(rig.volts('service', 'L1', 'N')).toBeGreaterThan(118);
    expect(rig.volts('service', 'L1', 'L2')).toBeLessThan(240);
    expect(rig.level.partAt(0).kind).toBe('utility');
    expect(street(rig).presence()).toEqual({ L1: true, L2: true });
    expect(street(rig).neutral?.holds()).toBe(true);
  });

  it('goes dark at an outage and comes back 30 degrees ahead at 1.05 pu', () => {
    const rig = rigOf();
    const before_V = rig.volts('service', 'L1', 'L2');
    rig.run(1_000_000);
    rig.happen('street', 'outage');
    rig.run(2_000_000);
    expect(rig.volts('service', 'L1', 'L2')).toBe(0);
    expect(street(rig).presence()).toEqual({ L1: false, L2: false });
    expect(street(rig).neutral?.holds()).toBe(true);
    rig.happen('street', 'restore', { angle: 30, voltage: 1.05 });
    rig.run(3_000_000);
    expect(rig.volts('service', 'L1', 'L2') / before_V).toBeCloseTo(1.05, 9);
    expect(angle_deg(rig)).toBeCloseTo(30, 9);
    expect(dids(rig)).toEqual([
      [1000, 'supply lost'],
      [2000, 'supply back'],
    ]);
    expect(rig.happenings.every(({ origin }) => origin === 'utility')).toBe(true);
  });

  it('starts off, at 0.95 pu, 59.9 Hz and with other neighbours where the scenario says so', () => {
    const rig = rigOf({ neighbours: 5000 }, { on: false, voltage: 0.95, frequency: 59.9, neighbours: 2000 });
    expect(rig.volts('service', 'L1', 'N')).toBe(0);
    expect(rig.value('street.neighbours')).toBe(2000);
    rig.happen('street', 'restore');
    rig.run(1000);
    expect(rig.value('street.voltage')).toBe(0.95);
    expect(frameOf(rig).f_Hz).toBeCloseTo(59.9, 9);
  });

  it('recloses after 0.3 s, holds 0.2 s, then after 2 s for good', () => {
    const rig = rigOf();
    rig.happen('street', 'recloser', { attempts: 2, dead1: 300_000, dead2: 2_000_000, onTime: 200_000, ends: 'on' });
    rig.run(60_000_000);
    expect(dids(rig)).toEqual([
      [0, 'supply lost'],
      [300, 'supply back'],
      [500, 'supply lost'],
      [2500, 'supply back'],
    ]);
  });

  it('locks out after a last attempt that fails', () => {
    const rig = rigOf();
    rig.happen('street', 'recloser', { attempts: 1, dead1: 300_000, onTime: 100_000, ends: 'off' });
    rig.run(60_000_000);
    expect(dids(rig)).toEqual([
      [0, 'supply lost'],
      [300, 'supply back'],
      [400, 'supply lost'],
    ]);
    expect(street(rig).presence().L1).toBe(false);
  });

  it('flaps three times with a period of 1 s', () => {
    const rig = rigOf();
    rig.happen('street', 'flap', { period: 1_000_000, count: 3 });
    rig.run(60_000_000);
    expect(dids(rig).map(([at_ms]) => at_ms)).toEqual([0, 500, 1000, 1500, 2000, 2500]);
    expect(rig.value('street.on')).toBe(1);
  });

  it('sags to 0.5 pu with 20 degrees of jump for 200 ms and is as before to the bit', () => {
    const rig = rigOf();
    rig.run(100_000);
    const before_V = rig.volts('service', 'L1', 'N');
    rig.happen('street', 'sag', { voltage: 0.5, duration: 200_000, angle: -20 });
    rig.run(299_999);
    expect(rig.volts('service', 'L1', 'N') / before_V).toBeCloseTo(0.5, 9);
    expect(angle_deg(rig)).toBeCloseTo(-20, 9);
    rig.run(400_000);
    expect(rig.volts('service', 'L1', 'N')).toBe(before_V);
    expect(angle_deg(rig)).toBeCloseTo(0, 9);
    expect(dids(rig)).toEqual([[300, 'sag over']]);
  });

  it('loses L2 alone and keeps L1', () => {
    const rig = rigOf();
    rig.happen('street', 'lose leg', { leg: 'L2' });
    rig.run(1_000_000);
    expect(street(rig).presence()).toEqual({ L1: true, L2: false });
    expect(rig.volts('service', 'N', 'L2')).toBeLessThan(0.1);
    expect(rig.volts('service', 'L1', 'N')).toBeGreaterThan(118);
    rig.happen('street', 'restore leg', { leg: 'L2' });
    rig.run(2_000_000);
    expect(rig.volts('service', 'N', 'L2')).toBeGreaterThan(118);
    expect(dids(rig).map(([, did]) => did)).toEqual(['leg lost L2', 'leg back L2']);
  });

  it('ramps from 60 to 61 Hz at 2 Hz/s in 60 stairs and then turns 360 degrees a second', () => {
    const rig = rigOf();
    rig.happen('street', 'frequency ramp', { rate: 2, frequency: 61 });
    rig.run(250_000);
    expect(rig.value('street.frequency')).toBeCloseTo(60.5, 9);
    rig.run(500_000);
    expect(rig.value('street.frequency')).toBe(61);
    expect(new Set(rig.trace('street.frequency').map(([, f_Hz]) => f_Hz)).size).toBe(61);
    const at_deg = angle_deg(rig);
    rig.run(750_000);
    expect(Math.abs(angle_deg(rig) - at_deg)).toBeCloseTo(90, 6);
  });

  it('jumps by 10 degrees, and a step to 59 Hz calls a ramp off', () => {
    const rig = rigOf();
    rig.happen('street', 'phase jump', { angle: 10 });
    rig.run(1000);
    expect(angle_deg(rig)).toBeCloseTo(10, 9);
    rig.happen('street', 'frequency ramp', { rate: 1, frequency: 62 });
    rig.run(100_000);
    rig.happen('street', 'frequency step', { frequency: 59 });
    rig.run(5_000_000);
    expect(rig.value('street.frequency')).toBe(59);
  });

  it('counts its neighbours as load: 9 kW are 0.3125 S a leg, and 3 kW after they have changed', () => {
    const rig = rigOf();
    expect(street(rig).load?.nominal()).toEqual({ g1_S: 0.3125, g2_S: 0.3125, g12_S: 0 });
    rig.happen('street', 'neighbours', { power: 3000 });
    rig.run(1000);
    expect(street(rig).load?.nominal().g1_S).toBeCloseTo(0.3125 / 3, 12);
  });

  it('no longer holds the neutral once that is open', () => {
    const rig = rigOf();
    rig.happen('street', 'open neutral');
    rig.run(1_000_000);
    expect(street(rig).neutral?.holds()).toBe(false);
    expect(rig.volts('service', 'L1', 'N')).toBeLessThan(80);
    rig.happen('street', 'mend neutral');
    rig.run(2_000_000);
    expect(rig.volts('service', 'L1', 'N')).toBeGreaterThan(118);
    expect(dids(rig).map(([, did]) => did)).toEqual(['neutral lost', 'neutral back']);
  });

  it('is quiet to the bit once it has settled, running motors included', () => {
    const rig = rigOf({ motorShare: 30 });
    rig.happen('street', 'sag', { voltage: 0.9, duration: 0 });
    rig.run(20_000_000);
    const steps = rig.steps;
    const volts_V = rig.volts('service', 'L1', 'N');
    rig.run(3_600_000_000);
    expect(rig.steps).toBe(steps);
    expect(steps).toBeLessThan(1500);
    rig.change(() => {});
    rig.run(3_601_000_000);
    expect(rig.volts('service', 'L1', 'N')).toBe(volts_V);
  });

  it('has motors that run down in an outage and start again in four groups, 180 to 300 s after its end', () => {
    const rig = rigOf({ motorShare: 40 });
    rig.run(1_000_000);
    const before_A = rig.value('street.i1');
    const groups = () => Math.round((street(rig).load!.nominal().g12_S * 240 ** 2) / 900);
    expect(street(rig).load!.nominal().g12_S).toBeCloseTo(3600 / 240 ** 2, 12);
    rig.happen('street', 'outage');
    rig.run(1_010_000);
    expect(rig.level.partAt(0).kind).toBe('unformed');
    rig.run(3_000_000);
    expect(rig.level.partAt(0).kind).toBe('dead');
    expect(groups()).toBe(0);
    rig.happen('street', 'restore');
    for (const [at_s, running] of [
      [182.9, 0],
      [183.1, 1],
      [222.9, 1],
      [223.1, 2],
      [263.1, 3],
      [302.9, 3],
      [303.1, 4],
    ] as const) {
      rig.run(Math.round(at_s * 1_000_000));
      expect(groups()).toBe(running);
    }
    rig.run(320_000_000);
    expect(rig.value('street.i1') / before_A).toBeCloseTo(1, 6);
  });

  it('starts all of its motors at once where it has no spread, and none lets go at 0.3 pu without contactors', () => {
    const rig = rigOf({ motorShare: 40, motorSpread: 0, motorContactors: 0 });
    const motors_W = () => street(rig).load!.nominal().g12_S * 240 ** 2;
    rig.happen('street', 'sag', { voltage: 0.3, duration: 60_000 });
    rig.run(1_000_000);
    expect(motors_W()).toBeCloseTo(3600, 6);
    rig.happen('street', 'outage');
    rig.run(3_000_000);
    rig.happen('street', 'restore');
    rig.run(182_999_999);
    expect(motors_W()).toBe(0);
    rig.run(183_000_000);
    expect(motors_W()).toBeCloseTo(3600, 6);
  });

  it('has contactors that let go of half of the motors 25 ms below 0.6 pu, and not after 24 ms or at 0.62 pu', () => {
    for (const [voltage, duration_us, running_W] of [
      [0.5, 24_000, 3600],
      [0.5, 26_000, 1800],
      [0.62, 1_000_000, 3600],
    ] as const) {
      const rig = rigOf({ motorShare: 40 });
      rig.run(1_000_000);
      rig.happen('street', 'sag', { voltage, duration: duration_us });
      rig.run(2_500_000);
      expect(street(rig).load!.nominal().g12_S * 240 ** 2).toBeCloseTo(running_W, 6);
    }
  });

  it('swells to 1.2 pu for 200 ms', () => {
    const rig = rigOf();
    const before_V = rig.volts('service', 'L1', 'N');
    rig.happen('street', 'swell', { voltage: 1.2, duration: 200_000 });
    rig.run(100_000);
    expect(rig.volts('service', 'L1', 'N') / before_V).toBeCloseTo(1.2, 6);
    rig.run(300_000);
    expect(rig.volts('service', 'L1', 'N')).toBe(before_V);
    expect(dids(rig)).toEqual([[200, 'swell over']]);
  });
});
