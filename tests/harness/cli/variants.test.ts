import { describe, expect, it } from 'vitest';
import type { Answer } from '../../../harness/cli/job.ts';
import { jobsOf, worstOf } from '../../../harness/cli/variants.ts';
import { siteOf } from '../../helpers/sites.ts';
import { passes, result, scenario } from '../report/made.ts';

const varied = { ...scenario('sweep'), site: siteOf('juniper-lane'), vary: { seed: [3, 4, 5] } };
const judged = (margin: number, expected = true): Answer => {
  const of = expected ? scenario('s') : scenario('s', { pass: ['sync-close'] });
  return { kind: 'judged', result: result(of, [passes('no-backfeed', margin)]) };
};

describe('jobsOf', () => {
  it('makes one job with a trace of a file without vary, and one without a trace for each variant', () => {
    const { vary: _, ...plain } = varied;
    expect(jobsOf('s.yaml', plain, 't.csv', undefined)).toEqual([
      { file: 's.yaml', scenario: plain, tracePath: 't.csv' },
    ]);
    const jobs = jobsOf('s.yaml', varied, 't.csv', undefined);
    expect(jobs.map((job) => [job.scenario.seed, job.variant?.number, job.tracePath])).toEqual([
      [3, 1, undefined],
      [4, 2, undefined],
      [5, 3, undefined],
    ]);
  });

  it('picks one variant, with a trace, and none where there is no such number', () => {
    expect(jobsOf('s.yaml', varied, 't.csv', 2)).toMatchObject([{ tracePath: 't.csv', variant: { number: 2, of: 3 } }]);
    expect(jobsOf('s.yaml', varied, 't.csv', 4)).toEqual([]);
  });
});

describe('worstOf', () => {
  it('goes by exit code first, then by margin, then by order', () => {
    expect(worstOf([judged(0.5), judged(0.2), judged(0.2)])).toBe(1);
    expect(worstOf([judged(0.1), judged(0.4, false), judged(0.3)])).toBe(1);
    const crashed: Answer = { kind: 'crashed', message: '', stack: '' };
    expect(
      worstOf([judged(0.1), { kind: 'controller lost', fault: { kind: 'throws', at_us: 0, message: '' } }, crashed]),
    ).toBe(2);
  });
});
