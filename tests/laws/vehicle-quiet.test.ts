import { describe, expect, it } from 'vitest';
import { told } from './told.ts';

const scenario = (start: string, happenings: readonly string[]): string =>
  [
    'scenario: quiet',
    'title: Quiet',
    'site: juniper-lane.yaml',
    `start: { ${start} }`,
    'end: 300 s',
    'happenings:',
    ...happenings.map((happening) => `  - { ${happening} }`),
  ].join('\n');

describe('a quiet stretch of the vehicle', () => {
  it.each([
    [
      'charges until full, is taken out in good order, plugged in again, torn out',
      'vehicle.mode: charging, vehicle.soc: 0.899, pv.irradiance: 0.3',
      ['at: 100 s, do: vehicle leave', 'at: 120 s, do: vehicle plug in', 'at: 250 s, do: vehicle pull by force'],
    ],
    [
      'discharges to its reserve, loses the link, then the supply',
      'vehicle.mode: discharging, vehicle.soc: 0.203, pv.irradiance: 0',
      ['at: 200 s, do: vehicle lose communication', 'at: 210 s, do: utility outage'],
    ],
    [
      'forms with the sun out, is full, lifts the frequency',
      'vehicle.soc: 0.8999, pv.irradiance: 1',
      ['at: 2 s, do: utility outage', 'at: 150 s, do: vehicle set soc, using: { soc: 0.91 }'],
    ],
  ])('%s: steps and scans forced at every instant change nothing that is recorded', (_, start, happenings) => {
    const text = scenario(start, happenings);
    const rested = told(text, false);
    const forced = told(text, true);
    expect(rested.length).toBeGreaterThan(50);
    expect(forced.find((line, i) => line !== rested[i])).toBeUndefined();
    expect(forced).toHaveLength(rested.length);
  });
});
