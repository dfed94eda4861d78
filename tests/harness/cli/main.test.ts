import { spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { columnsOf, type Io } from '../../../harness/cli/io.ts';
import { type Assemble, main } from '../../../harness/cli/main.ts';
import { book, scenario } from '../report/made.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'deadbus-'));
  mkdirSync(join(folder, 'scenarios'));
  writeFileSync(join(folder, 'package.json'), '{ "version": "9.8.7" }');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

/** A file holds one word: what the pretended thread does with it, or `bad`. */
const assemble: Assemble = async (packageRoot, version) => ({
  version,
  packageRoot,
  book,
  saboteurs: ['runs-late'],
  threadFile: new URL('./threads/pretend.mjs', import.meta.url),
  readScenarioFile(path, label) {
    const word = readFileSync(path, 'utf8');
    if (word === 'bad') return { problems: [`${label}:1:1: found bad`] };
    const id = label.replace(/(-twin)?\.yaml$/, '');
    return { scenario: { ...scenario(id, { pass: ['no-backfeed'] }), tags: [word] } };
  },
});

async function deadbus(files: Record<string, string>, argv: string, more: Partial<Io> = {}, how = assemble) {
  for (const [name, word] of Object.entries(files)) writeFileSync(join(folder, name), word);
  let [out, err] = ['', ''];
  const io: Io = {
    out: (text) => {
      out += text;
    },
    err: (text) => {
      err += text;
    },
    env: {},
    cwd: folder,
    outIsTerminal: false,
    errIsTerminal: false,
    columns: 80,
    onInterrupt: () => () => {},
    ...more,
  };
  const code = await main(
    argv.split(' ').filter((word) => word !== ''),
    pathToFileURL(`${folder}/`),
    io,
    how,
  );
  return { code, out, err };
}

const results = () => JSON.parse(readFileSync(join(folder, 'out/results.json'), 'utf8'));

describe('deadbus run', () => {
  it.each([
    [0, { 'a.yaml': 'passes' }],
    [1, { 'a.yaml': 'passes', 'b.yaml': 'fails', 'c.yaml': 'idles' }],
    [2, { 'a.yaml': 'fails', 'b.yaml': 'bad' }],
    [3, { 'a.yaml': 'bad', 'b.yaml': 'crashes', 'c.yaml': 'passes' }],
    [5, { 'a.yaml': 'passes', 'b.yaml': 'idles' }],
  ])('ends with %i', async (code, files) => {
    const run = await deadbus(files, 'run .');
    expect(run.code).toBe(code);
    expect(run.out).toMatch(new RegExp(`; exit ${code}\n$`));
    expect(results()).toMatchObject({ exit: code, tool: { version: '9.8.7' } });
    expect(results().scenarios).toHaveLength(Object.keys(files).length);
    expect(readdirSync(join(folder, 'out')).sort()).toEqual(['junit.xml', 'results.json']);
  });

  it('ends with 4 and writes nothing where nothing was selected', async () => {
    const run = await deadbus({}, 'run');
    expect(run).toMatchObject({ code: 4, out: '', err: 'nothing selected: no *.yaml in the built-in suite\n' });
    expect(existsSync(join(folder, 'out/results.json'))).toBe(false);
  });

  it('ends with 130 when interrupted, and writes what was finished', async () => {
    let interrupt = () => {};
    const onInterrupt: Io['onInterrupt'] = (stop) => {
      interrupt = stop;
      return () => {};
    };
    const err = (text: string) => {
      if (text.includes('running b')) interrupt(); // With one job, a has been finished by then.
    };
    const files = { 'a.yaml': 'passes', 'b.yaml': 'hangs', 'c.yaml': 'passes' };
    const run = await deadbus(files, 'run . --jobs 1', { onInterrupt, err, errIsTerminal: true });
    expect(run.code).toBe(130);
    expect(results()).toMatchObject({ exit: 130, interrupted: true, selected: 3, scenarios: [{ file: 'a.yaml' }] });
  });

  it('prints results on stdout and complaints on stderr, and still runs the other files', async () => {
    const run = await deadbus({ 'a.yaml': 'passes', 'b.yaml': 'bad' }, 'run .');
    expect(run.err).toContain('b.yaml:1:1: found bad\n');
    expect(run.out).not.toContain('found bad');
    expect(run.out).toMatch(/^a +✓ as expected/m);
    expect(run.err).toContain('deadbus 9.8.7: 2 selected, controller reference, seed of each file');
  });

  it('warns of a scenario id that stands in two files, and runs both', async () => {
    const run = await deadbus({ 'a.yaml': 'passes', 'a-twin.yaml': 'passes', 'b.yaml': 'passes' }, 'run . --quiet');
    expect(run).toEqual({
      code: 0,
      out: '3 scenarios: 3 as expected; exit 0\n',
      err: 'warning: scenario id "a" stands in a-twin.yaml, a.yaml; give each an id of its own\n',
    });
  });

  it('names the trace of a failure as the user can paste it', async () => {
    const run = await deadbus({ 'a.yaml': 'fails' }, 'run a.yaml --out deep/er');
    expect(run.out).toContain('\n  trace     deep/er/traces/a.csv\n');
    const read = JSON.parse(readFileSync(join(folder, 'deep/er/results.json'), 'utf8'));
    expect(read.scenarios[0].trace).toBe('traces/a.csv');
  });

  it('gives the same bytes with 1 and with 3 jobs', async () => {
    const files = { 'a.yaml': 'waits', 'b.yaml': 'fails', 'c.yaml': 'idles', 'd.yaml': 'passes' };
    const both: string[][] = [];
    for (const jobs of [1, 3]) {
      const { out } = await deadbus({ ...files }, `run . --jobs ${jobs} --seed 5`);
      const masked = readFileSync(join(folder, 'out/results.json'), 'utf8').replaceAll(/"simulated_us": \d+/g, ''); // The pretended thread counts its jobs there.
      both.push([out.replaceAll(/\d µs/g, ''), masked]);
    }
    expect(both[0]).toEqual(both[1]);
  });

  it('takes the seed of the command line before that of the file, and repeats it in the replay', async () => {
    const run = await deadbus({ 'a.yaml': 'fails' }, 'run a.yaml --seed 4294967295');
    expect(results().scenarios[0]).toMatchObject({
      seed: 4294967295,
      replay: 'npx deadbus run a.yaml --seed 4294967295',
    });
    expect(run.out).toContain('--seed 4294967295');
  });

  it('writes elsewhere, and refuses a folder that is a file', async () => {
    await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml --out deep/er');
    expect(readdirSync(join(folder, 'deep/er')).sort()).toEqual(['junit.xml', 'results.json']);
    expect(await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml --out a.yaml')).toMatchObject({
      code: 2,
      err: expect.stringContaining('--out'),
    });
  });

  it('judges a controller that ends its own thread, and refuses a module that is none with 2', async () => {
    const files = { 'x.js': '', 'a.yaml': 'leaves', 'b.yaml': 'passes' };
    const lost = await deadbus(files, 'run . --controller module:x.js');
    expect(lost.code).toBe(1);
    expect(results().scenarios[0]).toMatchObject({
      status: 'unlike expected',
      controllerFault: { kind: 'throws' },
      digests: { run: 'none' },
    });
    const refused = await deadbus({ 'a.yaml': 'refuses' }, 'run a.yaml --controller module:x.js');
    expect(refused).toMatchObject({
      code: 2,
      out: '',
      err: expect.stringContaining('error: --controller: module:./x.js: exports nothing'),
    });
  });

  it('says nothing on stderr and little on stdout when quiet', async () => {
    const run = await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml --quiet');
    expect(run).toEqual({ code: 0, out: '1 scenario: 1 as expected; exit 0\n', err: '' });
  });

  it('writes its progress over itself on a terminal only', async () => {
    const seen = await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml', { errIsTerminal: true });
    expect(seen.err).toContain('\r\u001b[2K0 of 1 done; running a');
    expect(seen.err.endsWith('\r\u001b[2K')).toBe(true);
    expect((await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml')).err).not.toContain('done');
  });

  it('colours where asked to', async () => {
    expect((await deadbus({ 'a.yaml': 'passes' }, 'run a.yaml --color always')).out).toContain(
      '\u001b[32m✓ as expected\u001b[39m',
    );
  });
});

describe('deadbus', () => {
  it.each([
    ['run --sed 3', 'Did you mean --seed?'],
    ['ran', 'Did you mean run?'],
    ['run --color sometimes', 'Allowed choices are auto, always, never'],
    ['run --seed -1', 'seed must be a whole number from 0 to 4294967295'],
    ['run --seed 4294967296', 'seed must be'],
    ['run --seed 1.5', 'seed must be'],
    ['run --jobs 0', 'jobs must be a whole number from 1 to 256'],
    ['run nowhere.yaml', 'nowhere.yaml: no such file or folder'],
    ['run --controller referense', 'Did you mean reference?'],
    ['', 'Usage: deadbus'],
  ])('answers %j with 2 and %j, on stderr', async (argv, said) => {
    expect(await deadbus({}, argv)).toMatchObject({ code: 2, out: '', err: expect.stringContaining(said) });
  });

  it.each(['--help', 'run --help'])(
    '%s begins with three examples, lists the exit codes and ends with 0',
    async (argv) => {
      const { code, out } = await deadbus({}, argv);
      expect(code).toBe(0);
      expect(out.match(/^ {2}npx deadbus run/gm)).toHaveLength(3);
      expect(out.startsWith('Examples:')).toBe(true);
      expect(out.match(/^ {2}(\d+) /gm)?.map(Number)).toEqual([0, 1, 2, 3, 4, 5, 130]);
      expect(out.split('\n').every((line) => line.length <= 80)).toBe(true);
    },
  );

  it('prints the version of the package', async () => {
    expect(await deadbus({}, '--version')).toEqual({ code: 0, out: '9.8.7\n', err: '' });
  });

  it('ends with 3 where we fall over ourselves', async () => {
    const broken = async () => {
      throw new Error('not linked');
    };
    expect(await deadbus({}, 'run', {}, broken)).toMatchObject({
      code: 3,
      err: expect.stringContaining('our own fault: Error: not linked'),
    });
  });
});

describe('the launcher', () => {
  it('says, where nothing is built, what to run, and ends with 2', () => {
    mkdirSync(join(folder, 'harness/cli'), { recursive: true });
    const launcher = join(folder, 'harness/cli/deadbus.mjs');
    cpSync(join(import.meta.dirname, '../../../harness/cli/deadbus.mjs'), launcher);
    const { status, stdout, stderr } = spawnSync(launcher, ['run'], { encoding: 'utf8' }); // By its own name: it must be executable.
    expect([status, stdout, stderr]).toEqual([2, '', 'deadbus is not built: run npm ci (or npm run build)\n']);
  });
});

describe('columnsOf', () => {
  it.each([
    [undefined, undefined, 120],
    ['90', undefined, 90],
    ['120', 100, 100],
    ['12', undefined, 120],
    ['wide', undefined, 120],
  ])('COLUMNS %j and a terminal of %j give %i', (env, terminal, columns) =>
    expect(columnsOf(env, terminal)).toBe(columns),
  );
});
