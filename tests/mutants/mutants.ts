import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { FIVE_PERCENT } from './five-percent.ts';
import { MUTANTS, type Mutant } from './table.ts';

// Plants one mutant of the physics after the other and asks the checks against the outside whether they notice. `five-percent`
// plants the other table: one parameter of each kind of equipment, 5 % off, and asks the one file of checks that must notice.

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
/** A mutant, and the file of checks that must notice it; undefined: any. */
type Chosen = Mutant & { readonly check?: string };
const all: readonly Chosen[] = [...MUTANTS, ...FIVE_PERCENT];
const chosen: readonly Chosen[] =
  only.length === 0
    ? MUTANTS
    : only.includes('five-percent')
      ? FIVE_PERCENT
      : all.filter(({ name }) => only.includes(name));
if (chosen.length === 0) {
  const names = all.map(({ name }) => name).join(', ');
  console.error(`mutants: none is called ${only.join(', ')}; there are five-percent, ${names}`);
  process.exit(2);
}

/** Full names of the checks that fail under a mutant, 'unmutated' for none. */
function failing(mutant: string, check?: string): string[] {
  const file = `out/mutant-${mutant}.json`;
  rmSync(file, { force: true });
  try {
    const files = check === undefined ? [] : [`tests/reference/${check}.test.ts`];
    const report = ['--reporter', 'json', '--outputFile', file];
    execFileSync('npx', ['vitest', 'run', '--project', 'reference', ...report, ...files], {
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
for (const { name, about, check } of chosen) {
  const caughtBy = failing(name, check);
  if (caughtBy.length === 0) survivors += 1;
  const others = caughtBy.length > 1 ? ` (+${caughtBy.length - 1} more)` : '';
  console.log(
    `${caughtBy.length > 0 ? 'caught  ' : 'SURVIVES'}  ${name}: ${about}\n          ${caughtBy[0] ?? 'no check noticed'}${others}`,
  );
}
console.log(`mutants: ${chosen.length - survivors} of ${chosen.length} caught`);
process.exit(survivors === 0 ? 0 : 1);
