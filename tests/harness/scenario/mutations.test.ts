import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { writeScenario } from '../../../harness/scenario/reader/write-scenario.ts';
import { SCENARIO, SITE, tables } from './sample.ts';

const INLINE = SCENARIO.replace('site: sites/maple.yaml', () => `site:\n  ${SITE.trimEnd().replaceAll('\n', '\n  ')}`);

/** Single slips of a hand or a disk: a part taken out, doubled, moved, overwritten, or rubbish put in. */
const part = fc.tuple(fc.nat(INLINE.length - 1), fc.nat(12));
const slip = fc.oneof(
  part.map(
    ([at, length]) =>
      (text: string) =>
        text.slice(0, at) + text.slice(at + length),
  ),
  part.map(
    ([at, length]) =>
      (text: string) =>
        text.slice(0, at + length) + text.slice(at),
  ),
  fc.tuple(part, fc.nat(INLINE.length - 1)).map(
    ([[from, length], to]) =>
      (text: string) =>
        text.slice(0, to) + text.slice(from, from + length) + text.slice(to),
  ),
  fc.tuple(fc.nat(INLINE.length - 1), fc.string({ unit: 'binary', maxLength: 4 })).map(
    ([at, rubbish]) =>
      (text: string) =>
        text.slice(0, at) + rubbish + text.slice(at + rubbish.length),
  ),
  fc
    .tuple(
      fc.nat(INLINE.length - 1),
      fc.constantFrom(
        '{',
        '}',
        '[',
        ']',
        ':',
        ' ',
        '\n',
        '-',
        '"',
        "'",
        '#',
        '&a ',
        '*a',
        '!!x ',
        '0',
        '9',
        '-1',
        '.',
        '|',
        '>',
        '%',
        '\t',
        '---\n',
        '<<: ',
      ),
    )
    .map(
      ([at, mark]) =>
        (text: string) =>
          text.slice(0, at) + mark + text.slice(at),
    ),
);

const SOUND = JSON.stringify(readScenarioText(INLINE, 'f.yaml', tables()));

/** What YAML by itself makes of a text, without what carries no meaning: an overridden rating, a delay of nothing, spaces. */
const meaningOf = (text: string): string =>
  JSON.stringify(parse(text)).replace('"rated":"7.6 kW"', '').replace('"delay":"0 s",', '').replaceAll(' ', '');

describe('readScenarioText on 5,000 damaged files', () => {
  it('throws nothing, takes nothing in silence, writes and reads again what it takes, shows what it refuses', () => {
    let taken = 0;
    let refused = 0;
    let other = 0;
    const property = fc.property(fc.array(slip, { minLength: 1, maxLength: 3 }), (slips) => {
      const text = slips.reduce((each, apply) => apply(each), INLINE);
      const read = readScenarioText(text, 'f.yaml', tables());
      if ('scenario' in read) {
        taken += 1;
        // Taken for the sound file: then nothing that counts may have changed.
        if (JSON.stringify(read) === SOUND) expect(meaningOf(text)).toBe(meaningOf(INLINE));
        else other += 1;
        const again = readScenarioText(writeScenario(read.scenario, tables()), 'g.yaml', tables());
        expect('problems' in again ? problemReport(again.problems) : again).toEqual(read);
        return;
      }
      refused += 1;
      expect(read.problems.length).toBeGreaterThan(0);
      for (const { line, column, found, expected, code } of read.problems) {
        expect(line).toBeGreaterThan(0);
        expect(column).toBeGreaterThan(0);
        expect(`${found}${expected}${code}`).not.toMatch(/undefined|\[object|NaN/);
      }
      // biome-ignore lint/suspicious/noControlCharactersInRegex: none of them may reach the terminal.
      expect(problemReport(read.problems)).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f]/);
    });
    fc.assert(property, { numRuns: 5000 });
    expect(taken).toBeGreaterThan(100);
    expect(other).toBeGreaterThan(50);
    expect(refused).toBeGreaterThan(2500);
  });

  it('takes no file that has lost or gained a character of a key, a unit, an id or a word for the sound one', () => {
    const plain = INLINE.replace('override:\n  pv: { rated: 5 kW }\n', '');
    const sound = JSON.stringify(readScenarioText(plain, 'f.yaml', tables()));
    expect(sound).toMatch(/^{"scenario"/);
    // What an override replaces carries no meaning, so this file has none. Of the other words whatever becomes of one letter in them, the result is not the sound scenario.
    const words = [...plain.matchAll(/[A-Za-z][A-Za-z0-9]*/g)].filter(({ index }) => index > plain.indexOf('\n'));
    fc.assert(
      fc.property(
        fc.constantFrom(...words),
        fc.nat(20),
        fc.constantFrom('x', ''),
        ({ 0: word, index }, offset, put) => {
          const at = index + (offset % word.length);
          const text = plain.slice(0, at) + put + plain.slice(at + 1);
          fc.pre(text !== plain);
          expect(JSON.stringify(readScenarioText(text, 'f.yaml', tables()))).not.toBe(sound);
        },
      ),
      { numRuns: 1000 },
    );
  });

  it('answers to any bytes at all', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), (bytes) => {
        const read = readScenarioText(bytes, 'f.yaml', tables());
        expect('problems' in read && read.problems.length > 0).toBe(true);
      }),
      { numRuns: 300 },
    );
  });
});
