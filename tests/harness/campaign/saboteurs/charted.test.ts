import { describe, expect, it } from 'vitest';
import { countsNoTries } from '../../../../harness/campaign/saboteurs/counts-no-tries.ts';
import { createReferenceController } from '../../../../sim/gateway/reference-controller.ts';
import { play, scenarioText } from '../../../helpers/sites.ts';

/** Four faults of the source, each cleared after 1 s, in an island of 2 s without PV. */
const FAULTS = [10, 25, 40, 55].flatMap((at_s) => [
  `  - { id: f${at_s}, at: ${at_s} s, do: vehicle fault }`,
  `  - { id: c${at_s}, after: f${at_s}, delay: 1 s, do: vehicle clear fault }`,
]);
const scenario = scenarioText(
  [
    'scenario: faults',
    'title: The source fails four times',
    'site: mill-cottage.yaml',
    'start: { pv.irradiance: 0 }',
    'end: 70 s',
    'happenings:',
    '  - { at: 1 s, do: utility outage }',
    ...FAULTS,
    '',
  ].join('\n'),
);

describe('countsNoTries', () => {
  it('forms a fourth and a fifth time where the reference controller has ended after three', () => {
    const starts = (make: typeof createReferenceController): number => {
      const { happenings } = play(scenario, { controller: make(scenario.site) });
      return happenings.filter(({ piece, did }) => piece === 'vehicle' && did === 'forms').length;
    };
    expect(starts(createReferenceController)).toBe(3);
    expect(starts(countsNoTries.make)).toBe(5);
  });
});
