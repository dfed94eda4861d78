import { readFileSync } from 'node:fs';
import { RULES } from '../../harness/rules/index.ts';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { builtinFiles } from '../helpers/builtin.ts';
import { scenarioFile } from '../helpers/sites.ts';

/** The README with the numbers of what there is put right; each must be found once at least, or a rewording would lose it. */
export function withCounts(readme: string): string {
  const scenarios = builtinFiles().map(scenarioFile);
  const sites = new Set(
    builtinFiles().flatMap((file) => /site: (\S+\.yaml)$/m.exec(readFileSync(file, 'utf8'))?.slice(1) ?? []),
  );
  const shown = scenarios.filter(({ expect: { fail } }) => fail.length > 0).length;
  const counts: readonly (readonly [RegExp, string])[] = [
    [/\d+ kinds of equipment/g, `${KINDS.length} kinds of equipment`],
    [/\d+ built-in scenarios/g, `${scenarios.length} built-in scenarios`],
    [/\d+ sites/g, `${sites.size} sites`],
    [/measures \d+ rules/g, `measures ${RULES.length} rules`],
    [/\d+ of the built-in scenarios are there/g, `${shown} of the built-in scenarios are there`],
  ];
  let text = readme;
  for (const [pattern, right] of counts) {
    if (text.match(pattern) === null) throw new Error(`README.md: nothing like "${right}"`);
    text = text.replace(pattern, right);
  }
  return text;
}
