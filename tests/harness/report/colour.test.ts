import { describe, expect, it } from 'vitest';
import { coloured, wantsColour } from '../../../harness/report/colour.ts';

describe('wantsColour', () => {
  it.each([
    ['the option over all', 'always', { NO_COLOR: '1' }, false, true],
    ['the option over all', 'never', { FORCE_COLOR: '1' }, true, false],
    ['NO_COLOR over FORCE_COLOR', 'auto', { NO_COLOR: '1', FORCE_COLOR: '1' }, true, false],
    ['an empty NO_COLOR as none', 'auto', { NO_COLOR: '' }, true, true],
    ['FORCE_COLOR over the terminal', 'auto', { FORCE_COLOR: '1' }, false, true],
    ['FORCE_COLOR=0 over the terminal', 'auto', { FORCE_COLOR: '0' }, true, false],
    ['the terminal', 'auto', {}, true, true],
    ['no terminal', 'auto', {}, false, false],
    ['a dumb terminal', 'auto', { TERM: 'dumb' }, true, false],
  ] as const)('takes %s (%s)', (_what, wish, env, isTerminal, wanted) => {
    expect(wantsColour(wish, env, isTerminal)).toBe(wanted);
  });
});

describe('coloured', () => {
  it('puts the text back to normal after itself', () => expect(coloured('red', 'x')).toBe('\u001b[31mx\u001b[39m'));
});
