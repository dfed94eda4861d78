import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { type ControllerSpec, controllerSpec } from '../../../harness/cli/controller-spec.ts';
import { GUARD_BYTES, guarded, guardOf, readGuard } from '../../../harness/cli/guard.ts';
import type { Job } from '../../../harness/cli/job.ts';
import { digestOfFile, loadController } from '../../../harness/cli/load-controller.ts';
import { oneRun, type Runner } from '../../../harness/cli/one-run.ts';
import { type Controller, type Inputs, OUTPUTS_AT_REST } from '../../../sim/gateway/boundary.ts';
import { at, happenings, result, scenario } from '../report/made.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'deadbus-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const put = (name: string, text: string): string => {
  writeFileSync(join(folder, name), text);
  return join(folder, name);
};
const parts = "{ boot() {}, scan() { return { outputs: {}, wake: 'never' }; }, digestState() { return 'x'; } }";
const apart =
  "export function boot() {}\nexport const scan = () => ({ outputs: {}, wake: 'never' });\nexport const digestState = () => 'x';";
const controller: Controller = {
  boot: () => {},
  scan: () => ({ outputs: OUTPUTS_AT_REST, wake: 'never' }),
  digestState: () => 'x',
};
const inputs = { now_us: at(40_000) } as Inputs; // All that the guard reads.

const SABOTEURS = ['runs-late', 'looks-away'];

describe('controllerSpec', () => {
  it('names a module relative to where the user stands', () => {
    const path = put('my.ts', '');
    expect(controllerSpec('module:my.ts', folder, SABOTEURS)).toEqual({ kind: 'module', name: 'module:./my.ts', path });
    expect(controllerSpec(`module:${path}`, folder, SABOTEURS)).toEqual({
      kind: 'module',
      name: 'module:./my.ts',
      path,
    });
    expect(controllerSpec('reference', folder, SABOTEURS)).toEqual({ kind: 'reference', name: 'reference' });
  });
  it('names a saboteur as it was given', () => {
    const spec = { kind: 'saboteur', name: 'saboteur:runs-late', id: 'runs-late' };
    expect(controllerSpec('saboteur:runs-late', folder, SABOTEURS)).toEqual(spec);
  });
  it.each([
    ['referense', 'Did you mean reference?'],
    ['modul:a.js', 'Did you mean module:a.js?'],
    ['', 'expected reference, saboteur:NAME or module:FILE'],
    ['saboteur:run-late', 'no saboteur "run-late". Did you mean saboteur:runs-late?'],
    ['saboteur:xyz', 'There are runs-late or looks-away.'],
    ['saboteur', 'Did you mean saboteur:NAME?'],
    ['sabotuer:runs-late', 'Did you mean saboteur:runs-late?'],
    ['looks-away', 'Did you mean saboteur:looks-away?'],
    ['module:none.js', '--controller: none.js: no such file'],
    ['module:.', 'no such file'],
    ['my.ts', 'Did you mean module:./my.ts?'],
    ['../my.mjs', 'Did you mean module:../my.mjs?'],
    ['module', 'Did you mean module:FILE?'],
  ])('answers %j with %j', (text, said) => expect(controllerSpec(text, folder, SABOTEURS)).toContain(said));
  it('knows a file that is there by whatever name', () => {
    put('logic', '');
    expect(controllerSpec('logic', folder, SABOTEURS)).toContain('Did you mean module:./logic?');
  });
});

describe('loadController', () => {
  it.each([
    ['default.mjs', `export default ${parts};`],
    ['named.mjs', `export const controller = ${parts};`],
    ['made.mjs', `export default () => (${parts});`],
    ['named.ts', `export const controller = ${parts};`],
    ['apart.mjs', apart],
    ['apart.ts', apart],
    ['other-default.mjs', `${apart}\nexport default 'my logic';`],
    ['typed.ts', `type T = string;\nexport default ${parts.replace("'x'", "'x' as T")};`],
  ])('takes %s', async (name, text) => {
    expect((await loadController(put(name, text), `module:./${name}`)).digestState()).toBe('x');
  });
  it.each([
    ['empty.mjs', '', 'module:./empty.mjs: exports nothing; expected boot, scan and digestState'],
    ['half.mjs', 'export default { boot() {} };', 'exports a default without scan or digestState; expected'],
    ['named.mjs', 'export const controller = { scan() {}, boot() {} };', 'exports controller without digestState;'],
    [
      'maker.ts',
      'export default () => ({ scan() {}, boot() {} });',
      'a default that makes something without digestState;',
    ],
    ['part.mjs', 'export const boot = () => {}, scan = () => {};', 'exports boot and scan without digestState;'],
    ['part.ts', 'export const boot = () => {}, scan = () => {};', 'exports boot and scan without digestState;'],
    ['other.mjs', 'export const logic = {};', 'exports logic; expected'],
    ['throws.mjs', 'throw new Error("no luck");', 'module:./throws.mjs: no luck'],
    ['wrong.ts', 'export default {{', 'module:./wrong.ts: '],
  ])('refuses %s, saying why', async (name, text, said) => {
    await expect(loadController(put(name, text), `module:./${name}`)).rejects.toMatchObject({
      name: 'ControllerRefused',
      message: expect.stringContaining(said),
    });
  });
});

