import { describe, expect, it } from 'vitest';
import type { Scenario } from '../../../harness/scenario/model.ts';
import { scenarioText } from '../../helpers/sites.ts';
import { traceOf } from '../../helpers/trace.ts';

/** A quiet evening without sun: the house takes some 1.65 kW on L1 and 1.15 kW on L2 from the street. */
const evening = (happenings: string, settings = 'sensorLatency: 0 s'): Scenario =>
  scenarioText(`scenario: sensed
title: Sensors at work
site: juniper-lane.yaml
override: { settings: { ${settings} } }
start: { pv.irradiance: 0 }
end: 8 s
happenings:
${happenings}
`);
const RAIN = '  - { at: 6 s, do: kitchen off }';
const gateway = (at: string, what: string, using: string): string =>
  `  - { at: ${at}, do: gateway ${what}, using: { ${using} } }`;

describe('the sensors of a site', () => {
  it('see the import as positive, and as negative through transformers that were put on the wrong legs', () => {
    const sound = traceOf(evening(RAIN));
    const swapped = traceOf(evening(RAIN, 'swappedTransformers: service'));
    expect(sound.at('gateway.in.serviceL1', 5)).toBeGreaterThan(10_000);
    expect(swapped.at('gateway.in.serviceL2', 5)).toBe(-sound.at('gateway.in.serviceL1', 5));
    expect(swapped.at('gateway.in.serviceL1', 5)).toBe(-sound.at('gateway.in.serviceL2', 5));
  });

  it('say nothing of a load that goes off while they are stuck, and say it once thawed', () => {
    const trace = traceOf(
      evening(
        [
          gateway('4 s', 'stick input', 'input: serviceL1'),
          RAIN,
          gateway('7 s', 'thaw input', 'input: serviceL1'),
        ].join('\n'),
      ),
    );
    const amps = (at_s: number): number => trace.at('gateway.in.serviceL1', at_s);
    expect(amps(6.5)).toBe(amps(3));
    expect(trace.at('gateway.in.serviceL1.state', 6.5)).toBe(0);
    expect(amps(7.5)).toBeLessThan(amps(3) - 5_000);
  });

  it('record the age of a sample at the scan that took it: 0 to 95 ms of sampling and 20 ms of latency', () => {
    const trace = traceOf(evening(RAIN, 'sensorSampling: 95 ms, sensorLatency: 20 ms'));
    // The kitchen goes off at 6 s; the first sample that shows it is that of 6.08 s, seen by the scan of 6.1 s.
    const amps = (at_s: number): number => trace.at('gateway.in.serviceL1', at_s);
    expect(amps(6.099)).toBe(amps(5));
    expect(amps(6.1)).toBeLessThan(amps(5) - 5_000);
    expect(trace.at('gateway.in.serviceL1.age', 6.1)).toBe(20_000);
    expect(trace.at('gateway.in.relayL1Open.age', 6.1)).toBe(0);
  });

  it('bear instants of their own clock: one that went back 2 s makes the readings 2 s old', () => {
    const trace = traceOf(evening([gateway('3 s', 'step clock', 'by: -2 s'), RAIN].join('\n')));
    expect(trace.at('gateway.in.relayL1Closed.age', 5)).toBe(0);
    expect(trace.at('gateway.in.relayL1Closed.age', 7)).toBe(2e6);
  });

  it('are noisy by what the site says: within 3 · 200 mV of 120 V, and not the same from scan to scan', () => {
    const noisy = traceOf(evening(RAIN, 'noiseVoltage: 200 mV'));
    const sound = traceOf(evening(RAIN));
    const errors = Array.from({ length: 50 }, (_, k) => {
      const at_s = 1 + k / 100;
      return noisy.at('gateway.in.utilityL1', at_s) - sound.at('gateway.in.utilityL1', at_s);
    });
    expect(new Set(errors).size).toBeGreaterThan(40);
    expect(Math.max(...errors.map(Math.abs))).toBeLessThanOrEqual(601);
    expect(Math.max(...errors.map(Math.abs))).toBeGreaterThan(200);
  });
});

describe('actions on the sensors', () => {
  it.each([
    ['freeze input', 'input: utilityL13'],
    ['stick input', 'input: utility'],
    ['offset input', 'input: relayL1Open, by: 1'],
    ['reverse current transformer', 'input: utilityL1'],
    ['swap legs', 'side: street'],
  ])('%s with %s: refused by the reader', (does, using) => {
    expect(() => evening(gateway('1 s', does, using))).toThrow('SCN-VALUE');
  });
});
