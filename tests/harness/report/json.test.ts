import { describe, expect, it } from 'vitest';
import { renderJson } from '../../../harness/report/json.ts';
import {
  book,
  expected,
  interlockNote,
  judged,
  noted,
  passes,
  report,
  result,
  scenario,
  siteNote,
  threeRuns,
  violated,
} from './made.ts';

const read = (of: Parameters<typeof renderJson>[0]) => JSON.parse(renderJson(of, book));

describe('renderJson', () => {
  it('begins with the version of its schema and keeps the order of its keys', () => {
    expect(Object.keys(read(threeRuns))).toEqual([
      'schemaVersion',
      'tool',
      'controller',
      'exit',
      'interrupted',
      'selected',
      'violationsAgainst',
      'notExercisedAnywhere',
      'scenarios',
    ]);
    expect(read(threeRuns)).toMatchObject({ schemaVersion: 1, exit: 1, notExercisedAnywhere: ['reference-order'] });
  });

  it('says of a violation what was found, the limit, the clause, against whom and what happened before', () => {
    const [first] = read(report([judged(violated, 'traces/b.csv')])).scenarios;
    expect(first).toMatchObject({
      file: 'scenarios/hand/pv-left-on-at-a-disconnection-by-hand.yaml',
      status: 'unlike expected',
      exit: 1,
      seed: 1,
      tightest: { rule: 'leg-voltage', margin: -0.2121 },
      findings: [{ kind: 'unexpected violation', before: { number: 3, did: 'parts L1' } }],
      trace: 'traces/b.csv',
    });
    expect(first.verdicts[1]).toMatchObject({
      rule: 'leg-voltage',
      is: 'fail',
      expected: 'pass',
      against: 'person',
      worst: { found: 160, limit: 132, unit: 'V' },
      clause: 'ANSI C84.1-2020, table 1, range B',
      violations: { person: 2 },
    });
  });

  it('carries every happening in order beside their number, each with what brought it about', () => {
    const [first] = read(report([judged(violated)])).scenarios;
    expect(first.happenings).toBe(4);
    expect(first.timeline).toHaveLength(4);
    expect(first.timeline[1]).toEqual({ number: 2, at_us: 5_000_000, piece: 'main', did: 'open', origin: 'person' });
    expect(first.timeline[2]).toEqual({
      number: 3,
      at_us: 5_012_000,
      piece: 'main',
      did: 'parts L1',
      origin: 'person',
      cause: 2,
    });
  });

  it('carries the notes of the site with code and pieces', () => {
    const noted = result(scenario('dusk'), [], { siteNotes: [interlockNote, siteNote] });
    const { scenarios } = read(report([judged(noted), judged(expected)]));
    expect(scenarios.map(({ siteNotes }: { siteNotes: unknown }) => siteNotes)).toEqual([
      [interlockNote, siteNote],
      [],
    ]);
  });

  it('carries notes with their numbers, and the clause of the limit that the worst margin is measured against', () => {
    const [{ verdicts }] = read(report([judged(noted)])).scenarios;
    expect(verdicts[0]).toMatchObject({
      clause: 'IEEE 1547-2018, clause 8.1.1',
      notes: [{ is: 'warning', at_us: 61_000_000, text: 'leg L1 at 109 V', found: { mean_V: 109, limit_V: 110 } }],
    });
    expect(verdicts[1].notes[0]).toMatchObject({ is: 'report', found: { lasted_us: 115_000 } });
    expect(read(report([judged(expected)])).scenarios[0].verdicts[0]).not.toHaveProperty('notes');
  });

  it('gives the same bytes twice, whatever the order in which the results were put together', () => {
    const { digests, counts, ...rest } = expected;
    const { scenario: of, controller, run } = digests;
    const turned = { counts, digests: { run, controller, scenario: of }, ...rest };
    expect(renderJson(report([judged(turned)]), book)).toBe(renderJson(report([judged(expected)]), book));
  });

  it('keeps refused and crashed files in their places', () => {
    const { scenarios } = read(
      report([
        { kind: 'refused', file: 'a.yaml', problems: ['p'] },
        judged(expected),
        { kind: 'crashed', file: 'b.yaml', message: 'm' },
      ]),
    );
    expect(scenarios.map(({ file, status }: { file: string; status: string }) => [file, status])).toEqual([
      ['a.yaml', 'refused'],
      ['scenarios/hand/outage-neighbours.yaml', 'as expected'],
      ['b.yaml', 'crashed'],
    ]);
  });

  it('writes what JSON has no number for as a word, never as null', () => {
    const endless = passes('no-backfeed', 1);
    if (endless.outcome.is !== 'pass') throw new Error('made otherwise');
    const verdict = {
      ...endless,
      outcome: { ...endless.outcome, worst: { ...endless.outcome.worst, found: Infinity } },
    };
    expect(read(report([judged(result(scenario('s'), [verdict]))])).scenarios[0].verdicts[0].worst.found).toBe(
      'Infinity',
    );
  });
});
