import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { MUTANTS } from './table.ts';

// Plants one mutant of the physics after the other and asks the checks against the outside whether they notice.

interface Assertion {
  readonly fullName: string;
  readonly status: string;
}
interface Report {
  readonly testResults: readonly {
    readonly name: string;
    readonly assertionResults: readonly Assertion[];
    readonly message?: string;
  }[];
}

mkdirSync('out', { recursive: true });
const only = process.argv.slice(2);
const chosen = MUTANTS.filter(({ name }) => only.length === 0 || only.includes(name));
if (chosen.length === 0) {
  console.error(`mutants: none is called ${only.join(', ')}; there are ${MUTANTS.map(({ name }) => name).join(', ')}`);
  process.exit(2);
}

/** Full names of the checks that fail under a mutant, 'unmutated' for none. */
function failing(mutant: string): string[] {
  const file = `out/mutant-${mutant}.json`;
  rmSync(file, { force: true });
  try {
    execFileSync('npx', ['vitest', 'run', '--project', 'reference', '--reporter', 'json', '--outputFile', file], {
      stdio: ['ignore', 'ignore', 'ignore'],
      env: { ...process.env, DEADBUS_MUTANT: mutant },
    });
  } catch {
    // A failing check ends vitest with 1: that is what the mutant is planted for.
  }
  const report = JSON.parse(readFileSync(file, 'utf8')) as Report;
  const checks = report.testResults.flatMap(({ assertionResults }) => assertionResults);
  if (checks.length === 0) throw new Error(`mutants: under ${mutant} no check ran`);
  return checks.filter(({ status }) => status === 'failed').map(({ fullName }) => fullName);
}

const before = failing('unmutated');
if (before.length > 0) {
  console.error(`mutants: without a mutant ${before.length} checks fail already, e.g. ${before[0]}`);
  process.exit(1);
}
let survivors = 0;
for (const { name, about } of chosen) {
  const caughtBy = failing(name);
  if (caughtBy.length === 0) survivors += 1;
  const others = caughtBy.length > 1 ? ` (+${caughtBy.length - 1} more)` : '';
  console.log(
    `${caughtBy.length > 0 ? 'caught  ' : 'SURVIVES'}  ${name}: ${about}\n          ${caughtBy[0] ?? 'no check noticed'}${others}`,
  );
}
console.log(`mutants: ${chosen.length - survivors} of ${chosen.length} caught`);
process.exit(survivors === 0 ? 0 : 1);
