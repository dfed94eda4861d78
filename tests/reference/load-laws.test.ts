import { describe, expect, it } from 'vitest';
import { resonantAdmittance } from '../../sim/equipment/load-fixed.ts';
import { ZIP_CLASSES } from '../../sim/equipment/load-zip.ts';
import type { Bag } from '../../sim/site-description.ts';
import { followingSource, loadPiece, loadRig, MS, off, S } from '../sim/equipment/load-rig.ts';

const W0 = 2 * Math.PI * 60;

// Bokhari et al., IEEE Trans. Power Delivery 29(3), 2014, residential classes, as printed there; u² Zp + u Ip + Pp by hand.
// 3e-4 allows for the 2 mohm of two closed poles.
describe('a zip load', () => {
  it.each([
    ['A', 0.9, 0.946],
    ['A', 1.0, 1.0],
    ['A', 1.1, 1.084],
    ['E', 0.9, 0.9346],
    ['F', 1.0, 1.01],
    ['C', 1.1, 1.0786],
  ])('of class %s takes at %f pu %f of its power', (zipClass, u, share) => {
    const { rig } = loadRig([loadPiece('house1', { type: 'zip', power: 2000, zipClass })], { pu: u });
    rig.run(S);
    expect(off(rig.value('house1.p'), 2000 * share)).toBeLessThan(3e-4);
  });

  it('is not extrapolated above 1.1 pu: from there on an impedance', () => {
    const { rig } = loadRig([loadPiece('house1', { type: 'zip', power: 2000, zipClass: 'A' })], { pu: 1.3 });
    rig.run(S);
    expect(off(rig.value('house1.p'), 2000 * 1.084 * (1.3 / 1.1) ** 2)).toBeLessThan(3e-4);
  });

  it('has six classes whose shares add up to 1 within the two digits that are printed', () => {
    expect(Object.keys(ZIP_CLASSES)).toEqual(['A', 'B', 'C', 'D', 'E', 'F']);
    for (const { zp, ip, pp, zq, iq, pq } of Object.values(ZIP_CLASSES)) {
      expect(Math.abs(zp + ip + pp - 1)).toBeLessThan(0.0151);
      expect(Math.abs(zq + iq + pq - 1)).toBeLessThan(0.0151);
    }
  });
});

// R = U²/P, L = U²/(ω Qf P), C = Qf P/(ω U²): arithmetic, the last one also as often printed for a 100 kW test load.
describe('resonantAdmittance', () => {
  it.each([
    [5000, 240, 1, 11.52, 30.5577, 230.259],
    [7680, 240, 1, 7.5, 19.8944, 353.678],
    [9600, 240, 1, 6, 15.9155, 442.097],
    [100_000, 480, 1.77, 2.304, 3.4529, 2037.79],
  ])('of %f W at %f V, Qf %f is %f ohm, %f mH, %f µF', (power_W, volts_V, quality, r_ohm, l_mH, c_uF) => {
    const { g_S, inductive_S, capacitive_S } = resonantAdmittance(power_W, volts_V, quality, 60);
    expect(off(1 / g_S, r_ohm)).toBeLessThan(2e-6);
    expect(off(1000 / (W0 * inductive_S), l_mH)).toBeLessThan(2e-5);
    expect(off((1e6 * capacitive_S) / W0, c_uF)).toBeLessThan(3e-6);
  });

  // dQ = Qf (f0/60 - 60/f0) of 7680 W: a load detuned by so many percent of its power resonates here.
  it.each([
    [-5, 58.519],
    [-2, 59.403],
    [-1, 59.701],
    [1, 60.301],
    [2, 60.603],
    [5, 61.519],
  ])('detuned by %f %% of its power resonates at %f Hz', (percent, resonance_Hz) => {
    const { g_S, inductive_S, capacitive_S } = resonantAdmittance(7680, 240, 1, resonance_Hz);
    expect((100 * (inductive_S - capacitive_S)) / g_S).toBeCloseTo(percent, 2);
  });
});

/** Resistive and constant-power load behind a main that opens at 0.1 s on a following source. */
function island(resistive_W: number, constant_W: number, source_W: number, ceiling: number, params: Bag = {}) {
  const made = loadRig(
    [
      loadPiece('stove', { power: resistive_W }),
      loadPiece('desk', { type: 'electronic', power: constant_W, ...params }),
    ],
    { devices: (wiring) => [followingSource(wiring, source_W, { ceiling })] },
  );
  made.rig.run(100 * MS);
  made.poleState('open');
  return made.rig;
}

// u² P_R + P_C = P: u = sqrt((P - P_C)/P_R).
describe('constant power on a following source', () => {
  it.each([
    [1000, 4000, 5000, 1],
    [3000, 2000, 5000, 1],
    [1500, 5000, 6600, 1.0328],
  ])('%f W resistive and %f W constant on %f W: %f pu', (resistive_W, constant_W, source_W, u) => {
    const rig = island(resistive_W, constant_W, source_W, Number.POSITIVE_INFINITY);
    rig.run(4 * S);
    expect(rig.volts('house', 'L1', 'L2') / 240).toBeCloseTo(u, 4);
  });

  // No operating point: 5 kW cannot feed 5 kW at any voltage with 1.5 kW beside it. 5000/(1500 u²) leaves u at the ceiling.
  it('1.5 kW and 5 kW on 5 kW collapse; the electronics let go and the voltage jumps to the ceiling of 1.33 pu', () => {
    const rig = island(1500, 5000, 5000, 1.33, { restartDelay: 60 * S });
    rig.run(3 * S);
    const [cut_us] = rig.when('desk', 'cuts out');
    expect(cut_us! - 100 * MS).toBeGreaterThan(30 * MS);
    expect(cut_us! - 100 * MS).toBeLessThan(70 * MS);
    expect(rig.volts('house', 'L1', 'L2') / 240).toBeCloseTo(1.33, 6);
    expect(rig.value('desk.p')).toBe(0);
  });
});
