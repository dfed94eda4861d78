import { describe, expect, it } from 'vitest';
import { islandQuality } from '../../../harness/rules/island-quality.ts';
import { BEHIND_RELAY, darkHouse, forms, onGrid } from './house.ts';
import { each, judge, type Story, type Values } from './telemetry-builder.ts';

const FORMED_us = 3_000_000;
const HALF_CYCLE_us = 8_340;
const verdictOf = (story: Story, end_us = 100_000_000): ReturnType<typeof judge> =>
  judge(islandQuality, story.end(end_us));
const island = (changes: Values = {}): Story => forms(darkHouse(), FORMED_us, { 'car.setFrequency': 60, ...changes });
const at = (f: number): Values => each(BEHIND_RELAY, { f });

describe('islandQuality', () => {
  it('is not armed on the utility, nor by an island shorter than 1 s', () => {
    const never = { armed: 0, outcome: { is: 'not exercised', why: 'never armed' } };
    expect(verdictOf(onGrid().frame(1_000_000, { 'house.u1': 60, 'house.f': 50 }))).toMatchObject(never);
    // That it never leaves 57 to 63 Hz is judged from the first instant on.
    expect(verdictOf(island(), FORMED_us + 1_000_000).outcome).toMatchObject({ is: 'pass', worst: { limit: 63 } });
  });

  it.each([
    [{ 'house.u1': 105.6 }, 'pass', 0],
    [{ 'house.u1': 105.4 }, 'fail', -0.0076],
    [{ 'house.u2': 132 }, 'pass', 0],
    [{ 'house.u2': 133.2 }, 'fail', -0.0455],
    [{ 'house.u12': 206.4 }, 'fail', -0.0909],
  ] as const)('keeps each voltage with load in 0.88 to 1.10 pu: %o is a %s', (changes, is, value) => {
    const { outcome } = verdictOf(island().frame(5_000_000, changes));
    expect(outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 4);
  });

  it('judges from 1 s after forming, known to half a cycle, to the stop order', () => {
    const low = (until_us: number): Story => island({ 'house.u1': 60 }).frame(until_us, { 'house.u1': 120 });
    expect(verdictOf(low(FORMED_us + 1_000_000)).outcome.is).toBe('pass');
    expect(verdictOf(low(FORMED_us + 1_000_001)).outcome).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(verdictOf(low(FORMED_us + 1_000_001).wave(3_990_000, 4_010_010)).outcome.is).toBe('fail');
    expect(verdictOf(low(FORMED_us + 1_000_000 + HALF_CYCLE_us)).outcome.is).toBe('fail');
    // The relay has opened 1.5 s before; no island stood then, so that was no step of its load.
    const stops = island().frame(5_000_000, { 'gateway.vehicleCommand': 5 }).frame(5_100_000, { 'house.u1': 20 });
    expect(verdictOf(stops).outcome.is).toBe('pass');
  });

  it.each([
    ['a load', { 'kitchen.on': 1 }],
    ['a motor that starts', { 'heater.state': 2 }],
    ['a contact in the island', { 'ev-breaker.L1': 2 }],
    ['an inverter', { 'roof.energises': 1 }],
  ] as const)('leaves the voltage 2 s after a step: %s', (_what, step) => {
    const low = (for_us: number): Story =>
      island()
        .frame(5_000_000, { ...step, 'house.u1': 100 })
        .frame(5_000_000 + for_us, { 'house.u1': 120 });
    expect(verdictOf(low(2_000_000)).outcome.is).toBe('pass');
    expect(verdictOf(low(2_000_000 + HALF_CYCLE_us)).outcome).toMatchObject({
      is: 'fail',
      worst: { at_us: 7_000_000 },
    });
  });

  it('holds a low voltage against what changed the circuit last, and counts each stay outside', () => {
    const story = island()
      .happening(4_000_000, 'heater', 'on', 'person')
      .frame(4_000_000, { 'heater.on': 1, 'house.u1': 100 })
      .frame(8_000_000, { 'house.u1': 120 })
      .frame(9_000_000, { 'house.u1': 100 });
    expect(verdictOf(story)).toMatchObject({
      outcome: { is: 'fail', against: 'person' },
      violations: { controller: 0, person: 2, equipment: 0, utility: 0, site: 0 },
    });
  });

  it('holds it against what brought it, not against what came while it did not count yet', () => {
    const story = island()
      .happening(5_000_000, 'heater', 'on', 'person')
      .frame(5_000_000, { 'heater.on': 1, 'house.u1': 100 })
      .happening(6_000_000, 'grid', 'supply back', 'utility')
      .frame(6_000_000, at(60.1));
    expect(verdictOf(story).outcome).toMatchObject({ is: 'fail', against: 'person' });
  });

  it('stands aside while a fault stands in the island, and 1 s after it', () => {
    const faulty = (until_us: number): Story =>
      island()
        .frame(5_000_000, { 'short.struck': 1, 'house.u1': 30 })
        .frame(6_000_000, { 'short.struck': 0 })
        .frame(until_us, { 'house.u1': 120 });
    expect(verdictOf(faulty(8_000_000)).outcome.is).toBe('pass');
    expect(verdictOf(faulty(8_100_000)).outcome.is).toBe('fail');
  });

  it.each([
    [59.3, 'pass', 0],
    [59.18, 'fail', -0.1],
    [60.5, 'pass', 0],
    [60.62, 'fail', -0.1],
  ] as const)('keeps 59.3 to 60.5 Hz where nobody is curtailed: %f Hz is a %s', (f, is, value) => {
    const { outcome } = verdictOf(island().frame(5_000_000, at(f)));
    expect(outcome.is).toBe(is);
    if (outcome.is !== 'not exercised') expect(outcome.worst.value).toBeCloseTo(value, 9);
  });

  it('lets an island curtail PV up to 61.2 Hz for ever and above it for 60 s, on purpose', () => {
    const curtails = (f: number, for_us: number): Story =>
      island()
        .frame(5_000_000, { 'car.setFrequency': f, ...at(f) })
        .frame(5_000_000 + for_us, { 'car.setFrequency': 60, ...at(60) });
    expect(verdictOf(curtails(61.2, 80_000_000)).outcome).toMatchObject({ is: 'pass', worst: { value: 0 } });
    expect(verdictOf(curtails(61.5, 59_900_000)).outcome.is).toBe('pass');
    expect(verdictOf(curtails(61.5, 60_000_000)).outcome).toMatchObject({ why: 'unresolved' });
    expect(verdictOf(curtails(61.5, 66_000_000)).outcome).toMatchObject({ is: 'fail', against: 'controller' });
    const drifts = island().frame(5_000_000, at(61)).frame(6_000_000, at(60));
    expect(verdictOf(drifts).outcome.is).toBe('fail');
    const alone = island()
      .frame(4_000_000, { 'garage.part': 7 })
      .frame(5_000_000, { 'car.setFrequency': 61, ...at(61) });
    expect(verdictOf(alone).outcome.is).toBe('fail');
  });

  it('is cut short where the run ends inside the 60 s', () => {
    const high = (): Story => island().frame(5_000_000, { 'car.setFrequency': 61.5, ...at(61.5) });
    expect(verdictOf(high(), 65_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(high(), 65_100_000).outcome).toMatchObject({ is: 'fail' });
  });

  it('never leaves 57 to 63 Hz, in its first second and in a fault neither', () => {
    expect(verdictOf(island(at(63)), 3_500_000).outcome).toMatchObject({ is: 'pass', worst: { value: 0, scale: 6 } });
    expect(verdictOf(island(at(63.6)), 3_500_000).outcome).toMatchObject({ is: 'fail', worst: { limit: 63 } });
    const fault = island()
      .frame(5_000_000, { 'short.struck': 1, ...at(56) })
      .frame(5_100_000, at(60));
    expect(verdictOf(fault).outcome).toMatchObject({ is: 'fail', worst: { limit: 57 } });
  });

  it('does not count what held for no time', () => {
    const story = island().frame(5_000_000, at(50)).frame(5_000_000, at(60));
    expect(verdictOf(story).outcome.is).toBe('pass');
  });
});
