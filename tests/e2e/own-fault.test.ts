import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { nodesOf, readXml } from '../harness/report/xml-reader.ts';
import { resultsIn, scratch } from '../helpers/command.ts';

// A fault of ours cannot be ordered, so one is made: a copy of what was built, with one file of it spoilt.

const folder = scratch();
afterAll(() => folder.remove());
const PACKAGE = join(folder.path, 'package');
const BUILT = join(PACKAGE, 'dist/js');

beforeEach(() => {
  rmSync(PACKAGE, { recursive: true, force: true });
  for (const part of ['package.json', 'harness/cli/deadbus.mjs', 'scenarios', 'dist/js/harness', 'dist/js/sim']) {
    mkdirSync(dirname(join(PACKAGE, part)), { recursive: true });
    cpSync(part, join(PACKAGE, part), { recursive: true });
  }
  symlinkSync(resolve('node_modules'), join(PACKAGE, 'node_modules'));
});

const bare = (id: string, more = ''): string =>
  `scenario: ${id}\ntitle: Nothing much happens\nsite: package/scenarios/sites/juniper-lane.yaml\nend: 2 s\n${more}`;
writeFileSync(join(folder.path, 'sound.yaml'), bare('sound'));
writeFileSync(join(folder.path, 'sag.yaml'), bare('sag', 'happenings:\n  - { at: 1 s, do: utility sag }\n'));

function replaceIn(file: string, from: string, to: string): void {
  const path = join(BUILT, file);
  const sound = readFileSync(path, 'utf8');
  expect(sound.includes(from), `${file}: ${from}`).toBe(true);
  writeFileSync(
    path,
    sound.replace(from, () => to),
  );
}

const cutShort = (path: string): void => {
  const whole = readFileSync(path, 'utf8');
  writeFileSync(path, whole.slice(0, Math.floor(whole.length / 2)));
};

function run(...options: string[]) {
  rmSync(join(folder.path, 'out'), { recursive: true, force: true });
  const launcher = join(PACKAGE, 'harness/cli/deadbus.mjs');
  const args = [launcher, 'run', 'sound.yaml', 'sag.yaml', ...options];
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { cwd: folder.path, encoding: 'utf8' });
  return { code: status, out: stdout, err: stderr };
}

const states = () => resultsIn(join(folder.path, 'out')).scenarios.map(({ file, status }) => [file, status]);
const THROWS = "throw new Error('the balance is off by 3 W');";

describe('deadbus run on a fault of our own', () => {
  it('ends with 0 on the copy as long as nothing is spoilt', () => {
    const { code, err } = run();
    expect(code).toBe(0);
    expect(err).not.toContain('our own fault');
  });

  it('ends with 3 where one scenario of two meets it, judges the other, and says what to send', () => {
    replaceIn(
      'sim/equipment/utility.js',
      'sag: (using, cause) => this',
      `sag: (using, cause) => { ${THROWS} }, none: (using, cause) => this`,
    );
    const { code, out, err } = run();
    expect(code).toBe(3);
    expect(states()).toEqual([
      ['sound.yaml', 'as expected'],
      ['sag.yaml', 'crashed'],
    ]);
    expect(resultsIn(join(folder.path, 'out')).exit).toBe(3);
    expect(out).toMatch(/our fault[\s\S]*; exit 3\n$/);
    expect(err).toContain('our own fault in sag.yaml:\nError: the balance is off by 3 W\n    at ');
    expect(err).toContain('nothing that fell over counts as passed');
    expect(err).toMatch(/Please report it\. Send .* the scenario files/);
    expect(err).toContain(`deadbus 0.1.0, Node ${process.version}, ${process.platform}`);
    const junit = readXml(readFileSync(join(folder.path, 'out/junit.xml'), 'utf8'));
    expect(nodesOf(junit, 'error')).toHaveLength(1);
    expect(existsSync(join(folder.path, 'out/traces/sag.csv'))).toBe(false);
  });

  it('ends with 3 where a rule falls over: no verdict comes of it', () => {
    replaceIn('harness/rules/sync-close.js', '    frame(moment) {', `    frame(moment) { ${THROWS}`);
    const { code } = run('--quiet');
    expect(code).toBe(3);
    expect(states()).toEqual([
      ['sound.yaml', 'crashed'],
      ['sag.yaml', 'crashed'],
    ]);
  });

  it.each([
    ['the thread', 'harness/cli/run-thread.js'],
    ['a kind of equipment', 'sim/equipment/pv.js'],
    ['the command', 'harness/cli/main.js'],
    ['the table of limits', 'harness/limits/trip.js'],
  ])('ends with 3 where the build of %s is cut in half, and nothing passes', (_, file) => {
    cutShort(join(BUILT, file));
    const { code, out, err } = run();
    expect(code).toBe(3);
    expect(err).toContain('our own fault');
    expect(err).toMatch(/report it/);
    expect(out).not.toContain('as expected');
    expect(existsSync(join(folder.path, 'out/results.json')) ? states().map(([, status]) => status) : []).not.toContain(
      'as expected',
    );
  });

  it('ends with 3, not with the 1 of a verdict, where an error comes from a timer that nobody waits for', () => {
    replaceIn('harness/cli/pool.js', 'const answers = ', `setImmediate(() => { ${THROWS} });\n    const answers = `);
    const { code, out, err } = run();
    expect({ code, out }).toEqual({ code: 3, out: '' });
    expect(err).toContain('our own fault: Error: the balance is off by 3 W');
  });
});
