import { describe, expect, it } from 'vitest';
import {
  againstOf,
  type Entry,
  type ExitCode,
  exitOf,
  replayCommand,
  rulesOfGrade,
  uncoveredOf,
  weightiest,
} from '../../../harness/report/report.ts';
import { expected, judged, report, result, scenario, unexercised, violated } from './made.ts';

describe('weightiest', () => {
  const order: ExitCode[] = [130, 3, 2, 1, 5, 4, 0];
  it.each(order.map((code, index) => [code, order.slice(index)] as const))(
    'lets %i win over all that follow',
    (code, rest) => {
      expect(weightiest(rest)).toBe(code);
      expect(weightiest([...rest].reverse())).toBe(code);
    },
  );
  it('is 0 for nothing at all', () => expect(weightiest([])).toBe(0));
});

describe('exitOf', () => {
  const refused: Entry = { kind: 'refused', file: 'x.yaml', problems: ['p'] };
  const crashed: Entry = { kind: 'crashed', file: 'x.yaml', message: 'm' };
  it.each([
    [0, [judged(expected)]],
    [1, [judged(unexercised), judged(violated), judged(expected)]],
    [2, [judged(violated), refused]],
    [3, [refused, crashed]],
    [4, []],
    [5, [judged(expected), judged(unexercised)]],
  ] as const)('answers %i', (code, entries) => expect(exitOf(report(entries))).toBe(code));
  it('answers 130 to an interrupted run whatever else there was', () => {
    expect(exitOf(report([crashed], { interrupted: true }))).toBe(130);
  });
});

describe('againstOf', () => {
  it('counts all five, two violations against a person here', () => {
    expect(againstOf([expected, violated])).toEqual({ controller: 0, person: 2, equipment: 0, utility: 0, site: 0 });
  });
});

describe('uncoveredOf', () => {
  it('names a rule that no scenario exercised, and none that one did', () => {
    expect(uncoveredOf([expected, violated, unexercised])).toEqual(['reference-order']);
  });
});

describe('rulesOfGrade', () => {
  it('names rules judged by limits of that grade', () => {
    expect(rulesOfGrade([expected, violated, unexercised], 'memory')).toEqual(['leg-voltage']);
    expect(rulesOfGrade([unexercised], 'weak')).toEqual([]);
  });
});

describe('replayCommand', () => {
  it('carries file, seed and controller, quoted for a shell', () => {
    expect(replayCommand(expected)).toBe('npx deadbus run scenarios/hand/outage-neighbours.yaml --seed 1');
    const odd = result(scenario('s'), [], { file: "my own/it's.yaml", controller: 'module:./x.js' });
    expect(replayCommand(odd)).toBe("npx deadbus run 'my own/it'\\''s.yaml' --seed 1 --controller module:./x.js");
  });
});
