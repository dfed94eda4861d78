import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { LAUNCHER, scratch } from '../helpers/command.ts';

const START = '<!-- recorded by npm run docs -->\n```text\n';
const END = '```\n<!-- recorded -->';

/** What one folder of the built-in suite prints on 100 columns, from a run of the built command line. */
export function consoleTable(): string {
  const folder = scratch();
  const { stdout, status } = spawnSync(
    process.execPath,
    [LAUNCHER, 'run', 'scenarios/hand', '--color', 'never', '--out', folder.path],
    {
      encoding: 'utf8',
      env: { ...process.env, COLUMNS: '100' },
    },
  );
  folder.remove();
  if (status !== 0) throw new Error(`the built-in suite ends with ${status}; a table of that is not recorded`);
  return stdout;
}

/** The table that stands in the README. */
export function recordedTable(readme = readFileSync('README.md', 'utf8')): string {
  const from = readme.indexOf(START);
  const to = readme.indexOf(END, from);
  if (from < 0 || to < 0)
    throw new Error(`README.md: no table between ${START.split('\n')[0]} and ${END.split('\n')[1]}`);
  return readme.slice(from + START.length, to);
}

export function withTable(readme: string, text: string): string {
  const old = recordedTable(readme);
  return readme.replace(`${START}${old}${END}`, () => `${START}${text}${END}`);
}
