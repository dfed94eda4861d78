import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { LIMIT_SOURCES, limitList } from '../../../harness/limits/index.ts';
import { allParams, standingOf } from '../../docs/params.ts';

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
    expect(
      sourced
        .filter(({ spec }) => worksIn(spec.source).length === 0)
        .map(({ name, spec }) => `${name}: ${spec.source}`),
    ).toEqual([]);
  });

  it('names every text in which a limit was seen, and every document that a limit is from', () => {
    expect(Object.keys(LIMIT_SOURCES).filter((key) => !keys.includes(key))).toEqual([]);
    const documents = new Set(limitList().map(({ document }) => document));
    for (const none of ['none', 'sync-check relays']) documents.delete(none);
    expect([...documents].filter((document) => worksIn(document).length === 0)).toEqual([]);
  });
});
