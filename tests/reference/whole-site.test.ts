import { describe, expect, it } from 'vitest';
import { scenarioText } from '../helpers/sites.ts';
import { traceOf } from '../helpers/trace.ts';

// Whole sites from files, against arithmetic that anybody can redo and tables that others have printed.

/** A house behind main and relay, without gateway action inside the time looked at. */
const house = (loads: string, happenings: string, rest = ''): string => `
scenario: check
title: A check against the outside
site:
  site: check
  buses: { service: utility, panel: premises, house: premises }
  pieces:
    utility: { kind: utility, at: service, neighbours: 0 W }
    main: { kind: breaker, at: [service, panel], role: main, rating: 200 A, aux: no, handTime: 0 s }
    bond: { kind: bond, at: panel }
    relay: { kind: relay, at: [panel, house] }
${loads}
  settings: { handOpening: outage }
end: 10 s
happenings:
${happenings}
${rest}`;

describe('split-phase house, neutral not held', () => {
  // Series divider, v1/v12 = R2/(R1+R2), and constant power into it, P = v12²/(R1+R2): circuit laws. The pair of 3 kW and
  // 0.5 kW with 1714.3 W of sun stands at 240 V with 34.29 V and 205.71 V on the legs.
  const legs = `    heavy: { kind: load, at: house, legs: [L1, N], power: 3 kW }
    light: { kind: load, at: house, legs: [L2, N], power: 500 W }
    pv: { kind: pv, at: house, rated: 5 kW, detection: none, filter: 0 uF }`;
  const quiet = traceOf(
    scenarioText(house(legs, '  - { at: 1 s, do: main open }', `start: { pv.irradiance: ${1714.2857 / 5000} }`)),
  );

  it('PV of 1714.3 W into 3000 W and 500 W in series stands at 240 V', () => {
    expect(quiet.at('house.v12', 1.1)).toBeCloseTo(240, 0);
    expect(Math.abs(quiet.at('house.v12', 1.1) / 240 - 1)).toBeLessThan(1e-3);
  });

  it('its light leg is at 205.71 V, its heavy leg at 34.29 V', () => {
    expect(Math.abs(quiet.at('house.v2', 1.1) / 205.714 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(quiet.at('house.v1', 1.1) / 34.286 - 1)).toBeLessThan(1e-3);
  });

  // The same with a third load across the legs: P = 240²(G12 + G1 G2/(G1 + G2)); 900/400/1500 W take 2607.7 W as they are.
  it('900/400 W and 1500 W across the legs: 2607.7 W for 240 V, light leg at 166.15 V', () => {
    const three = `    one: { kind: load, at: house, legs: [L1, N], power: 900 W }
    two: { kind: load, at: house, legs: [L2, N], power: 400 W }
    both: { kind: load, at: house, legs: [L1, L2], power: 1.5 kW }
    pv: { kind: pv, at: house, rated: 5 kW, detection: none, filter: 0 uF }`;
    const trace = traceOf(
      scenarioText(house(three, '  - { at: 1 s, do: main open }', `start: { pv.irradiance: ${2607.692 / 5000} }`)),
    );
    expect(Math.abs(trace.at('house.v12', 1.1) / 240 - 1)).toBeLessThan(1e-3);
    expect(Math.abs(trace.at('house.v2', 1.1) / 166.154 - 1)).toBeLessThan(1e-3);
  });
});

describe('angle across an open pole', () => {
  // Relay application manual, slip and breaker-time table: slip 0.2 Hz sweeps 14.4 degrees in 0.200 s (360° x slip x time).
  it('moves by 72 degrees a second under 0.2 Hz of slip', () => {
    const island = `    vehicle: { kind: vehicle, at: house, rated: 9.6 kW, supplyBreaker: 50 A, neutral: yes }
    lamp: { kind: load, at: house, legs: [L1, N], power: 1 W }`;
    const trace = traceOf(
      scenarioText(
        house(
          island,
          `  - { at: 1 s, do: utility outage }
  - { at: 4 s, do: utility restore, using: { angle: 10 deg } }
  - { at: 5 s, do: utility frequency step, using: { frequency: 60.2 Hz } }
  - { at: 6 s, do: lamp off }
  - { at: 6.2 s, do: lamp on }`,
        ),
      ),
    );
    const swept = trace.at('relay.da1', 6.2) - trace.at('relay.da1', 6);
    expect(trace.at('relay.df', 6.1)).toBeCloseTo(0.2, 6);
    expect(Math.abs(((swept + 540) % 360) - 180 - 14.4)).toBeLessThan(0.01);
  });
});
