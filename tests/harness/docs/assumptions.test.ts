import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { limitList } from '../../../harness/limits/index.ts';
import { valueIn } from '../../docs/assumptions.ts';
import { CONSTANTS, INLINE, NOT_ASSUMED } from '../../docs/constants.ts';
import { allParams, standingOf } from '../../docs/params.ts';

const page = readFileSync('docs/assumptions.md', 'utf8');
const isListed = (name: string): boolean => page.includes(`| \`${name}\` |`);

const filesOf = (folder: string): string[] =>
  readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .map((path) => `${folder}/${path.replaceAll('\\', '/')}`)
    .filter((path) => path.endsWith('.ts') && !path.startsWith('sim/maths'))
    .sort();

/** `file name` of each constant at the top of a file that is declared with a digit in its value and is no text, list or function. */
function topLevelNumbers(): string[] {
  const declared = /^(?:export )?const ([A-Z]\w*)(?:: \w+)? = [^'"`{[(\n]*\d/gm;
  return [...filesOf('sim'), ...filesOf('harness/rules')].flatMap((file) =>
    [...readFileSync(file, 'utf8').matchAll(declared)].map(([, name]) => `${file} ${name}`),
  );
}

describe('docs/assumptions.md', () => {
  it('lists every default that is assumed, common practice or from memory', () => {
    const owed = allParams().filter(({ spec }) => ['assumed', 'common practice', 'memory'].includes(standingOf(spec)));
    expect(owed.length).toBeGreaterThan(200);
    expect(
      owed.map(({ name }) => name).filter((name) => !isListed(name)),
      'missing: run npm run docs',
    ).toEqual([]);
  });

  it('lists every limit that is not confirmed', () => {
    const owed = limitList().filter(({ grade }) => grade !== 'confirmed');
    expect(owed.length).toBeGreaterThan(30);
    expect(
      owed.map(({ key }) => key).filter((key) => !isListed(key)),
      'missing: run npm run docs',
    ).toEqual([]);
  });

  it('says of every number at the top of a file of sim/ and of the rules what it is', () => {
    const said = new Set([...CONSTANTS.map(({ file, name }) => `${file} ${name}`), ...NOT_ASSUMED]);
    const found = topLevelNumbers();
    expect(found.length).toBeGreaterThan(50);
    expect(
      found.filter((each) => !said.has(each)),
      'say in tests/docs/constants.ts where it comes from',
    ).toEqual([]);
    expect(
      [...NOT_ASSUMED].filter((each) => !found.includes(each)),
      'no longer there: tests/docs/constants.ts',
    ).toEqual([]);
  });

  it('takes the value of a constant from the code, and notices one that is gone', () => {
    expect(valueIn('sim/network/wiring.ts', 'POLE_CLOSED_S')).toBe('1e3');
    expect(() => valueIn('sim/network/wiring.ts', 'POLE_SHUT_S')).toThrow('declares no constant POLE_SHUT_S');
  });

  it.each(INLINE)('$file: $about, $value', ({ file, holds }) => {
    expect(readFileSync(file, 'utf8').includes(holds), `changed: ${holds}`).toBe(true);
  });
});

describe('standingOf', () => {
  const spec = { name: 'x', unit: '1', about: 'X.', default: 1 } as const;
  it.each([
    ['assumed: one to two cycles', 'assumed'],
    ['common practice, no source', 'common practice'],
    ['from memory: iec-60947-4-1, 0.85', 'memory'],
    ['ieee-1547-2018, Table 16', 'source'],
    ['none: a sound inverter has none', 'none'],
  ])('"%s" is %s', (source, standing) => expect(standingOf({ ...spec, source })).toBe(standing));

  it('a parameter that a file must give states no number of ours', () => {
    const { default: _, ...needed } = spec;
    expect(standingOf({ ...needed, source: 'assumed' })).toBe('none');
  });
});
