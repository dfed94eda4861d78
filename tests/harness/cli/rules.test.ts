import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { Io } from '../../../harness/cli/io.ts';
import { main } from '../../../harness/cli/main.ts';
import { printRules, renderRules } from '../../../harness/cli/rules.ts';
import { RULES } from '../../../harness/rules/index.ts';
import type { Proof } from '../../../harness/rules/proofs.ts';

const rule = {
  id: 'cease-on-island',
  about: 'Every following source leaves in time.',
  limit: 'ieee-1547-2018.island.clear',
};
const own = { id: 'one-hand', about: 'Nobody forms behind an open main.', limit: 'own.hand.forming' };
const whole: Proof = {
  inside: 'near/a',
  beyond: 'near/b',
  alone: { saboteur: 'runs-late', scenario: 'outage/evening' },
};

/** What is printed of one rule: all lines up to the empty one. */
const linesOf = (proof: Proof, columns: number, of = rule): string[] => {
  const lines = renderRules([of], { [of.id]: proof }, columns);
  return lines.slice(0, lines.indexOf(''));
};

describe('renderRules', () => {
  it('prints rule, clause and grade, and the three names side by side on 140 columns, and what must hold below', () => {
    expect(linesOf(whole, 140)).toEqual([
      'rule             limit                          inside                         beyond                         caught alone',
      'cease-on-island  IEEE 1547, 8.1.1 (confirmed)   near/a                         near/b                         saboteur runs-late in',
      '                                                                                                              outage/evening',
      '    Every following source leaves in time.',
    ]);
  });

  it('prints a block of its own for each rule on 80 columns', () => {
    expect(linesOf(whole, 80)).toEqual([
      'cease-on-island',
      '    limit: IEEE 1547, 8.1.1 (confirmed)',
      '    inside: near/a',
      '    beyond: near/b',
      '    caught alone: saboteur runs-late in outage/evening',
      '    Every following source leaves in time.',
    ]);
  });

  it('says what a limit without a document rests on', () => {
    expect(linesOf(whole, 80, own)[1]).toBe('    limit: Chosen for this project; no published figure (site setting)');
  });

  it('says "not built" in each empty place', () => {
    expect(linesOf({}, 80).slice(2, 5)).toEqual([
      '    inside: not built',
      '    beyond: not built',
      '    caught alone: not built',
    ]);
    expect(linesOf({ alone: { scenario: 'near/b' } }, 80).slice(2, 5)).toEqual([
      '    inside: not built',
      '    beyond: not built',
      '    caught alone: near/b',
    ]);
  });

  it('says the reason instead, where one is given', () => {
    const because = 'nothing is measured';
    expect(linesOf({ because, alone: { scenario: 'near/b' } }, 80).slice(2)).toEqual([
      '    inside: nothing is measured',
      '    beyond: nothing is measured',
      '    caught alone: near/b',
      '    Every following source leaves in time.',
    ]);
    expect(linesOf({ ...whole, because }, 80).slice(-2)).toEqual([
      '    Every following source leaves in time.',
      '    inside: nothing is measured',
    ]);
  });

  it('counts what is built: three names, or a reason for each that is missing', () => {
    const last = (proof: Proof): string | undefined => renderRules([rule], { [rule.id]: proof }, 80).at(-1);
    const { inside: _inside, ...more } = whole;
    expect([whole, more, { ...more, because: 'nothing is measured' }, {}].map(last)).toEqual([
      '1 rules, 1 built',
      '1 rules, 0 built',
      '1 rules, 1 built',
      '1 rules, 0 built',
    ]);
  });

  it.each([40, 80, 121, 200])('keeps within %i columns', (columns) => {
    const proof = { ...whole, inside: 'near/a-name-that-is-much-longer-than-any-column-that-we-shall-ever-print' };
    expect(renderRules([rule, own], { [rule.id]: proof }, columns).filter((line) => line.length > columns)).toEqual([]);
  });
});

async function deadbus(argv: readonly string[]) {
  let [out, err] = ['', ''];
  const io: Pick<Io, 'out' | 'err' | 'columns'> = {
    out: (text) => {
      out += text;
    },
    err: (text) => {
      err += text;
    },
    columns: 80,
  };
  const assemble = (): never => {
    throw new Error('nothing is run');
  };
  const code = await main(argv, pathToFileURL(`${process.cwd()}/`), io as Io, assemble);
  return { code, out, err };
}

describe('deadbus rules', () => {
  it('prints each rule with its names, in their order, and ends with 0', async () => {
    const { code, out, err } = await deadbus(['rules']);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const ids = new Set(RULES.map(({ id }) => id));
    expect(out.split('\n').filter((line) => ids.has(line))).toEqual([...ids]);
    expect(out).toContain('\n    beyond: near/no-backfeed-beyond\n');
    let printed = '';
    printRules({
      out: (text) => {
        printed += text;
      },
      columns: 80,
    });
    expect(out).toBe(printed);
  });

  it('takes no argument: 2', async () => {
    const { code, out, err } = await deadbus(['rules', 'no-backfeed']);
    expect({ code, out }).toEqual({ code: 2, out: '' });
    expect(err).toContain('too many arguments');
  });
});
