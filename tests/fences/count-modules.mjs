// A layer check that has looked at nothing passes in silence; this one counts what it has seen.
import { execFileSync } from 'node:child_process';

const command = [
  'depcruise',
  '--config',
  'tests/fences/arrows.cjs',
  '--output-type',
  'json',
  'sim',
  'harness',
  'tests',
];
const text = execFileSync('npx', command, { encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 });
const modules = JSON.parse(text).modules.filter(({ source }) => /^(sim|harness)\//.test(source)).length;
if (modules < 20) {
  console.error(`fences: only ${modules} modules of sim/ and harness/ were looked at; expected 20 or more.`);
  process.exit(1);
}
console.log(`fences: ${modules} modules of sim/ and harness/ looked at`);
