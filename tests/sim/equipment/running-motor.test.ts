import { describe, expect, it } from 'vitest';
import { COMPRESSOR, type MotorData, RunningMotor, slipAt, steadyMotor } from '../../../sim/equipment/running-motor.ts';
import { utility } from '../../../sim/equipment/utility.ts';
import type { PhasorDevice } from '../../../sim/network/device.ts';
import { Rig } from './rig.ts';
import { resistor } from './rig-devices.ts';

/**
 * Textbook circuit of an induction motor: stator Rs + jl, rotor Rr/s + jl, jXm across, with X = l + Xm = 2.5,
 * X' = l + l Xm/(l + Xm) = 0.12 and T0' = (l + Xm)/(ω0 Rr) = 0.1 s. Torque |Ir|² Rr/s, in pu.
 */
function circuit(slip: number): { torque: number; current: number; powerFactor: number } {
  const [rs, xm] = [0.02, Math.sqrt(2.38 * 2.5)];
  const l = 2.5 - xm;
  const rotor = 2.5 / (2 * Math.PI * 60 * 0.1) / slip;
  // jXm beside rotor + jl: jXm (rotor + jl) / (rotor + j(l + Xm)).
  const size2 = rotor ** 2 + (l + xm) ** 2;
  const re = (xm * xm * rotor) / size2;
  const im = (xm * (rotor ** 2 + l * (l + xm))) / size2;
  const current = 1 / Math.hypot(rs + re, l + im);
  return { torque: current ** 2 * re, current, powerFactor: (rs + re) * current };
}

describe('slipAt', () => {
  it('is that of the textbook circuit at 0.75 pu of torque: 5.4 %, 0.894 pu of current, power factor 0.856', () => {
    const slip = slipAt(COMPRESSOR, 1)! / (2 * Math.PI * 60);
    const { i } = steadyMotor(COMPRESSOR, 1, 2 * Math.PI * 60 * slip);
    const expected = circuit(slip);
    expect(expected.torque).toBeCloseTo(0.75, 9);
    expect(Math.hypot(...i)).toBeCloseTo(expected.current, 9);
    expect(i[0] / Math.hypot(...i)).toBeCloseTo(expected.powerFactor, 9);
    expect([slip, expected.current, expected.powerFactor].map((value) => value.toFixed(3))).toEqual([
      '0.054',
      '0.894',
      '0.856',
    ]);
  });

  it('is none where the voltage cannot carry the load: 0.4 pu', () => {
    expect(slipAt(COMPRESSOR, 0.4)).toBeUndefined();
    expect(slipAt(COMPRESSOR, 0.6)).toBeGreaterThan(slipAt(COMPRESSOR, 1)!);
  });
});

/** One motor of 5 kVA with R beside it, behind a supply that can go. */
function alone(data: MotorData, resistance_pu: number): { rig: Rig; motor: RunningMotor } {
  let motor: RunningMotor | undefined;
  const rig = new Rig({
    buses: ['service'],
    pieces: [
      { kind: utility, id: 'street', at: ['service'], params: { neighbours: 0, magnetising: 0, noLoadLoss: 0 } },
    ],
    devices: (wiring) => {
      const bus = wiring.bus('service');
      const machine = new RunningMotor(data, bus.L1, bus.L2, 5000);
      machine.start();
      motor = machine;
      const device: PhasorDevice = {
        bus: bus.index,
        stamp: (net) => machine.stamp(net),
        drives: () => machine.drives(),
        follow: (net) => machine.follow(net),
        rebase: (by) => machine.rebase(by),
        accept: (net, h_s) => machine.accept(net, h_s),
      };
      return [device, resistor(bus.index, bus.L1, bus.L2, resistance_pu * 11.52)];
    },
  });
  return { rig, motor: motor! };
}

describe('RunningMotor', () => {
  it('runs up from standstill and settles at the slip of its steady state', () => {
    const { rig, motor } = alone(COMPRESSOR, 10);
    rig.run(10_000_000);
    const u = rig.volts('service', 'L1', 'L2') / 240;
    expect(1 - motor.speed).toBeCloseTo(slipAt(COMPRESSOR, u)! / (2 * Math.PI * 60), 8);
    const steps = rig.steps;
    rig.run(100_000_000);
    expect(rig.steps).toBe(steps);
  });

  // Closed form, I = -E'/(R + Rs + jX'): rate (1 + Re(j(X - X')/(R + Rs + jX')))/T0'. 5 % allows for the current taken at
  // the end of a step.
  it.each([
    [3, 134.4],
    [1, 109.1],
  ])('alone on %f pu of resistance falls to a quarter in %f ms', (resistance_pu, time_ms) => {
    const { rig, motor } = alone({ ...COMPRESSOR, torque: 0, inertia_s: 1e4 }, resistance_pu);
    rig.change(() => motor.settle(rig.level.partAt(0)));
    rig.run(1_000_000);
    rig.happen('street', 'outage');
    const flux = motor.flux;
    rig.run(1_000_000 + 1000 * time_ms);
    const found_ms = (time_ms * Math.log(4)) / Math.log(flux / motor.flux);
    expect(Math.abs(found_ms / time_ms - 1)).toBeLessThan(0.05);
  });

  // Nothing but its load brakes it: TL/2H = 0.75/0.1 s.
  it('loses 7.5 pu of speed a second once it makes no torque', () => {
    const { rig, motor } = alone(COMPRESSOR, 1e6);
    rig.run(5_000_000);
    rig.happen('street', 'outage');
    const speed = motor.speed;
    rig.run(5_050_000);
    expect(speed - motor.speed).toBeCloseTo(0.375, 3);
  });

  it('without any load keeps its flux with T0 of 100 ms', () => {
    const { rig, motor } = alone({ ...COMPRESSOR, torque: 0, inertia_s: 1e4 }, 1e6);
    rig.change(() => motor.settle(rig.level.partAt(0)));
    rig.run(1_000_000);
    rig.happen('street', 'outage');
    const flux = motor.flux;
    rig.run(1_100_000);
    expect(motor.flux / flux).toBeCloseTo(Math.exp(-1), 3);
  });
});
