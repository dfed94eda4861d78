import { readFileSync, writeFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { medianWork, type Work } from '../bench/work.ts';

const BOOK = 'tests/bench/work.json';
/** What a happening may cost at most in a median generated scenario: our own first targets. */
const TARGET: Work = { solves: 200, scans: 200, frames: 250 };

describe('medianWork', () => {
  const work = medianWork();
  if (process.env['UPDATE_WORK'] === '1') writeFileSync(BOOK, `${JSON.stringify(work, undefined, 2)}\n`);

  it('is what was committed: counts, the same on every machine', () => {
    const how = 'The work a happening costs has changed. If that is meant, UPDATE_WORK=1 rewrites the file.';
    expect(work, how).toEqual(JSON.parse(readFileSync(BOOK, 'utf8')));
  });

  it.each(['solves', 'scans', 'frames'] as const)('stays within its target of %s a happening', (what) => {
    expect(work[what]).toBeLessThanOrEqual(TARGET[what]);
    expect(work[what]).toBeGreaterThan(0);
  });
});
