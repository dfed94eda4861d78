import { cpSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { RULES } from '../../harness/rules/index.ts';
import { deadbus, type Ended, resultsIn, scratch } from '../helpers/command.ts';

const folder = scratch();
afterAll(() => folder.remove());
const SITES = join(folder.path, 'sites');
cpSync('scenarios/sites', SITES, { recursive: true });

const BARE = 'scenario: bare\ntitle: Nothing happens\nsite: sites/juniper-lane.yaml\nend: 2 s\n';
const put = (name: string, text: string | Uint8Array): void => writeFileSync(join(folder.path, name), text);

/** Runs what stands in one file. */
function run(text: string | Uint8Array, ...options: string[]): Ended {
  put('one.yaml', text);
  return deadbus(['run', 'one.yaml', ...options], folder.path);
}

/** A copy of the larger built-in site with one part of it put in place of another. */
function siteWith(name: string, from: string, to: string): string {
  const sound = readFileSync(join(SITES, 'juniper-lane.yaml'), 'utf8');
  expect(sound).toContain(from);
  writeFileSync(
    join(SITES, `${name}.yaml`),
    sound.replace(from, () => to),
  );
  return BARE.replace('juniper-lane', name);
}

/** Each level nine times the one before: 9^8 values. */
function bomb(): string {
  const levels = 'abcdefgh'.split('').map((name, i, all) => {
    const item = i === 0 ? 'x' : `*${all[i - 1]}`;
    return `${name}: &${name} [${Array(9).fill(item).join(', ')}]\n`;
  });
  return levels.join('');
}

describe('deadbus run, by exit code (its own fault, 3, is in own-fault.test.ts)', () => {
  it('ends with 0 where every verdict is as its file expects: the built-in suite', () => {
    const { code, out } = deadbus(['run', '--out', join(folder.path, 'builtin')]);
    expect(code).toBe(0);
    expect(out).toMatch(/\n\d+ scenarios: (\d+) as expected; exit 0\n$/);
  });

  it('arms each rule that there is in the built-in suite, and has each of them judged', () => {
    const { scenarios } = resultsIn(join(folder.path, 'builtin'));
    const judged = scenarios.flatMap(({ verdicts }) =>
      verdicts.filter(({ armed, is }) => armed > 0 && is !== 'not exercised'),
    );
    expect(new Set(scenarios[0]!.verdicts.map(({ rule }) => rule)).size).toBe(RULES.length);
    expect(RULES.map(({ id }) => id).filter((id) => !judged.some(({ rule }) => rule === id))).toEqual([]);
  });

  it('ends with 1 where a statement is broken, and says in words what was found', () => {
    const statement = '{ at the end: { channel: relay.L1, is: "=", value: open } }';
    const { code, out } = run(`${BARE}expect: { statements: [ ${statement} ] }\n`);
    expect(code).toBe(1);
    expect(out.replaceAll(/\s+/g, ' ')).toContain('relay.L1 at open: broken; relay.L1 was closed at the end');
    expect(out).toContain('npx deadbus run one.yaml --seed 1');
  });

  it('ends with 1 where a violation that the file expects does not come', () => {
    const { code, out } = run(`${BARE}expect: { fail: [ { rule: leg-voltage, because: of a reason } ] }\n`);
    expect(code).toBe(1);
    expect(out).toContain('expected violation missing');
  });

  it('ends with 4 where nothing is selected, and writes nothing', () => {
    mkdirSync(join(folder.path, 'nothing'));
    const { code, out, err } = deadbus(['run', 'nothing'], folder.path);
    expect({ code, out, err }).toEqual({ code: 4, out: '', err: 'nothing selected: no *.yaml in nothing\n' });
  });

  it('ends with 5 where a rule that must pass is never armed', () => {
    const { code, out } = run(`${BARE}expect: { pass: [sync-close] }\n`);
    expect(code).toBe(5);
    expect(out.replaceAll(/\s+/g, ' ')).toContain('sync-close should pass, but was not exercised: never armed');
  });

  it('takes the worst: a file that is refused and one that is not met end with 2, and both are told', () => {
    put('refused.yaml', BARE.replace('2 s', '2'));
    put('one.yaml', `${BARE}expect: { pass: [sync-close] }\n`);
    const { code } = deadbus(['run', 'refused.yaml', 'one.yaml'], folder.path);
    expect(code).toBe(2);
    expect(resultsIn(join(folder.path, 'out')).scenarios.map(({ status }) => status)).toEqual([
      'refused',
      'not exercised',
    ]);
  });
});

describe("deadbus run on a fault of the user's", () => {
  const happening = (what: string): string => `${BARE}happenings:\n  - { ${what} }\n`;
  const loop = '  bypass: { kind: conductor, at: [meter, panel], size: 2 Al, neutralSize: 2 Al, length: 3 m }\n  bond:';

  it.each<[string, () => string | Uint8Array, string]>([
    ['an unknown key', () => BARE.replace('end', 'ennd'), 'one.yaml:4:1: found unknown key "ennd"'],
    ['the same, with the nearest word', () => BARE.replace('end', 'ennd'), 'Did you mean "end"?'],
    ['a missing unit', () => BARE.replace('2 s', '2'), 'one.yaml:4:6 end: found 2 with no unit'],
    ['a wrong unit', () => BARE.replace('2 s', '2 V'), 'one.yaml:4:6 end: found "2 V"; expected µs, ms, s, min or h'],
    [
      'a time before the start',
      () => happening('at: -2 s, do: main open'),
      'one.yaml:6:11 happenings[0].at: found "-2 s"',
    ],
    [
      'an unknown state',
      () => happening('after: { channel: pv.mode, is: "=", value: runing }, do: main open'),
      'Did you mean "running"?',
    ],
    [
      'a negative rating',
      () => siteWith('negative', 'role: main, rating: 200 A', 'role: main, rating: -200 A'),
      'sites/negative.yaml:8:66 main.rating: found "-200 A"',
    ],
    [
      'a breaker of 0 A',
      () => siteWith('zero', 'role: main, rating: 200 A', 'role: main, rating: 0 A'),
      'sites/zero.yaml:8:66 main.rating: found a breaker of 0 A',
    ],
    [
      'a loop in the network',
      () => siteWith('loop', '  bond:', loop),
      'sites/loop.yaml:9:34 bypass.at: found a loop on L1: main, bypass',
    ],
    [
      'a device on no bus',
      () => siteWith('nowhere', 'kind: former, at: house', 'kind: former'),
      'sites/nowhere.yaml:13:3 former.at: found former on no bus',
    ],
    [
      'a site that is not there',
      () => BARE.replace('juniper', 'jupiter'),
      'one.yaml:3:7 site: found "sites/jupiter-lane.yaml"',
    ],
    ['10 MB of YAML', () => `a: "${'x'.repeat(1e7)}"\n`, 'one.yaml:1:1: found more than 1 MB'],
    ['a bomb of aliases', bomb, '[SCN-ALIAS]'],
    [
      'binary rubbish',
      () => Uint8Array.from({ length: 5000 }, (_, i) => (i * 7919 + (i >> 3)) % 256),
      'one.yaml:1:1: found',
    ],
    ['an empty file', () => '', 'one.yaml:1:1: found an empty file'],
  ])('ends with 2 and tells of %s, without a stack', (_, text, said) => {
    const { code, err } = run(text());
    expect(code).toBe(2);
    expect(err).toContain(said);
    expect(err).toMatch(/\[(SCN|SITE)-[A-Z]+\]\n/);
    expect(err).not.toMatch(/^\s+at |our own fault/m);
    expect(err.length).toBeLessThan(5000);
  });

  it.each([
    [['--sed', '3'], 'Did you mean --seed?'],
    [['none.yaml'], 'none.yaml: no such file or folder'],
    [['--controller', 'module:none.js'], '--controller: none.js: no such file'],
    [['--out', 'one.yaml'], '--out: one.yaml is no folder'],
    [['--out', 'one.yaml/deeper'], '--out: cannot write to the folder one.yaml/deeper'],
    [['--out', 'blocked'], '--out: in blocked results.json is a folder'],
  ])('ends with 2 and no report at %j', (options, said) => {
    mkdirSync(join(folder.path, 'blocked/results.json'), { recursive: true });
    const { code, out, err } = run(BARE, ...options);
    expect({ code, out }).toEqual({ code: 2, out: '' });
    expect(err).toContain(said);
    expect(err).not.toMatch(/^\s+at /m);
  });
});
