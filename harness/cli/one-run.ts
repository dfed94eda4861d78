import type { Controller } from '../../sim/gateway/boundary.ts';
import type { Telemetry } from '../../sim/telemetry.ts';
import { csvTrace } from '../report/csv.ts';
import { openNewFile } from '../report/write-file.ts';
import type { RunResult } from '../run/result.ts';
import type { Scenario } from '../scenario/model.ts';
import type { ControllerSpec } from './controller-spec.ts';
import { type Guard, guarded } from './guard.ts';
import type { Answer, Job } from './job.ts';
import { ControllerRefused, digestOfFile, loadController } from './load-controller.ts';

export interface RunOptions {
  readonly file: string;
  readonly controllerName: string;
  readonly controller: Controller;
  readonly telemetry?: (telemetry: Telemetry) => void;
}

/** The parts of a run, handed in: the runner, and the controllers that come with us. */
export interface Runner {
  runScenario(scenario: Scenario, options: RunOptions): RunResult | Promise<RunResult>;
  referenceController(scenario: Scenario): Controller;
  saboteur(id: string, scenario: Scenario): Controller;
}

/** Runs one scenario and writes its trace. Never throws: what goes wrong is the answer. */
export async function oneRun(job: Job, spec: ControllerSpec, guard: Guard, runner: Runner): Promise<Answer> {
  try {
    const controller = await attach(job.scenario, spec, guard, runner);
    const result = await recorded(job, (telemetry) =>
      runner.runScenario(job.scenario, { file: job.file, controllerName: spec.name, controller, telemetry }),
    );
    const { variant } = job;
    // The runner knows only a name; what was tried is the file.
    const controllerDigest = spec.kind === 'module' ? digestOfFile(spec.path) : result.digests.controller;
    const digests = { ...result.digests, controller: controllerDigest };
    return { kind: 'judged', result: { ...result, digests, ...(variant === undefined ? {} : { variant }) } };
  } catch (cause) {
    if (cause instanceof ControllerRefused) return { kind: 'controller refused', message: cause.message };
    const error = cause instanceof Error ? cause : new Error(String(cause));
    return { kind: 'crashed', message: `${error.name}: ${error.message}`, stack: error.stack ?? '' };
  }
}

async function attach(scenario: Scenario, spec: ControllerSpec, guard: Guard, runner: Runner): Promise<Controller> {
  if (spec.kind === 'reference') return runner.referenceController(scenario);
  if (spec.kind === 'saboteur') return runner.saboteur(spec.id, scenario);
  guard.enter('load', 0);
  try {
    return guarded(await loadController(spec.path, spec.name), guard);
  } finally {
    guard.leave();
  }
}

/** The trace takes its name only when the run has come to its end. */
async function recorded(
  job: Job,
  run: (telemetry: (telemetry: Telemetry) => void) => RunResult | Promise<RunResult>,
): Promise<RunResult> {
  if (job.tracePath === undefined) return run(() => undefined);
  const trace = openNewFile(job.tracePath);
  try {
    const result = await run(csvTrace((text) => trace.write(text)));
    trace.finish();
    return result;
  } catch (cause) {
    trace.abandon();
    throw cause;
  }
}
