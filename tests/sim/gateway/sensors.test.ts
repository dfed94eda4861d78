import { describe, expect, it } from 'vitest';
import { toInt32 } from '../../../sim/gateway/sensors.ts';
import type { SimUs } from '../../../sim/units.ts';
import { sensorRig } from './sensor-rig.ts';

const S = 1_000_000;
/** Rises by 1 mV a µs: a reading tells the instant at which it was seen. */
const ramp = (t_us: number): number => t_us;

describe('toInt32', () => {
  it('rounds to whole counts and stays inside 32 bits', () => {
    expect([0.4, 2.5, -2.6, 3e9, -3e9].map(toInt32)).toEqual([0, 3, -3, 0x7fff_ffff, -0x7fff_ffff]);
    expect(Object.is(toInt32(-0.2), 0)).toBe(true);
  });
});

describe('Sensors, in time', () => {
  it('see a measured value 40 ms late, a contact at once', () => {
    const rig = sensorRig({ signals: { utilityL1: ramp, relayL1Open: ramp }, latency_us: 40_000 });
    expect(rig.reading('utilityL1', S)).toEqual({ value: 960_000, at_us: 960_000, state: 'fresh' });
    expect(rig.reading('relayL1Open', S)).toEqual({ value: S, at_us: S, state: 'fresh' });
    expect(rig.reading('utilityL1', 10_000)).toEqual({ value: 0, at_us: 0, state: 'fresh' });
  });

  it('hold a sample of 100 ms until the next, and show what stood just before its instant', () => {
    const rig = sensorRig({ signals: { serviceL1: ramp, relayL1Open: ramp }, settings: { sensorSampling: 100_000 } });
    expect([700_000, 740_000, 799_999, 800_000].map((at_us) => rig.value('serviceL1', at_us))).toEqual([
      699_999, 699_999, 699_999, 799_999,
    ]);
    expect(rig.reading('serviceL1', 740_000).at_us).toBe(700_000);
    expect(rig.value('relayL1Open', 740_000)).toBe(740_000);
  });

  it('deliver a sample after the latency: that of 700 ms comes at 730 ms', () => {
    const settings = { sensorSampling: 100_000 };
    const rig = sensorRig({ signals: { serviceL1: ramp }, settings, latency_us: 30_000 });
    expect([729_999, 730_000].map((at_us) => rig.reading('serviceL1', at_us).at_us)).toEqual([600_000, 700_000]);
  });
});

describe('Sensors, for the scanner', () => {
  const taken = (rig: ReturnType<typeof sensorRig>, at_us: number) => rig.sensors.take(at_us as SimUs, 1);

  it('differ before the first scan, then only when a value or a state does', () => {
    let volts_mV = 120_000;
    const rig = sensorRig({ signals: { utilityL1: () => volts_mV } });
    expect(rig.sensors.look(0)).toBe(true);
    taken(rig, 0);
    expect(rig.sensors.look(10_000)).toBe(false);
    volts_mV = 120_001;
    expect(rig.sensors.look(20_000)).toBe(true);
    volts_mV = 120_000;
    expect(rig.sensors.look(30_000)).toBe(false);
    rig.happen('freeze input', { input: 'utilityL1' }, 30_000);
    expect(rig.sensors.look(40_000)).toBe(true);
  });

  it('do not differ by the count of the heartbeat, and hand it over all the same', () => {
    const rig = sensorRig({ signals: { vehicleHeartbeat: (t_us) => t_us / 10_000 } });
    rig.reading('vehicleHeartbeat', 0);
    expect(rig.sensors.look(10_000)).toBe(false);
    expect(taken(rig, 10_000).vehicleHeartbeat.value).toBe(1);
  });

  it('are restless under noise: from the next sample on, or from the next instant', () => {
    const sampled = { sensorSampling: 100_000, noiseVoltage: 0.1 };
    expect(sensorRig({ settings: sampled, latency_us: 30_000 }).sensors.restlessFrom_us(700_000)).toBe(730_000);
    expect(sensorRig({ settings: sampled, latency_us: 30_000 }).sensors.restlessFrom_us(730_000)).toBe(830_000);
    expect(sensorRig({ settings: { noiseVoltage: 0.1 } }).sensors.restlessFrom_us(700_000)).toBe(700_001);
    expect(sensorRig({ settings: { sensorSampling: 100_000 } }).sensors.restlessFrom_us(700_000)).toBeUndefined();
  });
});

