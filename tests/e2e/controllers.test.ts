import { cpSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { OUTPUTS_AT_REST } from '../../sim/gateway/boundary.ts';
import { deadbus, resultsIn, scratch } from '../helpers/command.ts';

const folder = scratch();
afterAll(() => folder.remove());
cpSync('scenarios/sites', join(folder.path, 'sites'), { recursive: true });
writeFileSync(
  join(folder.path, 'outage.yaml'),
  `scenario: outage
title: The utility fails after 1 s
site: sites/juniper-lane.yaml
end: 3 s
happenings:
  - { at: 1 s, do: utility outage }
expect:
  statements:
    - { until: 1 s, from: 0 s, what: { channel: relay.L1, is: "=", value: closed } }
    - { within: 500 ms, of: 1 s, what: { channel: relay.L1, is: "=", value: open } }
    - { at the end: { channel: vehicle.forms, is: "=", value: 0 } }
`,
);

/** Plays the outage against a module; `scan` is the body of its function. */
function against(module: string, text: string) {
  writeFileSync(join(folder.path, module), text);
  const { code, out, err } = deadbus(['run', 'outage.yaml', '--controller', `module:${module}`], folder.path);
  return { code, out, err, result: () => resultsIn(join(folder.path, 'out')).scenarios[0] };
}
const scanning = (body: string): string => `const rest = ${JSON.stringify(OUTPUTS_AT_REST)};
export default { boot() {}, digestState() {}, scan(inputs) { ${body} } };`;

describe('deadbus run --controller module:…', () => {
  it.each([
    ['that throws', 'throw new Error("no luck")', 'throws', 'Error: no luck'],
    ['that throws null', 'throw null', 'throws', 'null'],
    ['that ends its process', 'process.exit(0)', 'throws', 'the thread ended itself'],
    ['that answers nothing', '', 'nonsense', 'the answer is undefined'],
    ['that answers a promise', 'return Promise.resolve(rest)', 'nonsense', 'the answer is a promise'],
    [
      'that leaves an output out',
      'const { pvPermit, ...most } = rest; return { outputs: most, wake: "never" }',
      'nonsense',
      'output pvPermit is undefined',
    ],
    [
      'that answers NaN',
      'return { outputs: { ...rest, vehicleLimit: NaN }, wake: "never" }',
      'nonsense',
      'output vehicleLimit is NaN',
    ],
    [
      'that answers 2^31 mV',
      'return { outputs: { ...rest, islandVoltage: 2 ** 31 }, wake: "never" }',
      'nonsense',
      'output islandVoltage is 2147483648',
    ],
    [
      'that orders a command that is none',
      'return { outputs: { ...rest, vehicleCommand: 77 }, wake: "never" }',
      'nonsense',
      'output vehicleCommand is 77; expected 0 idle, 1 charge',
    ],
    [
      'that forms at 0 Hz',
      'return { outputs: { ...rest, vehicleCommand: 4, islandFrequency: 0 }, wake: "never" }',
      'nonsense',
      'output islandFrequency is 0; expected 50000 to 66000 mHz',
    ],
    [
      'that wants to wake in the past',
      'return { outputs: rest, wake: inputs.now_us - 1 }',
      'nonsense',
      'wake is -1 µs',
    ],
    [
      'whose answer throws when it is read',
      'return { get outputs() { throw new Error("a trap") } }',
      'throws',
      'Error: a trap',
    ],
  ])('gives a verdict about one %s, and ends with 1', (_, body, kind, said) => {
    const { code, err, result } = against('odd.mjs', scanning(body));
    expect({ code, fault: result()?.controllerFault }).toEqual({
      code: 1,
      fault: { kind, at_us: 0, message: expect.stringContaining(said) },
    });
    expect(err).not.toMatch(/our own fault|^\s+at /m);
  });

  it('ends one that never returns after 10 s, at the scan in which it was lost', () => {
    const { code, result } = against(
      'stuck.mjs',
      scanning('if (inputs.now_us >= 1e6) for (;;); return { outputs: rest, wake: "each scan" }'),
    );
    const fault = { kind: 'never returns', at_us: 1_000_000, message: expect.stringContaining('within 10 s') };
    expect({ code, fault: result()?.controllerFault }).toEqual({ code: 1, fault });
  });

  it('lets one write over its inputs and answer with the same object each time, and takes what it answers', () => {
    const body = `for (const name of Object.keys(inputs)) inputs[name] = undefined;
      globalThis.same ??= { outputs: { ...rest }, wake: 'each scan' };
      globalThis.same.outputs.shed ^= 1;
      return globalThis.same;`;
    const { err, result } = against('reuses.mjs', scanning(body));
    expect(err).not.toContain('our own fault');
    expect(result()?.controllerFault).toBeUndefined();
    const [head = '', ...rows] = readFileSync(join(folder.path, 'out/traces/outage.csv'), 'utf8').split('\n');
    const column = (name: string) => {
      const index = head.split(',').findIndex((cell) => cell.startsWith(name));
      return rows.map((row) => row.split(',')[index]);
    };
    const shed = column('gateway.shed [');
    const edges = shed.filter((value, i) => i > 0 && value !== undefined && value !== shed[i - 1]);
    expect(edges.length).toBeGreaterThan(250); // A scan each 10 ms of 3 s.
    expect(column('gateway.in.utilityL1.state [').at(-2)).toBe('fresh');
  });

  it('plays a sound one in TypeScript, with a module of its own beside it', () => {
    writeFileSync(
      join(folder.path, 'words.ts'),
      `export type Millivolt = number;\nexport const alive = (leg: Millivolt): boolean => leg > 100_000;\n`,
    );
    const { code, result, err } = against(
      'sound.ts',
      `import { alive, type Millivolt } from './words.ts';
interface Reading { readonly value: number; readonly state: 'fresh' | 'stale' | 'not fitted' }
type Inputs = Readonly<Record<'utilityL1' | 'utilityL2', Reading>>;
const rest: Readonly<Record<string, number>> = ${JSON.stringify(OUTPUTS_AT_REST)};
let seed = 0;
export const controller = {
  boot(given: number): void { seed = given; },
  digestState: (): string => String(seed),
  scan({ utilityL1, utilityL2 }: Inputs) {
    const legs: Millivolt[] = [utilityL1, utilityL2].map(({ value, state }) => (state === 'fresh' ? value : 0));
    return { outputs: { ...rest, relayCoil: legs.every(alive) ? 1 : 0 }, wake: 'never' as const };
  },
};\n`,
    );
    expect({ code, err: err.replace(/^deadbus.*\n/, ''), fault: result()?.controllerFault }).toEqual({
      code: 0,
      err: '',
      fault: undefined,
    });
  });

  it('refuses a module that is no controller with 2', () => {
    const { code, out, err } = against('half.mjs', 'export default { boot() {} };');
    expect({ code, out }).toEqual({ code: 2, out: '' });
    expect(err).toContain('error: --controller: module:./half.mjs: exports a default without scan or digestState;');
  });
});

describe('deadbus run --controller saboteur:…', () => {
  const FILE = 'scenarios/relay/weld-and-no-interlock.yaml';
  const run = (name: string) =>
    deadbus(['run', FILE, '--controller', `saboteur:${name}`, '--out', join(folder.path, 'saboteur')]);

  it('catches forms-on-weld with 1, names it in the reports and in the command that plays it again', () => {
    const { code, out } = run('forms-on-weld');
    expect(code).toBe(1);
    expect(out).toMatch(
      /replay +npx deadbus run \S+weld-and-no-interlock\.yaml --seed 1 --controller saboteur:forms-on-weld\b/,
    );
    const results = readFileSync(join(folder.path, 'saboteur/results.json'), 'utf8');
    expect(JSON.parse(results)).toMatchObject({ controller: 'saboteur:forms-on-weld' });
    const junit = readFileSync(join(folder.path, 'saboteur/junit.xml'), 'utf8');
    expect(junit).toContain('value="saboteur:forms-on-weld"');
  });

  it('answers a name that is none with the nearest, and 2', () => {
    const { code, err } = run('forms-on-welds');
    expect({ code, err }).toEqual({
      code: 2,
      err: 'error: --controller: there is no saboteur "forms-on-welds". Did you mean saboteur:forms-on-weld?\n',
    });
  });
});
