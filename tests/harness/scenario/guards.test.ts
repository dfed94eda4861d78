import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { problemLine } from '../../../harness/scenario/reader/problem.ts';
import { readScenarioFile } from '../../../harness/scenario/reader/read-file.ts';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { changed, SCENARIO, SITE, tables } from './sample.ts';

const lines = (content: string | Uint8Array) => {
  const read = readScenarioText(content, 'f.yaml', tables());
  return 'problems' in read ? read.problems.map(problemLine) : [];
};
const bytes = (...parts: (string | number[])[]) => Buffer.concat(parts.map((part) => Buffer.from(part as string)));

/** Nine levels of nine aliases each: some 400 million values from 400 characters. */
const bomb = ['a: &a [x, x, x, x, x, x, x, x, x]']
  .concat(
    [...'bcdefghi'].map((name, index) => `${name}: &${name} [${Array(9).fill(`*${'abcdefgh'[index]}`).join(', ')}]`),
  )
  .join('\n');

describe('readScenarioText on what is no scenario', () => {
  it('refuses 10 MB of YAML by its size', () => {
    const expected = [
      'f.yaml:1:1: found more than 1 MB; expected a file of 1 MB at most. Take out what is not needed, or split it into several scenarios. [SCN-SIZE]',
    ];
    expect(lines('key: value\n'.repeat(950_000))).toEqual(expected);
    expect(lines(Buffer.alloc(10_000_000, 'key: value\n'))).toEqual(expected);
  });

  it('refuses a small file with too many marks, before it is parsed', () => {
    expect(lines('[]'.repeat(400_000))[0]).toMatch(/^f\.yaml:1:\d+: found more than 150000 marks;.*\[SCN-SIZE\]$/);
    expect(lines(']\n'.repeat(400_000))[0]).toMatch(/\[SCN-SIZE\]$/);
  });

  it.each([
    ['{'.repeat(900_000)],
    ['['.repeat(900_000)],
    ['{a: '.repeat(200_000)],
    ['- '.repeat(400_000)],
    ['? '.repeat(400_000)],
    [Array.from({ length: 400 }, (_, depth) => `${' '.repeat(depth)}a:`).join('\n')],
    [`a: '}'\nb: ${'[ "]" '.repeat(60)}`],
  ])('refuses what is nested too deep: %.12s', (text) => {
    expect(lines(text)[0]).toMatch(
      /found lists and mappings nested too deep; expected at most 40 inside each other\. \[SCN-NEST\]$/,
    );
  });

  it('refuses an alias bomb, an alias of nothing, and one of itself', () => {
    expect(lines(bomb)[0]).toMatch(
      /found aliases that stand for too much; expected at most 100 aliases .*\[SCN-ALIAS\]$/,
    );
    expect(lines(changed(SCENARIO, '[hand, pv]', '*nothing'))).toContain(
      'f.yaml:4:7: found alias "*nothing"; expected an anchor of that name above it. [SCN-ALIAS]',
    );
    expect(lines(changed(SCENARIO, '[hand, pv]', '&me [*me]'))[0]).toContain('SCN-ALIAS');
  });

  it('refuses binary rubbish and says where it begins', () => {
    expect(lines(bytes('scenario: x\n', [0xff, 0xfe, 0x80]))).toEqual([
      'f.yaml:2:1: found bytes that are no UTF-8; expected a YAML file in UTF-8. Is it the right file? [SCN-TEXT]',
    ]);
    expect(lines('scenario: \u0000x\n')).toEqual([
      'f.yaml:1:11: found control character U+0000; expected a YAML file in UTF-8. Is it the right file? [SCN-TEXT]',
    ]);
    expect(lines('title: \ud800')[0]).toContain('SCN-TEXT');
    const noise = Uint8Array.from({ length: 50_000 }, (_, index) => (index * 7919 + (index >> 3)) % 256);
    expect(lines(noise)).toHaveLength(1);
  });

  it('refuses a file with nothing in it, a list, and a single word', () => {
    expect(lines('')).toEqual(['f.yaml:1:1: found an empty file; expected a mapping. [SCN-YAML]']);
    expect(lines('# only this\n')[0]).toContain('an empty file');
    expect(lines('- a\n- b\n')[0]).toMatch(/found a list; expected a mapping with scenario, title, .*\[SCN-VALUE\]$/);
    expect(lines('hello')[0]).toMatch(/found "hello"; expected a mapping with/);
  });

  it('lets no control character through to the terminal', () => {
    const read = lines(changed(SCENARIO, 'end: 20 s', 'end: "\\e[31m20"'));
    expect(read[0]).toContain('found "·[31m20"');
  });

  it('reports twenty of many unknown keys, and names no neighbour of an endless one', () => {
    const keys = Array.from({ length: 5000 }, (_, index) => `key${index}: 1`).join('\n');
    expect(lines(keys).filter((line) => line.includes('SCN-KEY'))).toHaveLength(20);
    expect(lines(`${'k'.repeat(1000)}: 1`).find((line) => line.includes('SCN-KEY'))).toMatch(
      /found unknown key "k{57}…"; .* \[SCN-KEY\]$/,
    );
  });

  it('takes a key named like a part of the language as any other', () => {
    for (const key of ['__proto__', 'constructor', 'toString', '<<']) {
      expect(lines(`${SCENARIO}${key}: { a: 1 }\n`)[0]).toContain(`found unknown key "${key}"`);
    }
    expect(lines(changed(SCENARIO, 'do: main open', 'do: main constructor'))[0]).toContain('SCN-REF');
  });
});

describe('readScenarioFile', () => {
  it('reads a scenario with the site file beside it, and tells of files that are not there', () => {
    const folder = mkdtempSync(join(tmpdir(), 'deadbus-'));
    try {
      writeFileSync(join(folder, 'sun.yaml'), changed(SCENARIO, 'sites/maple.yaml', 'maple.yaml'));
      const path = join(folder, 'sun.yaml');
      const lost = readScenarioFile(path, 'sun.yaml', tables());
      expect('problems' in lost ? lost.problems[0] : '').toMatch(
        /^sun\.yaml:5:7 site: found "maple\.yaml", which cannot be read/,
      );
      writeFileSync(join(folder, 'maple.yaml'), SITE);
      const read = readScenarioFile(path, 'sun.yaml', tables());
      expect('scenario' in read ? read.scenario.site.id : read.problems.join('\n')).toBe('maple-street-4');
      const none = readScenarioFile(join(folder, 'no.yaml'), 'no.yaml', tables());
      expect(none).toEqual({ problems: ['no.yaml: cannot be read (ENOENT: no such file or directory). [SCN-SITE]'] });
      writeFileSync(path, 'a: b\n'.repeat(400_000));
      const huge = readScenarioFile(path, 'sun.yaml', tables());
      expect('problems' in huge ? huge.problems[0] : '').toContain('SCN-SIZE');
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
