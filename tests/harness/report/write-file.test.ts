import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { makeFolder, openNewFile, removeUnfinished, writeFileWhole } from '../../../harness/report/write-file.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'deadbus-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe('writeFileWhole', () => {
  it('makes the folders above, replaces the old file and leaves nothing beside it', () => {
    const path = join(folder, 'a', 'b', 'results.json');
    writeFileWhole(path, 'old');
    writeFileWhole(path, 'new µ');
    expect(readFileSync(path, 'utf8')).toBe('new µ');
    expect(readdirSync(join(folder, 'a', 'b'))).toEqual(['results.json']);
  });

  it('leaves nothing beside a name that cannot be taken', () => {
    mkdirSync(join(folder, 'taken', 'inside'), { recursive: true });
    expect(() => writeFileWhole(join(folder, 'taken'), 'x')).toThrow();
    expect(readdirSync(folder)).toEqual(['taken']);
  });
});

describe('makeFolder', () => {
  it('throws where none can be made, under /proc and under a file, and takes one that is there', () => {
    expect(() => makeFolder('/proc/deadbus/deep')).toThrow();
    expect(() => makeFolder(folder)).not.toThrow();
    writeFileSync(join(folder, 'file'), '');
    expect(() => makeFolder(join(folder, 'file', 'deep'))).toThrow();
  });
});

describe('openNewFile', () => {
  it('shows the old file until it is finished, then 200 000 characters at once', () => {
    const path = join(folder, 'trace.csv');
    writeFileSync(path, 'old');
    const file = openNewFile(path);
    for (let row = 0; row < 20_000; row += 1) file.write('0123456789');
    expect(readFileSync(path, 'utf8')).toBe('old');
    file.finish();
    expect(readFileSync(path, 'utf8')).toBe('0123456789'.repeat(20_000));
  });

  it('keeps the old file when it is abandoned', () => {
    const path = join(folder, 'trace.csv');
    writeFileSync(path, 'old');
    const file = openNewFile(path);
    file.write('new');
    file.abandon();
    expect(readdirSync(folder)).toEqual(['trace.csv']);
    expect(readFileSync(path, 'utf8')).toBe('old');
  });

  it('keeps the old file when the process is killed between writing and renaming', async () => {
    const path = join(folder, 'trace.csv');
    writeFileSync(path, 'old');
    const source = resolve(import.meta.dirname, '../../../harness/report/write-file.ts');
    const program = `
      import { createJiti } from 'jiti';
      const { openNewFile } = await createJiti(process.cwd() + '/x.mjs', { fsCache: false }).import(${JSON.stringify(source)});
      const file = openNewFile(${JSON.stringify(path)});
      for (let row = 0; row < 20000; row += 1) file.write('0123456789');
      console.log('written');
      setInterval(() => {}, 1000);
    `;
    const child = spawn(process.execPath, ['--input-type=module', '--eval', program], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    await new Promise((written) => child.stdout.once('data', written));
    const ended = new Promise((gone) => child.once('exit', gone));
    child.kill('SIGKILL');
    await ended;
    expect(readFileSync(path, 'utf8')).toBe('old');
    expect(readdirSync(folder)).toHaveLength(2); // The unfinished one was there, beside it.
    expect(existsSync(path)).toBe(true);
  });
});

describe('removeUnfinished', () => {
  const gone = spawnSync(process.execPath, ['--version']).pid; // It has ended.
  const put = (...names: string[]): void => {
    for (const name of names) {
      makeFolder(join(folder, name, '..'));
      writeFileSync(join(folder, name), '');
    }
  };
  const left = (): string[] => readdirSync(folder, { recursive: true, encoding: 'utf8' }).sort();

  it('takes away what a process that is no more left half written, and nothing else', () => {
    const [dead, living] = [`a.csv.${gone}-2.part`, `a.csv.${process.ppid}-2.part`];
    put(dead, living, 'a.csv', `b.txt.${gone}-0.part`, 'a.csv.part', 'a.csv.x-1.part', `deep/${dead}`);
    removeUnfinished(folder, ['.csv']);
    expect(left()).toEqual(
      ['a.csv', living, 'a.csv.part', 'a.csv.x-1.part', `b.txt.${gone}-0.part`, 'deep', `deep/${dead}`].sort(),
    );
  });

  it('takes its own number for one used again, and goes into folders only when told', () => {
    put(`deep/er/a.csv.${process.pid}-0.part`);
    removeUnfinished(folder, ['.csv'], 'and in all folders below');
    expect(left()).toEqual(['deep', 'deep/er']);
  });

  it('takes a folder that is not there for one without litter', () => {
    expect(() => removeUnfinished(join(folder, 'none'), ['.csv'])).not.toThrow();
  });
});
