import { readFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import { EXIT, type ExitCode } from '../report/report.ts';
import { type Io, processIo } from './io.ts';
import { askForReport } from './own-fault.ts';
import { type Parts, type RunArguments, run } from './run.ts';

const examples = `Examples:
  npx deadbus run                       the built-in suite, our own controller
  npx deadbus run my/one.yaml --seed 7  one scenario, with another seed
  npx deadbus run my/ --controller module:./my.ts
                                        a folder, with your controller
`;

const exitCodes = `
Exit codes, of several the first of 130, 3, 2, 1, 5, 4:
  0    every verdict as its file expects
  1    a verdict unlike the expected one, or a fault of the controller
  2    something is wrong with a file or an argument of yours
  3    our own fault; please report it
  4    nothing was selected
  5    a required rule was not exercised, or a run was cut short
  130  interrupted; what was finished has been written

Environment: NO_COLOR, FORCE_COLOR, COLUMNS (where no terminal tells the width).
It simulates, and proves nothing about the wires in front of you.
Live work can kill.`;

/** Everything that the command needs of the package, made when a scenario is to be run. */
export type Assemble = (packageRoot: string, version: string) => Promise<Parts>;

const assembleReal: Assemble = async (packageRoot, version) =>
  (await import('./link.ts')).assemble(packageRoot, version);

/**
 * The command line. Returns the exit code and never throws: a mistyped argument is answered with the nearest real one and 2, and whatever
 * else gets this far is our own fault, 3.
 */
export async function main(
  argv: readonly string[],
  packageRoot: URL,
  io: Io = processIo(),
  assemble = assembleReal,
): Promise<ExitCode> {
  let code: ExitCode = EXIT.asExpected;
  let known: string | undefined;
  try {
    const root = fileURLToPath(packageRoot);
    const version = versionOf(root);
    known = version;
    const program = commands(version, io, async (files, options) => {
      code = await run(files, options, io, await assemble(root, version));
    });
    await program.parseAsync(argv, { from: 'user' });
    return code;
  } catch (cause) {
    if (cause instanceof CommanderError) return cause.exitCode === 0 ? EXIT.asExpected : EXIT.usersFault;
    io.err(`our own fault: ${cause instanceof Error ? (cause.stack ?? cause.message) : String(cause)}\n`);
    io.err(askForReport(known));
    return EXIT.ourFault;
  }
}

function versionOf(root: string): string {
  const about = JSON.parse(readFileSync(`${root}/package.json`, 'utf8')) as { version: string };
  return about.version;
}

function commands(version: string, io: Io, act: (files: string[], options: RunArguments) => Promise<void>): Command {
  const program = new Command('deadbus')
    .description('A simulated home-backup site, and a conformance bench for the transfer logic that runs it.')
    .version(version, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .configureOutput({
      writeOut: io.out,
      writeErr: io.err,
      getOutHelpWidth: () => io.columns,
      getErrHelpWidth: () => io.columns,
    })
    .exitOverride()
    .addHelpText('before', examples)
    .addHelpText('after', exitCodes);
  program
    .command('run')
    .description('run scenarios and judge them; writes results.json, junit.xml and a trace of each scenario')
    .argument(
      '[FILE|FOLDER...]',
      'scenario files, or folders of them, in which site files are passed over (default: the built-in suite)',
    )
    .option('--seed <n>', 'seed for every scenario (default: that of each file)', wholeNumber('seed', 0, 0xffff_ffff))
    .option(
      '--jobs <n>',
      'scenarios run at the same time; changes no result',
      wholeNumber('jobs', 1, 256),
      availableParallelism(),
    )
    .option(
      '--variant <n>',
      'of a file with "vary" only this variant, by its number',
      wholeNumber('variant', 1, 10_000),
    )
    .option(
      '--controller <which>',
      'reference; saboteur:NAME, one that is wrong on purpose; or module:FILE, a JavaScript or TypeScript module',
      'reference',
    )
    .option('--out <dir>', 'folder for the reports', 'out')
    .addOption(
      new Option('--color <when>', 'colour on the console').choices(['auto', 'always', 'never']).default('auto'),
    )
    .option('--quiet', 'no progress and no table: only what is not as expected, and the sums', false)
    .addHelpText('before', examples)
    .addHelpText('after', exitCodes)
    .action(act);
  program
    .command('rules')
    .description('print each rule, what its limit rests on, and the scenarios that show that it works')
    .action(async () => (await import('./rules.ts')).printRules(io));
  return program;
}

function wholeNumber(what: string, least: number, most: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (/^\d+$/.test(text) && value >= least && value <= most) return value;
    throw new InvalidArgumentError(`${what} must be a whole number from ${least} to ${most}.`);
  };
}
