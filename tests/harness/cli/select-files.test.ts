import { mkdirSync, mkdtempSync, realpathSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { traceName } from '../../../harness/cli/run.ts';
import { selectFiles } from '../../../harness/cli/select-files.ts';

let folder = '';
beforeEach(() => {
  folder = realpathSync(mkdtempSync(join(tmpdir(), 'deadbus-')));
  for (const name of [
    'package/scenarios/b.yaml',
    'package/scenarios/a/z.yml',
    'package/scenarios/sites/house.yaml',
    'user/one.yaml',
    'user/two.txt',
    'user/.git/x.yaml',
    'user/sub/three.yaml',
  ]) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), '');
  }
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const labels = (args: string[], cwd = 'user') =>
  selectFiles(args, join(folder, cwd), join(folder, 'package')).files.map(({ label }) => label);
const problems = (args: string[]) => selectFiles(args, join(folder, 'user'), join(folder, 'package')).problems;

describe('selectFiles', () => {
  it('takes the built-in suite without its sites, under the same names wherever the user stands', () => {
    expect(labels([])).toEqual(['scenarios/a/z.yml', 'scenarios/b.yaml']);
    expect(labels([], 'package')).toEqual(['scenarios/a/z.yml', 'scenarios/b.yaml']);
  });
  it('goes through folders in plain order, past hidden ones and other files', () => {
    expect(labels(['.'])).toEqual(['one.yaml', 'sub/three.yaml']);
  });
  it('passes over sites that stand beside scenarios, and takes one that is named', () => {
    const put = (name: string, text: string) => writeFileSync(join(folder, 'user/sub', name), text);
    put('house.yaml', 'site: my-house # ours\nbuses: { service: utility }\npieces:\n  main: { kind: breaker }\n');
    put('shed.yml', '# a shed\r\nsite: "shed"\r\npieces: {}\r\n');
    put('inline.yaml', 'scenario: x\nsite:\n  site: y\n  buses: {}\n');
    put('other-key.yaml', 'scenrio: x\nsite: house.yaml\nend: 5 s\n');
    put('path.yaml', 'site: ./house.yaml\nbuses: {}\nend: 5 s\n');
    put('both.yaml', 'scenario: x\nsite: y\nbuses: {}\n');
    const scenarios = ['both', 'inline', 'other-key', 'path', 'three'].map((name) => `sub/${name}.yaml`);
    expect(labels(['sub'])).toEqual(scenarios);
    expect(labels(['sub/house.yaml', 'sub'])).toEqual(['sub/house.yaml', ...scenarios]);
  });
  it('takes a named file whatever its name, in the order given, each once', () => {
    symlinkSync(join(folder, 'user/one.yaml'), join(folder, 'user/link.yaml'));
    expect(labels(['two.txt', 'one.yaml', './one.yaml', 'link.yaml', 'sub'])).toEqual([
      'two.txt',
      'one.yaml',
      'sub/three.yaml',
    ]);
  });
  it('finds a built-in scenario by its name from anywhere, so that a replay command can be pasted', () => {
    expect(labels(['scenarios/b.yaml'])).toEqual(['scenarios/b.yaml']);
  });
  it('takes nothing else out of the package by a relative name', () => {
    writeFileSync(join(folder, 'package/package.json'), '{}');
    expect(problems(['package.json'])).toHaveLength(1);
  });
  it('names a file outside by the way to it', () => {
    expect(labels(['../user/one.yaml'], 'package')).toEqual(['../user/one.yaml']);
  });
  it('complains of all that is missing at once, with the nearest name', () => {
    expect(problems(['on.yaml', 'nowhere/at/all.yaml', 'sub/thre.yaml'])).toEqual([
      'on.yaml: no such file or folder; did you mean one.yaml?',
      'nowhere/at/all.yaml: no such file or folder; expected a scenario file or a folder of them',
      'sub/thre.yaml: no such file or folder; did you mean sub/three.yaml?',
    ]);
  });
  it('gives nothing for a suite that is not there', () => {
    rmSync(join(folder, 'package/scenarios'), { recursive: true });
    expect(selectFiles([], join(folder, 'user'), join(folder, 'package'))).toEqual({ files: [], problems: [] });
  });
});

describe('traceName', () => {
  it.each([
    ['scenarios/hand/a.yaml', 'traces/scenarios/hand/a.csv'],
    ['a.yml', 'traces/a.yml.csv'],
    ['../../x/a.yaml', 'traces/up/up/x/a.csv'],
  ])('puts the trace of %s into %s', (label, name) => expect(traceName(label)).toBe(name));
});
