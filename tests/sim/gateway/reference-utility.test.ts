import { describe, expect, it } from 'vitest';
import type { InputName } from '../../../sim/gateway/boundary.ts';
import { utilityFlags } from '../../../sim/gateway/reference-utility.ts';
import { inputsOf } from './inputs.ts';

const RIDE = { low_pu: 0.45, mid_pu: 0.65 };
const flags = (values: Partial<Record<InputName, number>>) => utilityFlags(inputsOf(values), true, RIDE);
const legs = (l1: number, l2: number, l12: number, angle = 180) =>
  flags({ utilityL1: l1 * 1000, utilityL2: l2 * 1000, utilityL12: l12 * 1000, utilityLegAngle: angle * 1000 });

describe('utilityFlags', () => {
  it('sound and good at 120/240 V; in trouble below 105.6 V and above 132 V on a leg', () => {
    expect(legs(120, 120, 240)).toMatchObject({ sound: true, good: true, troubled: false, unusual: false });
    expect(legs(105.7, 120, 225.7).troubled).toBe(false);
    expect(legs(105.5, 120, 225.5).troubled).toBe(true);
    expect(legs(132.1, 120, 252.1).troubled).toBe(true);
  });

  it('two legs of 120 V in phase are a lost leg, not a service', () => {
    expect(legs(120, 120, 0, 0)).toMatchObject({ legLost: true, odd: true, good: false, sound: false });
    expect(legs(120, 94.7, 25, 0)).toMatchObject({ legLost: true, odd: true });
  });

  it('legs moved apart under a good 240 V are an open neutral: 68 V and 172 V', () => {
    expect(legs(68, 172, 240)).toMatchObject({ neutralMoved: true, legLost: false, odd: true, troubled: true });
    expect(legs(110, 130, 240)).toMatchObject({ neutralMoved: false });
    expect(legs(48, 192, 240)).toMatchObject({ neutralMoved: true, legLost: false, odd: true });
  });

  it('sorts a sag by line to line: 0.44, 0.5 and 0.8 pu', () => {
    expect(legs(52.8, 52.8, 105.6)).toMatchObject({ belowDeep: true, lineLow: true, lineMid: true });
    expect(legs(61, 61, 122)).toMatchObject({ belowDeep: false, lineLow: false, lineMid: true });
    expect(legs(96, 96, 192)).toMatchObject({ lineMid: false, troubled: true, odd: false });
  });

  it('good ends at 0.90 and 1.06 pu, 59.5 and 60.5 Hz, legs 20 degrees off and 12 V apart', () => {
    expect([legs(107.9, 107.9, 215.8).good, legs(108.1, 108.1, 216.2).good]).toEqual([false, true]);
    expect([legs(127.3, 127.3, 254.6).good, legs(127.1, 127.1, 254.2).good]).toEqual([false, true]);
    expect([legs(120, 120, 240, 159).good, legs(120, 120, 240, 161).good]).toEqual([false, true]);
    expect([legs(113, 125.1, 238.1).good, legs(113, 124.9, 237.9).good]).toEqual([false, true]);
    expect([flags({ utilityFrequency: 60_501 }).good, flags({ utilityFrequency: 59_500 }).good]).toEqual([false, true]);
  });

  it('reads the house side where its own readings are stale and the relay is closed; with neither it says nothing', () => {
    const stale = { utilityL12: 'stale' } as const;
    const dead = { backupL1: 0, backupL2: 0, backupL12: 0, backupLegAngle: 0 };
    expect(utilityFlags(inputsOf(dead, stale), true, RIDE)).toMatchObject({ troubled: true, good: false });
    expect(utilityFlags(inputsOf(dead, stale), false, RIDE)).toMatchObject({
      troubled: false,
      sound: false,
      good: false,
    });
  });
});
