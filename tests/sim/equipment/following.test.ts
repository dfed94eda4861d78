import { describe, expect, it } from 'vitest';
import { FollowingCore, type FollowingSettings } from '../../../sim/equipment/following.ts';
import type { PhasorNet } from '../../../sim/network/device.ts';

const W0 = 2 * Math.PI * 60;
const SETTINGS: FollowingSettings = {
  rated_W: 5000,
  currentLimit: 1.2,
  loop_Hz: 6,
  loopDamping: 0.9,
  frequencyLag_s: 0.02,
  voltageLag_s: 0.01,
  filter_F: 10e-6,
  ceiling: 1.33,
};

/** A net of two nodes at a set voltage; takes down what is stamped. */
function fixedNet(re_V: number, im_V = 0, w = W0): PhasorNet & { injected: [number, number]; siemens: number } {
  return {
    w,
    h_s: 0,
    now_us: 0,
    injected: [0, 0],
    siemens: 0,
    shunt(_a, _b, _g, capacitive_S) {
      this.siemens += capacitive_S;
    },
    series: () => {},
    admittance: () => {},
    coupled: () => {},
    inject(_a, _b, re_A, im_A) {
      this.injected = [re_A, im_A];
    },
    offset: () => 0,
    pull: () => {},
    re: (node) => (node === 0 ? re_V / 2 : -re_V / 2),
    im: (node) => (node === 0 ? im_V / 2 : -im_V / 2),
  };
}

function running(settings: Partial<FollowingSettings> = {}): FollowingCore {
  const core = new FollowingCore({ ...SETTINGS, ...settings }, 0, 1);
  core.connected = true;
  core.gate = 1;
  core.power_W = 5000;
  return core;
}

describe('FollowingCore', () => {
  it('gives P / Vf along the voltage, no more than 1.2 of rated current, and its filter of 10 µF', () => {
    const net = fixedNet(240);
    const core = running();
    core.settle(0, 240, W0);
    core.stamp(net);
    expect(net.injected[0]).toBeCloseTo(5000 / 240, 9);
    expect(net.injected[1]).toBeCloseTo(0, 9);
    expect(net.siemens).toBeCloseTo(W0 * 10e-6, 12);
    core.settle(0, 100, W0);
    expect(core.amplitude_A()).toBeCloseTo(25, 9);
  });

  it('divides by no less than 20 V, and normalises its loop by no less than 0.05 pu', () => {
    const core = running();
    core.power_W = 100;
    core.settle(-0.1, 6, W0);
    expect(core.amplitude_A()).toBeCloseTo(5, 9);
    // One step by hand: e = 6 sin(0.1) / 12, the integral first, then the angle.
    const h = 1e-4;
    const wn = 2 * Math.PI * 6;
    const error = (6 * Math.sin(0.1)) / 12;
    core.advance(fixedNet(6), h, 0);
    expect(core.angle_rad).toBeCloseTo(-0.1 + h * (2 * 0.9 * wn * error + h * wn * wn * error), 9);
  });

  // Linear second-order loop after a phase step δ: e'' + 2ζω e' + ω² e = 0 with e(0) = δ, e'(0) = -2ζω δ.
  it('answers a phase step of 2 degrees as ω = 2π 6 rad/s, ζ = 0.9 do, in closed form', () => {
    const step = (2 * Math.PI) / 180;
    const wn = 2 * Math.PI * 6;
    const wd = wn * Math.sqrt(1 - 0.9 ** 2);
    const core = running();
    core.settle(-step, 240, W0);
    const net = fixedNet(240);
    const h = 1e-5;
    for (let k = 1; k <= 8000; k += 1) {
      core.advance(net, h, 0);
      if (k % 1000 !== 0) continue;
      const t = k * h;
      const closed = step * Math.exp(-0.9 * wn * t) * (Math.cos(wd * t) - ((0.9 * wn) / wd) * Math.sin(wd * t));
      expect(Math.abs(-core.angle_rad - closed)).toBeLessThan(step * 0.002);
    }
  });

  it('lags the voltage by 10 ms and the frequency by 20 ms: 1 - 1/e after one time constant', () => {
    const core = running();
    core.settle(0, 240, W0);
    core.advance(fixedNet(120), 0.01, 0);
    expect(core.voltage_V).toBeCloseTo(240 - 120 * (1 - Math.exp(-1)), 9);
    const other = running();
    other.settle(0, 240, W0);
    // One long step with the loop at rest and 1 Hz of disturbance shows the lag alone.
    other.advance(fixedNet(240), 0.02, 1);
    expect(other.f_Hz).toBeCloseTo(60 + (1 - Math.exp(-1)), 9);
  });

  it('cuts its amplitude by the ratio while the voltage is above 1.33 pu, and forgets that with the next solution', () => {
    const core = running();
    core.settle(0, 240, W0);
    core.begin();
    expect(core.limit(fixedNet(240 * 1.33))).toBe(false);
    expect(core.limit(fixedNet(240 * 1.4))).toBe(true);
    const net = fixedNet(240);
    core.stamp(net);
    expect(net.injected[0]).toBeCloseTo(((5000 / 240) * 1.33) / 1.4, 6);
    core.begin();
    core.stamp(net);
    expect(net.injected[0]).toBeCloseTo(5000 / 240, 6);
  });

  it('leads by its method within 0.5 rad, and by the deliberate error', () => {
    const core = running();
    core.settle(0, 240, W0);
    const angle = (): number => {
      const net = fixedNet(240);
      core.stamp(net);
      return Math.atan2(net.injected[1], net.injected[0]);
    };
    core.activeMethod = () => 0.1;
    core.bias_rad = 0.02;
    expect(angle()).toBeCloseTo(0.12, 12);
    core.activeMethod = () => 2;
    expect(angle()).toBeCloseTo(0.52, 12);
  });

  it('is quiet to the bit once it has settled, whatever the step', () => {
    const core = running();
    const net = fixedNet(200, 130);
    core.settle(0.3, 230, W0 + 1);
    for (let k = 0; k < 2000; k += 1) core.advance(net, 1 / 480, 0);
    const before = core.digest();
    for (const h of [1e-6, 1 / 480, 1 / 120, 0.001]) expect(core.advance(net, h, 0)).toBe(false);
    expect(core.digest()).toEqual(before);
  });

  it('measures nothing and waits while it is isolated ahead of its taps', () => {
    const core = running();
    core.settle(0.1, 240, W0);
    core.isolated = true;
    core.advance(fixedNet(240), 1, 0);
    expect(core.measured_V(fixedNet(240))).toBe(0);
    expect(core.angle_rad).toBe(0.1);
    expect(core.voltage_V).toBeLessThan(1e-6);
  });

  it('puts out P and Q with its filter: -ωC u² at no current', () => {
    const core = running();
    core.gate = 0;
    const found = core.output(fixedNet(240));
    expect(found.p_W).toBeCloseTo(-(240 ** 2) / 100_000, 9); // Its bleeder alone.
    expect(Math.abs(found.q_var)).toBeCloseTo(W0 * 10e-6 * 240 ** 2, 6);
    expect(found.i_A).toBe(0);
  });
});
