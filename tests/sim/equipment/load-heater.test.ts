import { describe, expect, it } from 'vitest';
import { WATER_J_per_K_L } from '../../../sim/equipment/load-heater.ts';
import { loadPiece, loadRig, off, S } from './load-rig.ts';

/** 190 L at 50 °C less 5 K, 80 W of loss, in a room of 20 °C, made up at 12 °C: all by default. */
const TANK = { type: 'heater', power: 4500 } as const;
const C_J_per_K = 190 * 4.18e3 * 0.988;
const U_W_per_K = 80 / 30;

describe('a heater', () => {
  it('counts water as 4.13 kJ a litre and kelvin: density times specific heat at 50 °C', () => {
    expect(off(WATER_J_per_K_L, 4.18e3 * 0.988)).toBeLessThan(1e-3);
  });

  // T = T∞ + (T0 - T∞) exp(-t U/C), T∞ = Ta + P/U: time by hand from 45 to 50 °C at 4.5 kW.
  it('warms 190 L from 45 to 50 °C with 4.5 kW in 14.8 min, then waits 14.9 h until it has lost them', () => {
    const { rig } = loadRig([loadPiece('heater', TANK, { temperature: 45 })]);
    const { steps } = rig;
    rig.run(30 * 3600 * S);
    const end_degC = 20 + 4500 / U_W_per_K;
    const warm_s = (C_J_per_K / U_W_per_K) * Math.log((end_degC - 45) / (end_degC - 50));
    const cool_s = (C_J_per_K / U_W_per_K) * Math.log(30 / 25);
    const [opens_us] = rig.when('heater', 'thermostat opens');
    const [closes_us] = rig.when('heater', 'thermostat closes');
    expect(off(opens_us! / S, warm_s)).toBeLessThan(1e-3);
    expect(off((closes_us! - opens_us!) / S, cool_s)).toBeLessThan(1e-3);
    expect([Math.round(warm_s / 6) / 10, Math.round(cool_s / 360) / 10]).toEqual([14.8, 14.9]);
    expect(rig.steps - steps).toBeLessThan(400); // Between its switchings it costs nothing.
  });

  it('heats slower at low voltage: 0.9 pu leaves 0.81 of its power', () => {
    const made = loadRig([loadPiece('heater', TANK, { temperature: 40 })], { pu: 0.9 });
    made.rig.run(600 * S);
    expect(off(made.rig.value('heater.p'), 4500 * 0.81)).toBeLessThan(1e-3);
    const rise = (600 * (4500 * 0.81 - U_W_per_K * 22)) / C_J_per_K;
    expect(off(made.rig.value('heater.temperature') - 40, rise)).toBeLessThan(2e-2);
  });

  it('mixes what is drawn with cold water and calls for heat at once', () => {
    const { rig } = loadRig([loadPiece('heater', TANK)]);
    expect(rig.value('heater.state')).toBe(1);
    rig.run(S);
    rig.happen('heater', 'draw', { volume: 19 });
    expect(rig.value('heater.temperature')).toBeCloseTo(50 - 0.1 * 38, 3);
    expect(rig.value('heater.state')).toBe(1);
    rig.happen('heater', 'draw', { volume: 19 });
    rig.run(2 * S);
    expect(rig.when('heater', 'thermostat closes')).toEqual([S]);
    expect([rig.value('heater.state'), Math.round(rig.value('heater.p') / 10)]).toEqual([2, 450]);
  });

  it('cools while it is switched off, and heats when it is back', () => {
    const { rig } = loadRig([loadPiece('heater', TANK, { on: false, temperature: 30 })]);
    rig.run(100 * S);
    expect(rig.value('heater.temperature')).toBeCloseTo(20 + 10 * Math.exp((-100 * U_W_per_K) / C_J_per_K), 4);
    expect(rig.piece('heater').load!.nominal().g12_S).toBe(0);
    rig.happen('heater', 'on');
    rig.run(101 * S);
    expect(rig.value('heater.state')).toBe(2);
    expect(off(rig.value('heater.p'), 4500)).toBeLessThan(1e-3);
  });
});