describe('Sensors, broken', () => {
  it('say that an input is not fitted', () => {
    expect(sensorRig({ missing: ['mainAux'] }).reading('mainAux', S)).toEqual({
      value: 0,
      at_us: S,
      state: 'not fitted',
    });
  });

  it('freeze: the last value with its instant, marked stale; thaw: the reading comes again', () => {
    const rig = sensorRig({ signals: { utilityL12: ramp }, latency_us: 5_000 });
    rig.happen('freeze input', { input: 'utilityL12' }, 2 * S);
    expect(rig.reading('utilityL12', 3 * S)).toEqual({ value: 1_995_000, at_us: 1_995_000, state: 'stale' });
    rig.happen('thaw input', { input: 'utilityL12' }, 3 * S);
    expect(rig.reading('utilityL12', 4 * S)).toEqual({ value: 3_995_000, at_us: 3_995_000, state: 'fresh' });
  });

  it('stick: the last value, marked fresh and of now', () => {
    const rig = sensorRig({ signals: { relayL1Open: ramp } });
    rig.happen('stick input', { input: 'relayL1Open' }, 2 * S);
    expect(rig.reading('relayL1Open', 3 * S)).toEqual({ value: 2 * S, at_us: 3 * S, state: 'fresh' });
  });

  it('a stuck reading that is then frozen keeps the value at which it stuck', () => {
    const rig = sensorRig({ signals: { pvPower: ramp } });
    rig.happen('stick input', { input: 'pvPower' }, S);
    rig.happen('freeze input', { input: 'pvPower' }, 2 * S);
    expect(rig.reading('pvPower', 3 * S)).toEqual({ value: S, at_us: 2 * S, state: 'stale' });
  });

  it('are off by 7500 mV and out of scale by 0.5, in that order of reading: 0.5 · 120 V + 7.5 V', () => {
    const rig = sensorRig({ signals: { backupL1: () => 120_000 } });
    rig.happen('offset input', { input: 'backupL1', by: 7_500 });
    expect(rig.value('backupL1', S)).toBe(127_500);
    rig.happen('scale input', { input: 'backupL1', factor: 0.5 });
    expect(rig.value('backupL1', S)).toBe(67_500);
  });

  it('step the clock: instants of fresh readings jump by the sum of the steps, held ones stay', () => {
    const rig = sensorRig({ signals: { utilityL1: ramp } });
    rig.happen('freeze input', { input: 'utilityL2' }, S);
    rig.happen('step clock', { by: -400_000 }, S);
    rig.happen('step clock', { by: 150_000 }, S);
    expect(rig.reading('utilityL1', 2 * S)).toEqual({ value: 2 * S, at_us: 1_750_000, state: 'fresh' });
    expect(rig.reading('utilityL2', 2 * S).at_us).toBe(S);
  });

  it('are whole again once mended, wrong wiring of the site included', () => {
    const signals = { serviceL1: () => 9_000, utilityL1: () => 121_000, utilityL2: () => 119_000, onSite: ramp };
    const rig = sensorRig({ signals, settings: { reversedTransformer: 'serviceL1', swappedLegs: 'utility' } });
    const sound = sensorRig({ signals }).sensors.digestState();
    rig.happen('scale input', { input: 'utilityL1', factor: 2 });
    rig.happen('stick input', { input: 'onSite' }, S);
    rig.happen('step clock', { by: 1 });
    expect(rig.sensors.digestState()).not.toEqual(sound);
    rig.happen('mend sensors');
    expect(rig.sensors.digestState()).toEqual(sound);
    expect(rig.value('serviceL1', 2 * S)).toBe(9_000);
    expect(rig.value('utilityL1', 2 * S)).toBe(121_000);
    expect(rig.reading('onSite', 2 * S)).toEqual({ value: 2 * S, at_us: 2 * S, state: 'fresh' });
  });

  it('know nothing else', () => {
    expect(() => sensorRig({}).happen('polish sensors')).toThrow('sensors cannot polish sensors');
  });
});
