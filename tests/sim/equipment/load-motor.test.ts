import { describe, expect, it } from 'vitest';
import { accelerationRate } from '../../../sim/equipment/load-motor.ts';
import { loadPiece, loadRig, MS, off, S } from './load-rig.ts';
import { resistor } from './rig-devices.ts';

/** 3.5 kVA by default: its shaft power over 0.75 pu of torque. */
const MOTOR = { type: 'motor', power: 2625 } as const;
const [RUNS, STARTS, STALLED, TRIPPED, STOPPED] = [1, 2, 3, 4, 5];

describe('accelerationRate', () => {
  it('is (u² - 0.35)/0.65 over the time at nominal voltage, and none below 0.59 pu', () => {
    expect(accelerationRate(1, 0.3)).toBeCloseTo(1 / 0.3, 12);
    expect(accelerationRate(0.919, 0.3)).toBeCloseTo(0.4945 / 0.65 / 0.3, 3);
    expect(accelerationRate(0.59, 0.3)).toBe(0);
    expect(accelerationRate(0.6, 0.3)).toBeGreaterThan(0);
  });
});

describe('a motor', () => {
  it('is at rest to the bit on a steady bus', () => {
    const { rig } = loadRig([loadPiece('pump', MOTOR)], { r_ohm: 0.05, x_ohm: 0.3 });
    rig.run(5 * S);
    const { steps } = rig;
    const before = JSON.stringify(rig.piece('pump').digestState(rig.kernel.now_us));
    rig.run(500 * S);
    rig.change(() => {});
    rig.run(1000 * S);
    expect(JSON.stringify(rig.piece('pump').digestState(rig.kernel.now_us))).toBe(before);
    expect(rig.steps - steps).toBe(1); // The change's one step, in which nothing moved.
  });

  it('starts as a locked rotor and is at speed 0.3 s later at nominal voltage, later at less', () => {
    for (const [pu, expected_s] of [
      [1, 0.3],
      [0.8, 0.3 * (0.65 / 0.29)],
    ] as const) {
      const made = loadRig([loadPiece('pump', MOTOR, { on: false })], { pu });
      made.rig.run(S);
      made.rig.happen('pump', 'start');
      made.rig.run(S + 100 * MS);
      expect(made.rig.value('pump.state')).toBe(STARTS);
      made.rig.run(10 * S);
      const [at_us] = made.rig.when('pump', 'motor runs');
      expect(off((at_us! - S) / S, expected_s)).toBeLessThan(5e-3);
      expect(made.rig.value('pump.state')).toBe(RUNS);
    }
  });

  it('stays a locked rotor at 0.58 pu until its protector opens', () => {
    const made = loadRig([loadPiece('pump', MOTOR, { on: false })], { pu: 0.58 });
    made.rig.happen('pump', 'start');
    made.rig.run(60 * S);
    const [trips_us] = made.rig.when('pump', 'motor trips');
    expect(off(trips_us! / S, 10 / 0.58 ** 2)).toBeLessThan(5e-3); // I²t: 10 s at nominal voltage.
    expect(made.rig.value('pump.state')).toBe(TRIPPED);
    expect(made.rig.value('pump.p')).toBe(0);
  });

  it('stalls 33 ms after the voltage has fallen below 0.6 pu, not after 30 ms', () => {
    const made = loadRig([loadPiece('pump', MOTOR)]);
    made.rig.run(S);
    made.volts(0.55);
    made.rig.run(S + 30 * MS);
    made.volts(1);
    made.volts(0.61);
    made.rig.run(2 * S);
    expect(made.rig.value('pump.state')).toBe(RUNS);
    made.volts(0.55);
    made.rig.run(3 * S);
    expect(made.rig.when('pump', 'motor stalls')).toEqual([2 * S + 33 * MS]);
    expect(made.rig.value('pump.state')).toBe(STALLED);
  });

  it('that has stalled waits for 0.95 pu', () => {
    const made = loadRig([loadPiece('pump', MOTOR)]);
    made.volts(0.5);
    made.rig.run(S);
    made.volts(0.94);
    made.rig.run(3 * S);
    expect(made.rig.value('pump.state')).toBe(STALLED);
    made.volts(0.96);
    made.rig.run(5 * S);
    expect(made.rig.when('pump', 'motor starts')).toEqual([3 * S]);
    expect(made.rig.value('pump.state')).toBe(RUNS);
  });

  it('trips by its protector 10 s after it has stalled at nominal voltage, and starts freely 120 s later', () => {
    const made = loadRig([loadPiece('pump', { ...MOTOR, freeAbove: 1.2 })]);
    made.volts(0.5);
    made.rig.run(40 * MS);
    made.volts(1);
    made.rig.run(200 * S);
    const [stalls_us] = made.rig.when('pump', 'motor stalls');
    const [trips_us] = made.rig.when('pump', 'motor trips');
    expect(off((trips_us! - stalls_us!) / S, 10)).toBeLessThan(5e-3);
    expect(made.rig.when('pump', 'motor starts')).toEqual([trips_us! + 120 * S]);
    expect(made.rig.value('pump.state')).toBe(RUNS);
  });

  it('whose protector has opened is not freed by its switch', () => {
    const made = loadRig([loadPiece('pump', { ...MOTOR, freeAbove: 1.2 })]);
    made.volts(0.5);
    made.rig.run(40 * MS);
    made.volts(1);
    made.rig.run(20 * S);
    made.rig.happen('pump', 'off');
    made.rig.run(21 * S);
    made.rig.happen('pump', 'start');
    made.rig.run(22 * S);
    expect(made.rig.value('pump.state')).toBe(TRIPPED);
    made.rig.run(200 * S);
    expect(made.rig.value('pump.state')).toBe(RUNS);
  });

  it('keeps its part unformed until it has run down, and leaves it dead to the bit', () => {
    const made = loadRig([loadPiece('pump', MOTOR)], {
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [resistor(index, L1, L2, 50)];
      },
    });
    made.rig.run(S);
    made.poleState('open');
    made.rig.run(S + 20 * MS);
    const house = made.rig.wiring.busIndex('house');
    expect(made.rig.level.partAt(house).kind).toBe('unformed');
    expect(made.rig.value('pump.p')).toBeLessThan(-500); // It feeds the resistor.
    expect(made.rig.value('pump.speed')).toBeLessThan(0.85); // TL/2H: 7.5 pu a second and what it feeds.
    made.rig.run(5 * S);
    expect(made.rig.level.partAt(house).kind).toBe('dead');
    expect(made.rig.volts('house', 'L1', 'L2')).toBe(0);
    expect([made.rig.value('pump.state'), made.rig.value('pump.p')]).toEqual([STOPPED, 0]);
  });

  // Nothing but its load brakes it: TL/2H = 0.75/0.1 s.
  it('alone loses 7.5 pu of speed a second', () => {
    const made = loadRig([loadPiece('pump', MOTOR)]);
    made.rig.run(S);
    made.poleState('open');
    const before = made.rig.value('pump.speed');
    made.rig.run(S + 50 * MS);
    expect(before - made.rig.value('pump.speed')).toBeCloseTo(0.375, 3);
  });

  it('with its pressure still on stalls when the voltage is back after 20 s, and starts freely after 121 s', () => {
    for (const [dark_s, did] of [
      [20, 'motor stalls'],
      [121, 'motor starts'],
    ] as const) {
      const made = loadRig([loadPiece('pump', MOTOR)], { pu: 0.94 });
      made.rig.run(S);
      made.poleState('open');
      made.rig.run((1 + dark_s) * S);
      made.poleState('closed');
      made.rig.run((2 + dark_s) * S);
      expect(made.rig.when('pump', did)).toEqual([(1 + dark_s) * S]);
    }
  });

  it('is steady at half cycles with a rotor of 20 ms and of 400 ms', () => {
    for (const rotorTime of [20 * MS, 400 * MS]) {
      const made = loadRig([loadPiece('pump', { ...MOTOR, rotorTime })]);
      made.rig.run(S);
      made.volts(0.9);
      made.rig.run(20 * S);
      const { steps } = made.rig;
      made.rig.run(100 * S);
      expect(made.rig.steps).toBe(steps);
      expect(made.rig.value('pump.state')).toBe(RUNS);
    }
  });

  it('given another power keeps its rating: half the torque, about half the power', () => {
    const { rig } = loadRig([loadPiece('pump', MOTOR)]);
    rig.run(S);
    const before_W = rig.value('pump.p');
    rig.happen('pump', 'set power', { power: 2625 / 2 });
    rig.run(10 * S);
    expect(rig.value('pump.p') / before_W).toBeGreaterThan(0.49);
    expect(rig.value('pump.p') / before_W).toBeLessThan(0.52);
    expect(off(rig.piece('pump').load!.nominal().g12_S * 240 ** 2, rig.value('pump.p'))).toBeLessThan(1e-3);
  });
});
