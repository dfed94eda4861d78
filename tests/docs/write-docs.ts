import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';
import { consoleTable, withTable } from './console-table.ts';
import { withCounts } from './counts.ts';
import { RENDERED } from './rendered.ts';

// `npm run docs`: writes every document that is made from the code, and records the table of the README.

for (const [path, render] of Object.entries(RENDERED)) {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, render());
  console.log(path);
}
writeFileSync('README.md', withTable(withCounts(readFileSync('README.md', 'utf8')), consoleTable()));
console.log('README.md (table, counts)');
