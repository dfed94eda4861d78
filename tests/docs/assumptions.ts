import { readFileSync } from 'node:fs';
import { LIMIT_SOURCES, limitList } from '../../harness/limits/index.ts';
import type { Grade } from '../../harness/rules/rule.ts';
import { CONSTANTS, INLINE } from './constants.ts';
import { table } from './markdown.ts';
import { allParams, defaultText, type Named, type Standing, standingOf } from './params.ts';

const INTRO = `# Assumptions: every number without a source

<!-- Written by \`npm run docs\`. Change the code, or tests/docs/, and run it again. -->

Nothing on this page was read in a published text. Where a number matters to you, measure it, look it up, or put your own in the site file.
Published sources are in [sources.md](sources.md), formulas in [physics.md](physics.md), every parameter with its default in
[equipment.md](equipment.md).

- **assumed**: chosen here. Nobody vouches for it.
- **common practice**: what the trade does without writing it down, as far as we know.
- **from memory**: somebody remembers the clause named. It was not seen while this was written.

A parameter that a file must give is no assumption of ours and is not listed. Names: \`pv.loop\` is a parameter of a kind, \`start pv.irradiance\`
a starting state, \`utility sag.duration\` what an action needs, \`settings.deadTime\` a setting of the site.
`;

/** The value of a constant as it stands in its file; an assertion where it is gone. */
export function valueIn(file: string, name: string): string {
  const found = new RegExp(`^(?:export )?const ${name}(?:: [^=]+)? = ([^;]+);`, 'm').exec(readFileSync(file, 'utf8'));
  if (found === null)
    throw new Error(`tests/docs/constants.ts: ${file} declares no constant ${name} any more; say what became of it`);
  return found[1]!.replace(/\s+/g, ' ');
}

function paramTable(standing: Standing): string {
  const rows = allParams()
    .filter(({ spec }) => standingOf(spec) === standing)
    .map(({ name, spec }: Named) => [`\`${name}\``, defaultText(spec), spec.about, spec.source]);
  return table(['parameter', 'default', 'what it is', 'said of it'], rows);
}

function limitTable(grades: readonly Grade[]): string {
  const rows = limitList()
    .filter(({ grade }) => grades.includes(grade))
    .map(({ key, about, values, document, edition, clause, grade, source }) => [
      `\`${key}\``,
      Object.entries(values as Readonly<Record<string, number>>)
        .map(([name, value]) => `${name} ${value}`)
        .join(', '),
      about,
      document === 'none'
        ? LIMIT_SOURCES[source]
        : [document, edition, clause].filter((text) => text !== '').join(', '),
      grade,
    ]);
  return table(['limit', 'values', 'what it is', 'rests on', 'grade'], rows);
}

function constantTable(standings: readonly string[]): string {
  const named = CONSTANTS.map((each) => ({ ...each, value: valueIn(each.file, each.name), shown: `\`${each.name}\`` }));
  const inline = INLINE.map((each) => ({ ...each, shown: '' }));
  const rows = [...named, ...inline]
    .filter(({ standing }) => standings.includes(standing))
    .map(({ file, shown, value, about, standing }) => [`\`${file}\``, shown, value, about, standing]);
  return table(['file', 'name', 'value', 'what it is', 'standing'], rows);
}

/** docs/assumptions.md, made from the tables of the code. */
export function renderAssumptions(): string {
  const sections: readonly (readonly [string, string])[] = [
    ['Parameters: assumed', paramTable('assumed')],
    ['Parameters: common practice', paramTable('common practice')],
    ['Parameters: from memory', paramTable('memory')],
    ['Limits that are settings of a site, or common practice', limitTable(['site setting', 'common practice'])],
    ['Limits from memory, or seen only at a weak source', limitTable(['memory', 'weak'])],
    ['Constants in the code', constantTable(['assumed', 'memory'])],
    [
      'Constants of the method',
      `These bear on accuracy and cost, not on what the equipment is.\n\n${constantTable(['numerical'])}`,
    ],
  ];
  return `${INTRO}\n${sections.map(([title, text]) => `## ${title}\n\n${text}\n`).join('\n')}`;
}