describe('guarded', () => {
  it('counts each call in and out, tells which it is and at what instant, also when it throws', () => {
    const shared = new SharedArrayBuffer(GUARD_BYTES);
    const seen: unknown[] = [];
    const look = () => seen.push(readGuard(shared));
    const throwing: Controller = {
      boot: () => void look(),
      scan: () => {
        look();
        throw new Error('x');
      },
      digestState: () => `${look()}`,
    };
    const watched = guarded(throwing, guardOf(shared));
    watched.boot(1);
    expect(() => watched.scan(inputs)).toThrow('x');
    watched.digestState();
    expect(seen).toEqual([
      { count: 1, inController: true, call: 'boot', at_us: 0 },
      { count: 3, inController: true, call: 'scan', at_us: 40_000 },
      { count: 5, inController: true, call: 'digestState', at_us: 40_000 },
    ]);
    expect(readGuard(shared)).toMatchObject({ count: 6, inController: false });
    expect(watched).not.toHaveProperty('inState');
  });
});

describe('oneRun', () => {
  const job = (): Job => ({ file: 's.yaml', scenario: scenario('s'), tracePath: join(folder, 'traces', 's.csv') });
  const reference: ControllerSpec = { kind: 'reference', name: 'reference' };
  const guard = () => guardOf(new SharedArrayBuffer(GUARD_BYTES));
  const runner = (run: Runner['runScenario']): Runner => ({
    runScenario: run,
    referenceController: () => controller,
    saboteur: (id) => ({ ...controller, digestState: () => id }),
  });

  it('hands the scenario to the runner and writes its trace', async () => {
    const answer = await oneRun(job(), reference, guard(), {
      ...runner((of, { telemetry, file, controllerName }) => {
        telemetry?.({ kind: 'head', channels: [{ name: 'a.b', unit: 'V' }] });
        telemetry?.({ kind: 'frame', at_us: at(0), values: new Float64Array([1]), changed: [0] });
        return result(of, [], { file, controller: controllerName, happenings });
      }),
    });
    expect(answer).toMatchObject({ kind: 'judged', result: { file: 's.yaml', controller: 'reference' } });
    expect(readFileSync(job().tracePath!, 'utf8')).toBe('t [s],a.b [V]\n0.000000,1\n');
  });

  it('attaches the saboteur that is named, unguarded like all that is ours', async () => {
    const shared = new SharedArrayBuffer(GUARD_BYTES);
    let attached: unknown;
    const answer = await oneRun(
      job(),
      { kind: 'saboteur', name: 'saboteur:runs-late', id: 'runs-late' },
      guardOf(shared),
      runner((of, { controller: given, controllerName }) => {
        attached = [controllerName, given.digestState()];
        return result(of, [], { controller: controllerName });
      }),
    );
    expect(attached).toEqual(['saboteur:runs-late', 'runs-late']);
    expect(answer).toMatchObject({ kind: 'judged', result: { controller: 'saboteur:runs-late' } });
    expect(readGuard(shared).count).toBe(0);
  });

  it('names a module by the SHA-256 of its bytes', async () => {
    const path = put('x.mjs', `export default ${parts};`);
    const answer = await oneRun(
      job(),
      { kind: 'module', name: 'module:./x.mjs', path },
      guard(),
      runner((of) => result(of, [])),
    );
    expect(answer).toMatchObject({ kind: 'judged', result: { digests: { controller: digestOfFile(path) } } });
    // SHA-256 of "abc", FIPS 180-2, appendix B.1.
    expect(digestOfFile(put('abc', 'abc'))).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
  });

  it('calls what the runner throws a crash, and leaves no half-written trace', async () => {
    const answer = await oneRun(
      job(),
      reference,
      guard(),
      runner(() => {
        throw new TypeError('ours');
      }),
    );
    expect(answer).toMatchObject({
      kind: 'crashed',
      message: 'TypeError: ours',
      stack: expect.stringContaining('ours'),
    });
    expect(readdirSync(join(folder, 'traces'))).toEqual([]);
  });

  it('tells a module that cannot be used from a crash', async () => {
    const spec: ControllerSpec = { kind: 'module', name: 'module:./y.mjs', path: put('y.mjs', '') };
    expect(
      await oneRun(
        job(),
        spec,
        guard(),
        runner((of) => result(of, [])),
      ),
    ).toMatchObject({ kind: 'controller refused' });
  });
});
