import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { LIMIT_SOURCES, limitList } from '../../../harness/limits/index.ts';
import { allParams, type Named, standingOf } from '../../docs/params.ts';

interface Work {
  readonly key: string;
  readonly grade: string;
  readonly citedAs: readonly string[];
}

const page = readFileSync('docs/sources.md', 'utf8');
const rows = page
  .split('\n')
  .filter((line) => line.startsWith('| '))
  .map((line) => line.slice(2, -2).split(' | '));
const works: Work[] = rows
  .filter((cells) => cells[0]!.startsWith('<a id='))
  .map(([key, , grade, , cited]) => ({
    key: /`([^`]+)`/.exec(key!)![1]!,
    grade: grade!,
    citedAs: [...cited!.matchAll(/`([^`]+)`/g)].map(([, text]) => text!),
  }));
const keys = [
  ...works.map(({ key }) => key),
  ...rows
    .filter((cells) => cells.length === 2)
    .flatMap(([key]) => [...key!.matchAll(/^`([^`]+)`$/g)].map(([, text]) => text!)),
];

/** What may stand in place of a work; alone, or with a colon and a reason. */
const PHRASE = /^(assumed|common practice, no source|none|the scenario)(: .+)?$|^from memory: .+$/;
/** What looks like a key of a work or a standard in the middle of a text. */
const KEY_LIKE = /(?<![\w-])(?:ieee|iec|iso|sae|ul|ansi|nec|iti|wecc)-?\d?[\w-]*(?![\w-])/g;
const WRITTEN_OUT = /\b(?:IEEE|IEC|ISO|SAE|UL|ANSI|NEC|NFPA) [A-Z]?\d[\w.-]*/;

/** `key, clause`, remembered or not. */
function citation(part: string): { readonly key: string } | undefined {
  const key = /^(?:from memory: )?([a-z][a-z0-9-]*)(?:, .+)?$/.exec(part)?.[1];
  return key !== undefined && works.some((work) => work.key === key) ? { key } : undefined;
}

/** What is wrong with a source as the code gives it. */
function complaints(source: string): string[] {
  const strange = source.split('; ').filter((part) => citation(part) === undefined && !PHRASE.test(part));
  const unknown = strange.length > 0 ? [] : (source.match(KEY_LIKE) ?? []).filter((key) => !keys.includes(key));
  const writtenOut = WRITTEN_OUT.exec(source)?.[0];
  return [
    ...strange.map((part) => `${JSON.stringify(part)} is no key and no phrase`),
    ...unknown.map((key) => `${key} is no key`),
    ...(writtenOut === undefined ? [] : [`${JSON.stringify(writtenOut)} is written out`]),
  ];
}

/** Works that a text of the code names. */
const worksIn = (text: string): Work[] => works.filter(({ citedAs }) => citedAs.some((cited) => text.includes(cited)));

describe('docs/sources.md', () => {
  it('holds each key once, with an anchor of the same name and a grade', () => {
    expect(works.length).toBeGreaterThan(25);
    expect(keys.filter((key, i) => keys.indexOf(key) !== i)).toEqual([]);
    expect(works.filter(({ key }) => !page.includes(`<a id="${key}"></a>\`${key}\``))).toEqual([]);
    expect(works.filter(({ grade }) => !['confirmed', 'weak', 'memory', 'mixed'].includes(grade))).toEqual([]);
  });

  it('names the work behind every default that is said to have one', () => {
    const sourced = allParams().filter(({ spec }) => standingOf(spec) === 'source');
    expect(sourced.length).toBeGreaterThan(30);
    const keysIn = ({ spec }: Named) => spec.source.split('; ').flatMap((part) => citation(part)?.key ?? []);
    expect(sourced.filter((named) => keysIn(named).length === 0).map(({ name }) => name)).toEqual([]);
  });

  it('gives what each default rests on in one form: a key with its clause, or one of the phrases it states', () => {
    const odd = allParams().flatMap(({ name, spec }) =>
      standingOf(spec) === 'none' && spec.source === ''
        ? []
        : complaints(spec.source).map((what) => `${name}: ${what}`),
    );
    expect(odd).toEqual([]);
  });

  it.each([
    ['ieee-1547-2018, 4.10, Table 4', []],
    ['ropp-2000; from memory: lopes-sun-2006, 0.02', []],
    ['assumed: inside the calibration points of ul-489', []],
    ['from memory: 2 to 5 % where sources share', []],
    ['ieee1547-2018', ['"ieee1547-2018" is no key and no phrase']],
    ['ieee-1547-2018: Table 4', ['"ieee-1547-2018: Table 4" is no key and no phrase']],
    ['from memory: iec-61851, within 3 s', ['iec-61851 is no key']],
    ['assumed: within the 5 s of IEC 61851-1', ['"IEC 61851-1" is written out']],
    ['assumed, as usual', ['"assumed, as usual" is no key and no phrase']],
    ['ropp-2000; somebody said so', ['"somebody said so" is no key and no phrase']],
    ['', ['"" is no key and no phrase']],
  ])('takes or refuses %j as a source', (source, said) => expect(complaints(source)).toEqual(said));

  it('names every text in which a limit was seen, and every document that a limit is from', () => {
    expect(Object.keys(LIMIT_SOURCES).filter((key) => !keys.includes(key))).toEqual([]);
    const documents = new Set(limitList().map(({ document }) => document));
    for (const none of ['none', 'sync-check relays']) documents.delete(none);
    expect([...documents].filter((document) => worksIn(document).length === 0)).toEqual([]);
  });
});
