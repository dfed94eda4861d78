import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, normalize } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { lamp } from '../../docs/lamp.ts';
import { fencedBlocks, fragmentsOf, linksIn } from '../../docs/markdown.ts';
import { TABLES } from '../../helpers/sites.ts';
import { Rig } from '../../sim/equipment/rig.ts';
import { currentSource } from '../../sim/equipment/rig-devices.ts';

const pages = [
  'README.md',
  'DEVELOPERS.md',
  ...readdirSync('docs', { recursive: true, encoding: 'utf8' })
    .map((path) => `docs/${path.replaceAll('\\', '/')}`)
    .filter((path) => path.endsWith('.md'))
    .sort(),
];
const read = (path: string): string => readFileSync(path, 'utf8');

/** Links of a page that lead nowhere. */
function broken(page: string, text: string): string[] {
  return linksIn(text).filter((target) => {
    if (/^https?:\/\//.test(target)) return false;
    const [path = '', fragment] = target.split('#');
    const file = path === '' ? page : normalize(join(dirname(page), path)).replaceAll('\\', '/');
    if (!existsSync(file)) return true;
    return fragment !== undefined && !fragmentsOf(read(file)).has(fragment);
  });
}

describe('pages', () => {
  it.each(pages)('%s: every link leads to a file and a heading that are there', (page) => {
    expect(broken(page, read(page))).toEqual([]);
  });

  it('and a link that does not is found', () => {
    const text = '[a](docs/physics.md#nowhere) [b](docs/none.md) [c](docs/sources.md#nec) `[d](e)`';
    expect(broken('README.md', text)).toEqual(['docs/physics.md#nowhere', 'docs/none.md']);
  });

  it('name no file of the code or the tests that is not there', () => {
    const files = /`((?:sim|harness|tests|docs|scenarios|\.ci)\/[\w./-]+\.\w+)`/g;
    const gone = pages.flatMap((page) =>
      [...read(page).matchAll(files)].map(([, path]) => path!).filter((path) => !existsSync(path)),
    );
    expect(gone).toEqual([]);
  });

  it('name no script that package.json has not', () => {
    const { scripts } = JSON.parse(read('package.json')) as { scripts: Record<string, string> };
    const named = pages.flatMap((page) =>
      [...read(page).matchAll(/\bnpm (?:run )?(start|test|(?<=run )[\w-]+)/g)].map(([, name]) => name!),
    );
    expect(new Set(named).size).toBeGreaterThan(5);
    expect(named.filter((name) => scripts[name] === undefined)).toEqual([]);
  });

  const scenarios = pages.flatMap((page) =>
    fencedBlocks(read(page))
      .filter(({ language, text }) => language === 'yaml' && /^scenario:/m.test(text))
      .map(({ text }): [string, string] => [page, text]),
  );

  it.each(scenarios)('%s: its scenario is read without a complaint', (_, text) => {
    // Site files are named as from docs/examples/, where a scenario of a page stands as a file.
    const loadSite = (site: string): string => read(normalize(join('docs/examples', site)));
    expect(readScenarioText(text, 'page.yaml', { ...TABLES, loadSite })).not.toHaveProperty('problems');
  });
});

describe('README.md', () => {
  const readme = read('README.md');

  it('has a scenario of ten lines that is docs/examples/first.yaml', () => {
    const [first] = fencedBlocks(readme).filter(({ language }) => language === 'yaml');
    expect(first!.text).toBe(read('docs/examples/first.yaml'));
    const lines = first!.text.trimEnd().split('\n');
    expect(lines.filter((line) => !line.startsWith('#'))).toHaveLength(10);
  });

  it('shows editors the way from that file to its schema', () => {
    const [, schema = ''] = /^# yaml-language-server: \$schema=(\S+)\n/.exec(read('docs/examples/first.yaml')) ?? [];
    expect(normalize(join('docs/examples', schema))).toBe(normalize('docs/schemas/scenario.schema.json'));
  });

  it('asks for the Node that package.json asks for', () => {
    const { engines } = JSON.parse(read('package.json')) as { engines: { node: string } };
    expect(readme).toContain(`Node ${engines.node.replace(/^>=/, '').replace(/\.0$/, '')} or newer`);
  });
});

describe('DEVELOPERS.md', () => {
  const [block] = fencedBlocks(read('DEVELOPERS.md')).filter(({ language }) => language === 'ts');
  /** Order of imports differs with the folder; the rest is the same to the letter. */
  const parts = (code: string): readonly [string[], string] => {
    const lines = code.split('\n');
    return [
      lines.filter((line) => line.startsWith('import ')).sort(),
      lines.filter((line) => !line.startsWith('import ')).join('\n'),
    ];
  };

  it('shows the lamp of tests/docs/lamp.ts, which compiles', () => {
    const moved = block!.text
      .replaceAll("from '../", "from '../../sim/")
      .replace("from './piece.ts'", "from '../../sim/equipment/piece.ts'");
    expect(parts(moved)).toEqual(parts(read('tests/docs/lamp.ts')));
  });

  it('whose 100 W at 120 V are 144 ohm: 0.5 A stands at 72 V', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind: lamp, id: 'porch', at: ['house'] }],
      devices: (wiring) => {
        const { index, L1, N } = wiring.bus('house');
        return [currentSource(index, L1, N, 0.5, true)];
      },
    });
    rig.run(100_000);
    expect(rig.volts('house', 'L1', 'N')).toBeCloseTo(72, 1);
    rig.happen('porch', 'off');
    expect(rig.value('porch.on')).toBe(0);
  });
});
