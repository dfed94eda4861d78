import { describe, expect, it } from 'vitest';
import { loadPiece, loadRig, S } from '../sim/equipment/load-rig.ts';

describe('a water heater, with its defaults', () => {
  // Steam tables: 988 kg/m³ and 4.18 kJ/(kg K) at 50 °C. C dT/dt = P - U (T - Ta): 190 L, 80 W of loss over 30 K, 20 °C.
  it('of 4.5 kW warms 190 L from 45 to 50 °C in 14.8 min and has lost them after 14.9 h', () => {
    const C_J_per_K = 190 * 0.988 * 4180;
    const U_W_per_K = 80 / 30;
    const { rig } = loadRig([loadPiece('tank', { type: 'heater', power: 4500 }, { temperature: 45 })]);
    rig.run(30 * 3600 * S);
    const end_degC = 20 + 4500 / U_W_per_K;
    const warm_s = (C_J_per_K / U_W_per_K) * Math.log((end_degC - 45) / (end_degC - 50));
    const cool_s = (C_J_per_K / U_W_per_K) * Math.log(30 / 25);
    const [opens_us] = rig.when('tank', 'thermostat opens');
    const [closes_us] = rig.when('tank', 'thermostat closes');
    expect(Math.abs(opens_us! / S / warm_s - 1)).toBeLessThan(2e-3);
    expect(Math.abs((closes_us! - opens_us!) / S / cool_s - 1)).toBeLessThan(2e-3);
    expect([Math.round(warm_s / 6) / 10, Math.round(cool_s / 360) / 10]).toEqual([14.8, 14.9]);
  });
});

describe('cold-load pick-up, with its defaults', () => {
  // Delayed exponential (Lang, Anderson, Fagen 1982, from memory): 20 min of hold, 40 min of decay, after 30 min dark. Down to half of
  // the excess at T + τ ln 2 = 2864 s, to a tenth at T + τ ln 10 = 6726 s; a staircase of twentieths is within half of one.
  it.each([
    [0.5, 2864],
    [0.25, 4527],
    [0.1, 6726],
  ])('is down to %f of its excess at %d s', (left, at_s) => {
    const made = loadRig([loadPiece('house1', { power: 1000, pickup: 3 })], { closed: false });
    made.rig.run(1800 * S);
    made.poleState('closed');
    const excess = (): number => (made.rig.piece('house1').load!.nominal().g12_S / (1000 / 240 ** 2) - 1) / 2;
    // The curve passes the middle between two stairs half a stair before and after.
    const crosses = (level: number): number => 1200 + 2400 * Math.log(1 / level);
    expect(Math.abs(crosses(left) - at_s)).toBeLessThan(1);
    const before_s = Math.ceil(crosses(left + 0.025)) + 1;
    const after_s = Math.floor(crosses(left - 0.025)) - 1;
    made.rig.run((1800 + before_s - 2) * S);
    expect(excess()).toBeCloseTo(left + 0.05, 9);
    made.rig.run((1800 + before_s) * S);
    expect(excess()).toBeCloseTo(left, 9);
    made.rig.run((1800 + after_s) * S);
    expect(excess()).toBeCloseTo(left, 9);
    made.rig.run((1800 + after_s + 2) * S);
    expect(excess()).toBeCloseTo(left - 0.05, 9);
  });
});
