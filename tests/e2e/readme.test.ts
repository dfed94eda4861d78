import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import { consoleTable, recordedTable } from '../docs/console-table.ts';
import { withCounts } from '../docs/counts.ts';
import { deadbus, resultsIn, scratch } from '../helpers/command.ts';

const folder = scratch();
afterAll(() => folder.remove());

describe('README.md, tried as a new user would', () => {
  const readme = readFileSync('README.md', 'utf8');

  it('shows the table that a run prints', () => {
    expect(recordedTable(readme), 'run npm run docs').toBe(consoleTable());
  });

  it('has a scenario that runs as it expects', () => {
    const { code, err } = deadbus(['run', '--quiet', '--out', folder.path, 'docs/examples/first.yaml']);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    expect(resultsIn(folder.path).scenarios).toHaveLength(1);
  });

  it('counts right: kinds of equipment, scenarios, sites, rules, and scenarios that expect a violation', () => {
    expect(withCounts(readme), 'run npm run docs').toBe(readme);
  });
});
