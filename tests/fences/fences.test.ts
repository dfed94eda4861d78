import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

// The canary of the fences: forbidden lines are planted in a copy of the linter's settings outside the project. The
// linter's stdin mode would spare the copy, but it prints no findings.

interface Finding {
  severity: string;
  message: string;
  location: { path: string };
}

const root = resolve(import.meta.dirname, '../..');
let house = '';

const allowed = `import { sin } from '../maths.ts';

export const largest = (x: number): number => Math.max(Math.sqrt(Math.abs(x)), sin(x), Math.imul(3, 4), Math.trunc(x));
`;

/** Where it is planted, what is planted, and what the finding says. */
const PLANTED: readonly (readonly [string, string, RegExp])[] = [
  ['sim/time', 'export const x = (): number => Math.random();', /seeded streams/],
  ['sim/time', 'export const x = (): number => Date.now();', /Date/],
  ['sim/time', 'export const x = (): object => new Date();', /Date/],
  ['sim/time', 'export const x = (): number => performance.now();', /performance/],
  ['sim/time', 'export const x = (): unknown => globalThis;', /globalThis/],
  ['sim/time', 'export const x = (): void => { setTimeout(() => {}, 1); };', /setTimeout/],
  ['sim/time', 'export const x = (): void => { setInterval(() => {}, 1); };', /setInterval/],
  ['sim/time', 'export const x = (): void => { setImmediate(() => {}); };', /setImmediate/],
  ['sim/time', 'export const x = (): void => { queueMicrotask(() => {}); };', /queueMicrotask/],
  ['sim/time', 'export const x = (): number => Math.sin(1);', /sim\/maths\.ts/],
  ['sim/time', 'export const x = (): number => Math.PI;', /sim\/maths\.ts/],
  ['sim/time', 'export const x = (name: "abs"): number => Math[name](1);', /sim\/maths\.ts/],
  ['sim/time', 'const { cos } = Math;\nexport const x = cos;', /name the function/],
  ['sim/time', 'export const x = (a: number): number => a ** 2;', /pow of sim\/maths\.ts/],
  ['sim/time', 'export const x = (a: number): number => { let b = a; b **= 2; return b; };', /pow of sim\/maths\.ts/],
  ['sim/time', "import { readFileSync } from 'node:fs';\nexport const x = readFileSync;", /Node\.js/],
  ['sim/time', "import { x } from '../harness/x.ts';\nexport const y = x;", /no harness/],
  ['sim/equipment', "import { x } from '../../harness/rules/x.ts';\nexport const y = x;", /no harness/],
  ['sim/maths', 'export const x = (): number => Math.exp(1);', /sim\/maths\.ts/],
  ['harness/rules', 'export const x = (): number => Math.hypot(3, 4);', /sim\/maths\.ts/],
  ['harness/limits', 'export const x = (a: number): number => a ** 2;', /pow of sim\/maths\.ts/],
  ['harness/run', 'export const x = (): number => Math.random();', /seeded streams/],
  ['harness/scenario', 'export const x = (): number => Math.log(2);', /sim\/maths\.ts/],
];

const pathOf = (folder: string, index: number): string => `${folder}/planted-${index}.ts`;

function put(path: string, source: string): void {
  mkdirSync(dirname(join(house, path)), { recursive: true });
  writeFileSync(join(house, path), `${source}\n`);
}

let errors: Finding[] = [];

beforeAll(() => {
  house = mkdtempSync(join(tmpdir(), 'deadbus-fences-'));
  mkdirSync(join(house, 'tests/fences'), { recursive: true });
  const plugins = readdirSync(join(root, 'tests/fences')).filter((name) => name.endsWith('.grit'));
  for (const path of ['biome.json', '.gitignore', ...plugins.map((name) => `tests/fences/${name}`)]) {
    copyFileSync(join(root, path), join(house, path));
  }
  put('sim/time/allowed.ts', allowed);
  PLANTED.forEach(([folder, source], index) => {
    put(pathOf(folder, index), source);
  });
  const biome = join(root, 'node_modules/.bin/biome');
  const options = ['lint', '--reporter=json', '--max-diagnostics=none', '.'];
  const { stdout } = spawnSync(biome, options, { cwd: house, encoding: 'utf8' });
  errors = (JSON.parse(stdout) as { diagnostics: Finding[] }).diagnostics.filter(
    ({ severity }) => severity === 'error',
  );
});

afterAll(() => {
  rmSync(house, { recursive: true });
});

const foundIn = (path: string): string[] =>
  errors.filter(({ location }) => location.path === path).map(({ message }) => message);

describe('the linter', () => {
  it.each(PLANTED.map((planted, index) => [...planted, index] as const))(
    'refuses in %s: %s',
    (folder, _source, message, index) => {
      expect(foundIn(pathOf(folder, index))).toEqual(expect.arrayContaining([expect.stringMatching(message)]));
    },
  );

  it('lets a clean file pass, and no plugin breaks down', () => {
    expect(foundIn('sim/time/allowed.ts')).toEqual([]);
    expect(errors.filter(({ message }) => /errored|Failed to compile/.test(message))).toEqual([]);
  });
});
