import { readFileSync } from 'node:fs';
import { afterAll, describe, expect, it } from 'vitest';
import { RULES } from '../../harness/rules/index.ts';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { consoleTable, recordedTable } from '../docs/console-table.ts';
import { builtinFiles } from '../helpers/builtin.ts';
import { deadbus, resultsIn, scratch } from '../helpers/command.ts';
import { scenarioFile } from '../helpers/sites.ts';

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
    const scenarios = builtinFiles().map(scenarioFile);
    const sites = new Set(
      builtinFiles().flatMap((file) => /site: (\S+\.yaml)$/m.exec(readFileSync(file, 'utf8'))?.slice(1) ?? []),
    );
    expect(readme).toContain(`${KINDS.length} kinds of equipment`);
    expect(readme).toContain(`${scenarios.length} built-in scenarios`);
    expect(readme).toContain(`${sites.size} sites`);
    expect(readme).toContain(`measures ${RULES.length} rules`);
    expect(readme).toContain(
      `${scenarios.filter(({ expect: { fail } }) => fail.length > 0).length} of these scenarios are there to show a violation`,
    );
  });
});
