import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { hang, widthOf, wrap } from '../../../harness/report/layout.ts';

describe('wrap', () => {
  it('breaks a long name after a hyphen', () => {
    expect(wrap('pv-left-on-by-hand', 11)).toEqual(['pv-left-on-', 'by-hand']);
  });
  it('breaks where the width ends when there is no seam', () => expect(wrap('abcdefgh', 5)).toEqual(['abcde', 'fgh']));
  it('lets no control character through to the terminal', () => {
    expect(wrap('a\u001b[31mb', 40).join('')).not.toContain('\u001b');
  });
  it('loses nothing and never gets wider, for any text from 5 to 30 columns', () => {
    const text = fc.array(fc.stringMatching(/^[a-z/-]{1,40}$/), { maxLength: 8 }).map((words) => words.join(' '));
    fc.assert(
      fc.property(text, fc.integer({ min: 5, max: 30 }), (given, width) => {
        const lines = wrap(given, width);
        for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
        expect(lines.join('').replaceAll(' ', '')).toBe(given.replaceAll(' ', ''));
      }),
      { numRuns: 200 },
    );
  });
});

describe('hang', () => {
  it('hangs what follows under the text', () => {
    expect(hang(2, 'found', 7, 'one two three four five', 30)).toEqual([
      '  found   one two three four',
      '          five',
    ]);
  });
});
