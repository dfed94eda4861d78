import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as rest } from 'node:timers/promises';
import { afterAll, describe, expect, it } from 'vitest';
import { nodesOf, readXml } from '../harness/report/xml-reader.ts';
import { deadbus, LAUNCHER, resultsIn, scratch } from '../helpers/command.ts';

const folder = scratch();
afterAll(() => folder.remove());
cpSync('scenarios/sites', join(folder.path, 'sites'), { recursive: true });

const OUT = join(folder.path, 'out');
const scenario = (id: string, end: string, happenings: readonly string[] = []): void =>
  writeFileSync(
    join(folder.path, `${id}.yaml`),
    `scenario: ${id}\ntitle: "<A & B>"\nsite: sites/juniper-lane.yaml\nend: ${end}\nhappenings: [${happenings.join(', ')}]\n`,
  );
scenario('short', '2 s', ['{ at: 1 s, do: kitchen off }']);
scenario('other', '1 s');
// Long enough to be met in the middle: 6000 switchings.
const switchings = Array.from(
  { length: 6000 },
  (_, i) => `{ at: ${100 + i * 100} ms, do: kitchen ${i % 2 === 0 ? 'off' : 'on'} }`,
);
scenario('long', '700 s', switchings);

const files = (): string[] => (existsSync(OUT) ? readdirSync(OUT, { recursive: true, encoding: 'utf8' }).sort() : []);

/** Starts a run of `other` and `long`, and comes back once the trace of the long one is being written. */
async function inTheMiddle(): Promise<ChildProcess> {
  const child = spawn(process.execPath, [LAUNCHER, 'run', 'other.yaml', 'long.yaml', '--jobs', '1', '--quiet'], {
    cwd: folder.path,
    stdio: 'ignore',
  });
  while (!files().some((name) => name.includes(`long.csv.${child.pid}-`) && name.endsWith('.part'))) {
    expect(child.exitCode).toBeNull();
    await rest(5);
  }
  return child;
}

describe('the files of a run', () => {
  it('are results, JUnit and one trace a scenario, with units in its head', () => {
    expect(deadbus(['run', 'short.yaml', 'other.yaml', '--quiet'], folder.path).code).toBe(0);
    expect(files()).toEqual(['junit.xml', 'results.json', 'traces', 'traces/other.csv', 'traces/short.csv']);
    expect(resultsIn(OUT).scenarios.map(({ file, status }) => [file, status])).toEqual([
      ['short.yaml', 'as expected'],
      ['other.yaml', 'as expected'],
    ]);
    const junit = readXml(readFileSync(join(OUT, 'junit.xml'), 'utf8'));
    expect(nodesOf(junit, 'testcase').length).toBeGreaterThan(10);
    const [head = '', ...rows] = readFileSync(join(OUT, 'traces/short.csv'), 'utf8').trimEnd().split('\n');
    const cells = head.split(',');
    expect(cells.slice(0, 2)).toEqual(['t [s]', 'service.v1 [V]']);
    expect(cells).toContain('kitchen.state [state]');
    expect(cells.filter((cell) => !/^[a-z][^ ]* \[[^\]]+\]$/.test(cell))).toEqual([]);
    expect(rows.length).toBeGreaterThan(10);
    expect(rows.filter((row) => row.split(',').length !== cells.length)).toEqual([]);
    expect(rows.some((row) => row.startsWith('1.000000,'))).toBe(true);
  });

  it('are the old ones, whole, after a kill in the middle of a run', async () => {
    const before = ['results.json', 'junit.xml', 'traces/short.csv'].map((name) =>
      readFileSync(join(OUT, name), 'utf8'),
    );
    const child = await inTheMiddle();
    child.kill('SIGKILL');
    await once(child, 'exit');
    const after = ['results.json', 'junit.xml', 'traces/short.csv'].map((name) =>
      readFileSync(join(OUT, name), 'utf8'),
    );
    expect(after).toEqual(before);
    expect(existsSync(join(OUT, 'traces/long.csv'))).toBe(false);
    expect(readFileSync(join(OUT, 'traces/other.csv'), 'utf8')).toMatch(/\n$/);
  });

  it('are rid of what the killed run left half written, as soon as the next one starts', () => {
    const litter = () => files().filter((name) => name.endsWith('.part'));
    expect(litter()).toHaveLength(1);
    const living = `traces/deep/other.csv.${process.pid}-1.part`; // As if this very process were writing it.
    mkdirSync(join(OUT, 'traces/deep'));
    for (const name of [living, 'report.pdf.part']) writeFileSync(join(OUT, name), 'half');
    expect(deadbus(['run', 'short.yaml', '--quiet'], folder.path).code).toBe(0);
    expect(litter()).toEqual(['report.pdf.part', living]);
    for (const name of litter()) rmSync(join(OUT, name));
  });

  it('are those of what was finished, and nothing unfinished, after an interrupt: exit 130', async () => {
    const child = await inTheMiddle();
    child.kill('SIGINT');
    const [code] = await once(child, 'exit');
    expect(code).toBe(130);
    expect(resultsIn(OUT)).toMatchObject({
      exit: 130,
      interrupted: true,
      selected: 2,
      scenarios: [{ file: 'other.yaml' }],
    });
    expect(files().filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});
