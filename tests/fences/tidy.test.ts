import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { untidyIn } from './tidy.ts';

const root = resolve(import.meta.dirname, '../..');
const FOLDERS = ['sim', 'harness/scenario', 'harness/rules', 'harness/limits', 'harness/run'];

const filesOf = (folder: string): string[] =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((path) => path.endsWith('.ts'))
    .map((path) => `${folder}/${path.replaceAll('\\', '/')}`)
    .sort();

describe('the code that must give the same bytes everywhere', () => {
  it.each(FOLDERS)('%s has no banned call, no function over 90 lines, no file over 420', (folder) => {
    const files = filesOf(folder);
    expect(files.length).toBeGreaterThan(0);
    expect(files.flatMap((path) => untidyIn(path, readFileSync(join(root, path), 'utf8')))).toEqual([]);
  });
});

describe('untidyIn', () => {
  it.each([
    ['a.localeCompare(b);', /localeCompare: use instead: compare with < and >/],
    ['a\n  .b?.localeCompare(c);', /a\.b\.localeCompare/],
    ['(5).toLocaleString();', /toLocaleString: use instead: sim\/units\.ts/],
    ['new Intl.NumberFormat();', /Intl\.NumberFormat: use instead: sim\/units\.ts/],
    ['const x = Math.random;', /sim\/time\/chance\.ts/],
    ['const x = globalThis.Date.now();', /Kernel\.now_us/],
    ['performance.now();', /Kernel\.now_us/],
    ['const x = Promise.resolve(1);', /the core is synchronous/],
    ['async function x() {}', /the core is synchronous/],
  ])('refuses %s and says what to use', (line, message) => {
    expect(untidyIn('sim/planted.ts', `const first = 1;\n${line}\n`)).toEqual([expect.stringMatching(message)]);
    expect(untidyIn('sim/planted.ts', `const first = 1;\n${line}\n`)[0]).toMatch(/^sim\/planted\.ts:2: /);
  });

  it('lets comments, texts and kin of the banned names pass', () => {
    const text =
      '// never Date.now, localeCompare or Intl\nconst x = "Math.random"; const Intlike = x.at(0); clock.now();\n';
    expect(untidyIn('sim/planted.ts', text)).toEqual([]);
  });

  it('lets promises pass outside sim', () => {
    expect(untidyIn('harness/run/planted.ts', 'export const x = async (): Promise<number> => 1;\n')).toEqual([]);
  });

  it('refuses a function of 91 lines, not one of 90', () => {
    const ofLines = (lines: number): string => `function x() {\n${'  y();\n'.repeat(lines - 2)}}\n`;
    expect(untidyIn('sim/planted.ts', ofLines(91))).toEqual(['sim/planted.ts:1: function of 91 lines, at most 90']);
    expect(untidyIn('sim/planted.ts', ofLines(90))).toEqual([]);
  });

  it('refuses a file of 421 lines, not one of 420', () => {
    expect(untidyIn('sim/planted.ts', 'y();\n'.repeat(421))).toEqual([expect.stringMatching(/421 lines/)]);
    expect(untidyIn('sim/planted.ts', 'y();\n'.repeat(420))).toEqual([]);
  });
});
