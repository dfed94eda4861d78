import { describe, expect, it } from 'vitest';
import type { PoleReading } from '../../../sim/equipment/poles.ts';
import { PoleHistory } from '../../../sim/site/pole-history.ts';

const S = 1_000_000;
const reading = (part: Partial<PoleReading>): PoleReading => ({
  volts_V: 0,
  angle_deg: 0,
  slip_Hz: 0,
  current_A: 0,
  power_W: 0,
  ...part,
});

describe('PoleHistory', () => {
  it('gives what stood at an instant, not what stands now', () => {
    const history = new PoleHistory(2 * S);
    history.take(0, reading({ volts_V: 0.01 }), 120, 120);
    history.take(S, reading({ volts_V: 7, angle_deg: 3 }), 120, 120);
    expect([S - 1, S, 2 * S].map((at_us) => history.volts_V(at_us))).toEqual([0.01, 7, 7]);
    expect([S - 1, S].map((at_us) => history.angle_deg(at_us))).toEqual([0, 3]);
  });

  it('turns under slip: 0.1 Hz is 36° a second, and the volts are those of a chord', () => {
    const history = new PoleHistory(60 * S);
    history.take(0, reading({ angle_deg: 30, slip_Hz: 0.1, volts_V: 62.1 }), 120, 120);
    expect(history.angle_deg(2 * S)).toBeCloseTo(102, 9);
    expect(history.angle_deg(5 * S)).toBeCloseTo(-150, 9);
    // Two sides of 120 V, 90° apart: 120·√2 V.
    expect(history.volts_V(S + 666_667)).toBeCloseTo(169.7056, 3);
  });

  it('begins no new stretch where a later look finds the angle that the slip had to bring', () => {
    const [once, often] = [new PoleHistory(60 * S), new PoleHistory(60 * S)];
    // What a later solution finds is rounded otherwise, by 1e-9 degrees at the most.
    const at = (t_us: number) =>
      reading({ angle_deg: 10 + (360 * 0.037 * t_us) / S + 1e-9 * (t_us / S / 3), slip_Hz: 0.037 });
    once.take(0, at(0), 121, 119);
    for (let t_us = 0; t_us < 3 * S; t_us += 8_333) often.take(t_us, at(t_us), 121, 119);
    expect(often.angle_deg(4 * S)).toBe(once.angle_deg(4 * S));
    expect(often.volts_V(4 * S)).toBe(once.volts_V(4 * S));
  });

  it('follows a jump of the angle under the same slip', () => {
    const history = new PoleHistory(60 * S);
    history.take(0, reading({ angle_deg: 10, slip_Hz: 0.1 }), 120, 120);
    history.take(S, reading({ angle_deg: 90, slip_Hz: 0.1 }), 120, 120);
    expect(history.angle_deg(2 * S)).toBeCloseTo(126, 9);
    expect(history.angle_deg(S / 2)).toBeCloseTo(28, 9);
  });

  it('does not turn beside a dead side', () => {
    const history = new PoleHistory(60 * S);
    history.take(0, reading({ volts_V: 120, slip_Hz: 0.1 }), 120, 0.5);
    expect([history.volts_V(S), history.angle_deg(S)]).toEqual([120, 0]);
  });

  it('forgets what is older than asked for', () => {
    const history = new PoleHistory(S);
    for (let k = 0; k <= 10; k += 1) history.take(k * S, reading({ volts_V: k }), 120, 120);
    expect([9 * S, 8.5 * S].map((at_us) => history.volts_V(at_us))).toEqual([9, 9]);
  });
});
