import { writeFileSync } from 'node:fs';
import type { Figure } from './figure.ts';
import { FIGURES } from './figures.ts';

// `npm run bench [-- --json FILE] [-- --only NAME]`: one line a figure, `name value unit`, ratios measured in this run.

const argument = (name: string): string | undefined => {
  const at = process.argv.indexOf(name);
  return at < 0 ? undefined : process.argv[at + 1];
};

const only = argument('--only');
const chosen = FIGURES.filter(({ names }) => only === undefined || names.some((name) => name === only));
if (chosen.length === 0) {
  console.error(`bench: no figure is called ${only}; there are ${FIGURES.flatMap(({ names }) => names).join(', ')}`);
  process.exit(2);
}
const measured: Figure[] = [];
for (const { measure } of chosen) {
  for (const figure of await measure()) {
    measured.push(figure);
    const target = figure.target === undefined ? '' : `   (target ${figure.target})`;
    console.log(`${figure.name} ${figure.value} ${figure.unit}${target}`);
  }
}
const file = argument('--json');
if (file !== undefined) writeFileSync(file, `${JSON.stringify(measured, undefined, 2)}\n`);
