import { KINDS } from '../../sim/equipment/catalogue.ts';
import { type Controller, faultOfAnswer } from '../../sim/gateway/boundary.ts';
import { createRun, type Run } from '../../sim/site.ts';
import type { HappeningRecord, Telemetry } from '../../sim/telemetry.ts';
import { RULES } from '../rules/index.ts';
import type { Verdict } from '../rules/rule.ts';
import { siteFacts } from '../rules/site-facts.ts';
import type { Scenario } from '../scenario/model.ts';
import { notesOfSite } from '../scenario/site-notes.ts';
import { digestOfPlain, digestOfText, RunDigest, type Sha256 } from './digest.ts';
import { copyOfAnswer, copyOfInputs } from './handover.ts';
import { Listeners } from './listen.ts';
import type { ControllerFault, RunResult } from './result.ts';
import { StatementWatch } from './statements.ts';
import { Timeline } from './timeline.ts';

export interface RunScenarioOptions {
  /** As the reports name it. */
  readonly file: string;
  readonly controllerName: string;
  readonly controller: Controller;
  /** Sees everything the recorder sees, before the rules do. */
  readonly telemetry?: (telemetry: Telemetry) => void;
  /** For the laws: step and scan at every instant though nothing moves. */
  readonly restless?: boolean;
  readonly shuffleTies?: boolean;
  /** SHA-256 of the platform, where there is a faster one than ours: the same bits. */
  readonly sha256?: () => Sha256;
}

/**
 * Plays one scenario against one controller and judges it by every rule.
 *
 * What the controller does wrong (it throws, it answers nonsense) ends the run, and is a verdict about the controller. What
 * we do wrong is thrown.
 */
export function runScenario(scenario: Scenario, options: RunScenarioOptions): RunResult {
  const run = createRun({
    site: scenario.site,
    start: scenario.start,
    seed: scenario.seed,
    end_us: scenario.end_us,
    restless: options.restless === true,
    shuffleTies: options.shuffleTies === true,
  });
  const listeners = new Listeners();
  const digest = new RunDigest(options.sha256?.());
  const happenings: HappeningRecord[] = [];
  const verdicts: Verdict[] = [];
  let ended_us = 0;
  let complete = false;
  listeners.on(run.telemetry$, (telemetry) => {
    digest.take(telemetry);
    if (telemetry.kind === 'happening') happenings.push(telemetry);
    if (telemetry.kind === 'end') {
      ended_us = telemetry.at_us;
      complete = telemetry.complete;
    }
    options.telemetry?.(telemetry);
  });
  const facts = siteFacts(scenario.site);
  RULES.forEach((rule, i) => {
    listeners.on(run.telemetry$.pipe(rule.judge(facts)), (verdict) => {
      verdicts[i] = verdict;
    });
  });
  const timeline = new Timeline(run, scenario, listeners);
  const statements = scenario.expect.statements.map(
    (statement, i) => new StatementWatch(statement, timeline, `statement-${i + 1}`),
  );
  listeners.on(run.telemetry$, (telemetry) => {
    for (const statement of statements) statement.take(telemetry);
  });
  const fault = drive(run, listeners, options.controller, scenario.seed);
  return {
    scenario,
    file: options.file,
    controller: options.controllerName,
    verdicts,
    statements: statements.map((statement) => statement.result()),
    happenings,
    neverCame: timeline.neverCame(scenario),
    siteNotes: notesOfSite(scenario.site, KINDS),
    simulated_us: ended_us,
    complete,
    digests: {
      scenario: digestOfPlain(scenario),
      controller: digestOfText(options.controllerName),
      run: digest.hex(),
    },
    counts: run.counts,
    ...(fault === undefined ? {} : { controllerFault: fault, cutShort: 'the controller could not go on' }),
  };
}

/** Asks the controller at each stop until the run ends, or the controller does. */
function drive(run: Run, listeners: Listeners, controller: Controller, seed: number): ControllerFault | undefined {
  const wrong = (kind: 'throws' | 'nonsense', message: string): ControllerFault => {
    const at_us = run.kernel.now_us;
    run.controllerDid(kind === 'throws' ? 'throws' : 'answers nonsense');
    run.cutShort(message);
    listeners.check();
    return { kind, at_us, message };
  };
  for (;;) {
    const stop = run.next();
    listeners.check();
    if (stop.kind === 'end') return undefined;
    let answer: unknown;
    try {
      if (stop.kind === 'boot') controller.boot(seed);
      else answer = copyOfAnswer(controller.scan(copyOfInputs(stop.inputs)));
    } catch (cause) {
      return wrong('throws', cause instanceof Error ? `${cause.name}: ${cause.message}` : String(cause));
    }
    if (stop.kind === 'boot') continue;
    const nonsense = faultOfAnswer(answer, stop.inputs.now_us);
    if (nonsense !== undefined) return wrong('nonsense', nonsense);
    run.answer(answer as Parameters<Run['answer']>[0]);
  }
}
