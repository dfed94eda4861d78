import { accessSync, constants, statSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type ColourWish, coloured, plain, wantsColour } from '../report/colour.ts';
import { renderConsole } from '../report/console.ts';
import { renderJson } from '../report/json.ts';
import { renderJunit } from '../report/junit.ts';
import { type Entry, EXIT, type ExitCode, exitOf, type Report, type RuleBook } from '../report/report.ts';
import { makeFolder, removeUnfinished, writeFileWhole } from '../report/write-file.ts';
import type { Scenario } from '../scenario/model.ts';
import { type ControllerSpec, controllerSpec } from './controller-spec.ts';
import type { Io } from './io.ts';
import type { Answer, Job } from './job.ts';
import { neverCameBack } from './lost.ts';
import { askForReport } from './own-fault.ts';
import { PATIENCE, type PoolOptions, runPool } from './pool.ts';
import { noProgress, showProgress } from './progress.ts';
import { SaidOnce } from './said-once.ts';
import { type Selected, selectFiles } from './select-files.ts';
import { jobsOf, outcomeOf, worstOf } from './variants.ts';

// What is written into the folder of the reports.
const RESULTS = 'results.json';
const JUNIT = 'junit.xml';
const TRACES = 'traces';

export interface RunArguments {
  readonly seed?: number;
  readonly variant?: number;
  readonly jobs: number;
  readonly controller: string;
  readonly out: string;
  readonly color: ColourWish;
  readonly quiet: boolean;
}

/** The parts that the command is put together from, handed in. */
export interface Parts {
  readonly version: string;
  readonly packageRoot: string;
  readonly book: RuleBook;
  readonly threadFile: URL;
  /** Names of the controllers that are wrong on purpose. */
  readonly saboteurs: readonly string[];
  /** Problems come as text, each fit to be printed. */
  readScenarioFile(
    path: string,
    label: string,
  ): { readonly scenario: Scenario } | { readonly problems: readonly string[] };
}

/** `deadbus run`: reads, runs, judges, writes the files, prints the table. Returns the exit code. */
export async function run(args: readonly string[], options: RunArguments, io: Io, parts: Parts): Promise<ExitCode> {
  const { files, problems } = selectFiles(args, io.cwd, parts.packageRoot);
  const spec = controllerSpec(options.controller, io.cwd, parts.saboteurs);
  const out = resolve(io.cwd, options.out);
  const complaints = [...problems, ...(typeof spec === 'string' ? [spec] : []), ...cannotWrite(out, options.out)];
  if (complaints.length > 0 || typeof spec === 'string') {
    for (const complaint of complaints) io.err(`error: ${complaint}\n`);
    return EXIT.usersFault;
  }
  if (files.length === 0) {
    io.err(`nothing selected: no *.yaml in ${args.length === 0 ? 'the built-in suite' : args.join(', ')}\n`);
    return EXIT.nothingSelected;
  }
  removeUnfinished(out, [RESULTS, JUNIT]);
  removeUnfinished(join(out, TRACES), ['.csv'], 'and in all folders below');
  if (!options.quiet)
    io.err(
      `deadbus ${parts.version}: ${files.length} selected, controller ${spec.name}, seed ${options.seed ?? 'of each file'}\n`,
    );
  const { entries, interrupted, refusal } = await allEntries(files, spec, out, options, io, parts);
  if (refusal !== undefined) {
    io.err(`error: --controller: ${refusal}\n`);
    return EXIT.usersFault;
  }
  return publish(
    { version: parts.version, controller: spec.name, entries, selected: files.length, interrupted },
    out,
    options,
    io,
    parts.book,
  );
}

/** Before anything is run: a report that cannot be written would be told after minutes of work, as if it were our fault. */
function cannotWrite(out: string, asGiven: string): string[] {
  const isFolder = (path: string): boolean | undefined => statSync(path, { throwIfNoEntry: false })?.isDirectory();
  try {
    makeFolder(out);
    if (isFolder(out) !== true) return [`--out: ${asGiven} is no folder`];
    accessSync(out, constants.W_OK);
  } catch (cause) {
    return [
      `--out: cannot write to the folder ${asGiven}: ${cause instanceof Error ? cause.message.split(',')[0] : String(cause)}`,
    ];
  }
  const blocked = [
    ...[RESULTS, JUNIT].filter((name) => isFolder(join(out, name)) === true).map((name) => `${name} is a folder`),
    ...(isFolder(join(out, TRACES)) === false ? [`${TRACES} is no folder`] : []),
  ];
  return blocked.map((what) => `--out: in ${asGiven} ${what}; take it away, or choose another folder`);
}

interface Entries {
  readonly entries: readonly Entry[];
  readonly interrupted: boolean;
  /** The controller's module is none: nothing can be said of any scenario. */
  readonly refusal?: string;
}

