import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readScenarioText } from '../../harness/scenario/reader/read-scenario.ts';
import type { Telemetry } from '../../sim/telemetry.ts';
import { play, TABLES } from '../helpers/sites.ts';

/** The built-in site with some of its lines put another way. */
const siteWith = (changes: readonly (readonly [from: string, to: string])[]): Buffer =>
  Buffer.from(
    changes.reduce(
      (text, [from, to]) => {
        expect(text).toContain(from);
        return text.replace(from, to);
      },
      readFileSync('scenarios/sites/juniper-lane.yaml', 'utf8'),
    ),
  );

/** Every frame and happening of a run, as text that names the channels: a difference shows where it began. */
function told(changes: Parameters<typeof siteWith>[0], lines: readonly string[], restless: boolean): string[] {
  const text = ['scenario: quiet', 'title: Quiet', 'site: juniper-lane.yaml', ...lines].join('\n');
  const read = readScenarioText(new TextEncoder().encode(text), 'test.yaml', {
    ...TABLES,
    loadSite: () => siteWith(changes),
  });
  if ('problems' in read) throw new Error(read.problems.map((problem) => JSON.stringify(problem)).join('\n'));
  const found: string[] = [];
  let names: readonly string[] = [];
  const take = (telemetry: Telemetry): void => {
    if (telemetry.kind === 'head') names = telemetry.channels.map(({ name }) => name);
    if (telemetry.kind === 'happening') found.push(`${telemetry.at_us} ${telemetry.piece} ${telemetry.did}`);
    if (telemetry.kind !== 'frame') return;
    const { at_us, changed, values } = telemetry;
    found.push(`${at_us} ${changed.map((i) => `${names[i]}=${values[i]}`).join(' ')}`);
  };
  play(read.scenario, { restless, telemetry: take });
  return found;
}

describe('a quiet stretch', () => {
  it.each([
    [
      "with the neighbours' motors: a sag drops some, an outage stops the others, they start group by group",
      [['neighbours: 9 kW', 'neighbours: 9 kW, motorShare: 40 %, motorRestart: 20 s, motorSpread: 30 s']],
      [
        'start: { pv.irradiance: 0.2, vehicle.soc: 0.5 }',
        'end: 120 s',
        'happenings:',
        '  - { at: 5 s, do: utility sag, using: { voltage: 0.5, duration: 80 ms } }',
        '  - { at: 40 s, do: utility outage }',
        '  - { at: 42 s, do: utility restore }',
      ],
      'utility supply back',
    ],
    [
      'of a discharge that trips, waits and comes back by its ramp, at another frequency',
      [['supplyBreaker: 50 A', 'supplyBreaker: 50 A, enterService: 10 s, serviceRampTime: 60 s, category: III']],
      [
        'start: { vehicle.mode: discharging, vehicle.soc: 0.8, pv.irradiance: 0 }',
        'end: 90 s',
        'happenings:',
        '  - { at: 2 s, do: utility sag, using: { voltage: 0.4, duration: 300 ms } }',
        '  - { at: 5 s, do: utility frequency step, using: { frequency: 60.4 Hz } }',
        '  - { at: 20 s, do: utility frequency step, using: { frequency: 60 Hz } }',
      ],
      'vehicle ceases',
    ],
    [
      'of a load on a timer switch behind a welded and a stuck breaker',
      [['power: 1.5 kW }', 'power: 1.5 kW, scheduleEvery: 20 s, scheduleOn: 7 s }']],
      [
        'start: { pv.irradiance: 0.7, vehicle.soc: 0.5 }',
        'end: 60 s',
        'happenings:',
        '  - { at: 3 s, do: pv-breaker weld, using: { pole: L1 } }',
        '  - { at: 10 s, do: pv-breaker open }',
        '  - { at: 20 s, do: main stick }',
        '  - { at: 21 s, do: main open }',
        '  - { at: 40 s, do: pv-breaker mend }',
      ],
      'range schedule opens',
    ],
  ] as const)(
    '%s: steps and scans forced at every instant change nothing that is recorded',
    (_, changes, lines, shows) => {
      const rested = told(changes, lines, false);
      const forced = told(changes, lines, true);
      expect(rested.some((line) => line.endsWith(shows))).toBe(true);
      expect(forced.find((line, i) => line !== rested[i])).toBeUndefined();
      expect(forced).toHaveLength(rested.length);
    },
  );
});