async function allEntries(
  files: readonly Selected[],
  spec: ControllerSpec,
  out: string,
  options: RunArguments,
  io: Io,
  parts: Parts,
): Promise<Entries> {
  const entryOf = new Map<string, Entry>();
  const jobs: Job[] = [];
  const said = new SaidOnce();
  for (const { label, path } of files) {
    const read = parts.readScenarioFile(path, label);
    if ('problems' in read) {
      entryOf.set(label, { kind: 'refused', file: label, problems: read.problems });
      io.err(said.of(label, read.problems));
    } else {
      const scenario = options.seed === undefined ? read.scenario : { ...read.scenario, seed: options.seed };
      const own = jobsOf(label, scenario, join(out, traceName(label)), options.variant);
      if (own.length === 0) {
        const problem = `${label}: has no variant ${options.variant}`;
        entryOf.set(label, { kind: 'refused', file: label, problems: [problem] });
        io.err(`${problem}\n`);
      }
      jobs.push(...own);
    }
  }
  for (const warning of sameIds(jobs)) io.err(`warning: ${warning}\n`);
  const { answers, interrupted } = await answersOf(jobs, spec, options, io, parts);
  for (const answer of answers)
    if (answer?.kind === 'controller refused') return { entries: [], interrupted, refusal: answer.message };
  const studies = new Map<string, number[]>();
  for (const [index, { file }] of jobs.entries()) studies.set(file, [...(studies.get(file) ?? []), index]);
  const speaking: Job[] = [];
  for (const [file, indices] of studies) {
    const own = indices.map((index) => answers[index]);
    const worst = worstOf(own);
    const job = jobs[indices[worst]!]!;
    const answer = own[worst];
    if (own.includes(undefined)) continue; // Interrupted: what did not run might have been worse.
    if (answer?.kind === 'crashed') io.err(`our own fault in ${file}:\n${answer.stack || answer.message}\n`);
    if (answer === undefined || answer.kind === 'controller refused') continue;
    const variants = own.flatMap((each) => (each?.kind === 'judged' ? [outcomeOf(each.result)] : []));
    const entry = toEntry(job, answer, spec, parts.book);
    entryOf.set(file, entry.kind === 'judged' && own.length > 1 ? { ...entry, variants } : entry);
    if (own.length > 1 && answer.kind === 'judged') speaking.push({ ...job, tracePath: join(out, traceName(file)) });
  }
  if (answers.some((answer) => answer?.kind === 'crashed')) io.err(askForReport(parts.version));
  // Only the worst variant has a trace: it is run once more, which gives the same to the bit.
  if (speaking.length > 0 && !interrupted) await answersOf(speaking, spec, { ...options, quiet: true }, io, parts);
  const entries = files.flatMap(({ label }) => entryOf.get(label) ?? []);
  return { entries, interrupted };
}

/** Two files that call their scenario the same: the table cannot tell them apart, nor can who reads a report. */
function sameIds(jobs: readonly Job[]): string[] {
  const filesOf = new Map<string, Set<string>>();
  for (const { file, scenario } of jobs)
    filesOf.set(scenario.id, (filesOf.get(scenario.id) ?? new Set<string>()).add(file));
  return [...filesOf].flatMap(([id, files]) =>
    files.size < 2 ? [] : [`scenario id "${id}" stands in ${[...files].join(', ')}; give each an id of its own`],
  );
}

async function answersOf(
  jobs: readonly Job[],
  controller: ControllerSpec,
  options: RunArguments,
  io: Io,
  parts: Parts,
) {
  const progress = options.quiet ? noProgress : showProgress(jobs.length, io);
  const stop = new AbortController();
  const forget = io.onInterrupt(() => stop.abort());
  const pool: PoolOptions = {
    ...PATIENCE,
    threads: options.jobs,
    controller,
    threadFile: parts.threadFile,
    stop: stop.signal,
    printed: (text) => io.err(text),
    started: ({ scenario }) => progress.started(scenario.id),
    ended: ({ scenario }) => progress.ended(scenario.id),
  };
  const answers = await runPool(jobs, pool);
  forget();
  progress.close();
  return { answers, interrupted: stop.signal.aborted };
}

function toEntry(
  job: Job,
  answer: Exclude<Answer, { kind: 'controller refused' }>,
  spec: ControllerSpec,
  book: RuleBook,
): Entry {
  if (answer.kind === 'crashed') return { kind: 'crashed', file: job.file, message: answer.message };
  if (answer.kind === 'controller lost')
    return { kind: 'judged', result: neverCameBack(job, spec.name, answer.fault, book) };
  return { kind: 'judged', result: answer.result, trace: traceName(job.file) };
}

/** Mirrors the file's place, so that no two scenarios share a trace; a step upwards becomes a folder `up`. */
export function traceName(label: string): string {
  const steps = label.replace(/\.yaml$/, '').split('/');
  return `${TRACES}/${steps
    .map((step) => (step === '..' ? 'up' : step.replaceAll(':', '_')))
    .filter((step) => step !== '')
    .join('/')}.csv`;
}

function publish(report: Report, out: string, options: RunArguments, io: Io, book: RuleBook): ExitCode {
  writeFileWhole(join(out, RESULTS), renderJson(report, book));
  writeFileWhole(join(out, JUNIT), renderJunit(report, book));
  const paint = wantsColour(options.color, io.env, io.outIsTerminal) ? coloured : plain;
  io.out(renderConsole(report, book, { columns: io.columns, paint, out: options.out, quiet: options.quiet }));
  return exitOf(report);
}
