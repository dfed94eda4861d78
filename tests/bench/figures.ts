import { createHash, type Hash } from 'node:crypto';
import { Observable, Subject } from 'rxjs';
import { generateScenario } from '../../harness/campaign/generate.ts';
import { RULES } from '../../harness/rules/index.ts';
import type { Rule } from '../../harness/rules/rule.ts';
import type { RunResult } from '../../harness/run/result.ts';
import { runScenario } from '../../harness/run/run-scenario.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';
import { PhasorLevel } from '../../sim/network/phasor-level.ts';
import { Recorder } from '../../sim/site/recorder.ts';
import { createRun } from '../../sim/site.ts';
import type { Telemetry } from '../../sim/telemetry.ts';
import { type SimUs, US_PER_S } from '../../sim/units.ts';
import { siteOf } from '../helpers/sites.ts';
import type { Figure } from './figure.ts';
import { jobsTwoOverOne } from './jobs.ts';
import { memoryGrowth } from './memory-growth.ts';
import { medianWork } from './work.ts';

interface Measurement {
  readonly names: readonly string[];
  readonly measure: () => Figure[] | Promise<Figure[]>;
}

const round = (value: number, digits = 3): number => Number(value.toPrecision(digits));

/** One line a figure; each measured in this process, so that ratios compare like with like. */
export const FIGURES: readonly Measurement[] = [
  { names: ['phasor-solves-per-s'], measure: solvesPerSecond },
  {
    names: [
      'run-over-bare-solver',
      'share-solver',
      'share-equipment',
      'share-controller',
      'share-rules',
      'share-trace',
    ],
    measure: runOverBareSolver,
  },
  {
    names: ['work-per-happening-solves', 'work-per-happening-scans', 'work-per-happening-frames'],
    measure: workPerHappening,
  },
  { names: ['long-outage-over-short'], measure: longOutageOverShort },
  { names: ['jobs2-over-jobs1'], measure: jobsTwoOverOne },
  { names: ['memory-growth-20k'], measure: memoryGrowth },
];

/** As the command line has it. */
const sha256 = (): Hash => createHash('sha256');

function play(scenario: Scenario): RunResult {
  return runScenario(scenario, {
    file: 'bench',
    controllerName: 'reference',
    controller: createReferenceController(scenario.site),
    sha256,
  });
}

function seconds(work: () => void): number {
  const start = performance.now();
  work();
  return (performance.now() - start) / 1000;
}

/** Calls of a method, timed from outside: the simulator itself never sees a wall clock. */
function timed(prototype: object, method: string): { seconds: number; restore(): void } {
  const methods = prototype as Record<string, (...args: unknown[]) => unknown>;
  const original = methods[method]!;
  const sum = {
    seconds: 0,
    restore(): void {
      methods[method] = original;
    },
  };
  methods[method] = function (this: unknown, ...args: unknown[]): unknown {
    const start = performance.now();
    try {
      return original.apply(this, args);
    } finally {
      sum.seconds += (performance.now() - start) / 1000;
    }
  };
  return sum;
}

/** Solutions a second of a site on the grid whose sources move, so that each is a new one. */
function solvesPerSecond(): Figure[] {
  const scenario = generateScenario(siteOf('juniper-lane'), 1, 1);
  let level: PhasorLevel | undefined;
  const original = PhasorLevel.prototype.solve;
  PhasorLevel.prototype.solve = function (this: PhasorLevel, h_s: number, now_us: number): void {
    level = this;
    original.call(this, h_s, now_us);
  };
  createRun({ site: scenario.site, start: {}, seed: 1, end_us: US_PER_S as SimUs }).next();
  PhasorLevel.prototype.solve = original;
  const solve = (times: number): number =>
    seconds(() => {
      for (let i = 0; i < times; i += 1) level!.solve(0, 0);
    });
  solve(5_000);
  const times = 30_000;
  return [{ name: 'phasor-solves-per-s', value: round(times / solve(times)), unit: '1/s' }];
}

function generated(count: number): Scenario[] {
  return Array.from({ length: count }, (_, i) => generateScenario(siteOf('juniper-lane'), 1000 + i, 10));
}

interface Round {
  readonly whole_s: number;
  readonly instrumented_s: number;
  readonly solver_s: number;
  readonly equipment_s: number;
  readonly controller_s: number;
  readonly rules_s: number;
  readonly trace_s: number;
}

/** The whole run over the solutions alone, and who takes the rest. Of three rounds the fastest: whatever else the machine does only adds. */
function runOverBareSolver(): Figure[] {
  const scenarios = generated(12);
  for (const scenario of scenarios.slice(0, 3)) play(scenario);
  const rounds = [1, 2, 3].map(() => oneRound(scenarios));
  const best = rounds.reduce((a, b) => (b.instrumented_s < a.instrumented_s ? b : a));
  const whole_s = Math.min(...rounds.map((round) => round.whole_s));
  const solver_s = Math.min(...rounds.map((round) => round.solver_s));
  const share = (name: string, part_s: number): Figure => ({
    name,
    value: round(part_s / best.instrumented_s),
    unit: '1',
  });
  return [
    { name: 'run-over-bare-solver', value: round(whole_s / solver_s), unit: '1', target: '<= 2.5' },
    share('share-solver', best.solver_s),
    share('share-equipment', best.equipment_s),
    share('share-controller', best.controller_s),
    share('share-rules', best.rules_s),
    share('share-trace', best.trace_s),
  ];
}

function oneRound(scenarios: readonly Scenario[]): Round {
  const whole_s = seconds(() => {
    for (const scenario of scenarios) play(scenario);
  });
  const solver = timed(PhasorLevel.prototype, 'solve');
  const advance = timed(PhasorLevel.prototype, 'advance');
  const accept = timed(PhasorLevel.prototype, 'accept');
  const recorder = timed(Recorder.prototype, 'frame');
  const rules = timedRules();
  let controller_s = 0;
  const instrumented_s = seconds(() => {
    for (const scenario of scenarios) {
      const inner = createReferenceController(scenario.site);
      const controller = {
        boot: (seed: number) => inner.boot(seed),
        digestState: () => inner.digestState(),
        scan: (inputs: Parameters<typeof inner.scan>[0]) => {
          const start = performance.now();
          const answer = inner.scan(inputs);
          controller_s += (performance.now() - start) / 1000;
          return answer;
        },
      };
      runScenario(scenario, { file: 'bench', controllerName: 'reference', controller, sha256 });
    }
  });
  for (const sum of [solver, advance, accept, recorder, rules]) sum.restore();
  return {
    whole_s,
    instrumented_s,
    solver_s: solver.seconds,
    equipment_s: advance.seconds + accept.seconds,
    controller_s,
    rules_s: rules.seconds,
    trace_s: Math.max(0, recorder.seconds - rules.seconds),
  };
}

/** Every rule on a stream of its own, timed at its door. */
function timedRules(): { seconds: number; restore(): void } {
  const rules = [...RULES] as { judge: Rule['judge'] }[];
  const originals = rules.map(({ judge }) => judge);
  const sum = {
    seconds: 0,
    restore(): void {
      for (const [i, judge] of originals.entries()) rules[i]!.judge = judge;
    },
  };
  for (const [i, judge] of originals.entries()) {
    rules[i]!.judge = (facts) => (telemetry$) =>
      new Observable((out) => {
        const door = new Subject<Telemetry>();
        door.pipe(judge(facts)).subscribe(out);
        telemetry$.subscribe((record) => {
          const start = performance.now();
          door.next(record);
          sum.seconds += (performance.now() - start) / 1000;
        });
      });
  }
  return sum;
}

function workPerHappening(): Figure[] {
  const work = medianWork();
  return [
    { name: 'work-per-happening-solves', value: round(work.solves, 4), unit: '1', target: '<= 200' },
    { name: 'work-per-happening-scans', value: round(work.scans, 4), unit: '1', target: '<= 200' },
    { name: 'work-per-happening-frames', value: round(work.frames, 4), unit: '1', target: '<= 250' },
  ];
}

/** An outage of 72 h over one of 60 s, with as many happenings. */
function longOutageOverShort(): Figure[] {
  const outage = (length_us: number): Scenario => {
    const base = generateScenario(siteOf('juniper-lane'), 1, 1);
    const at = (id: string, at_us: number, does: string): Scenario['happenings'][number] => ({
      id,
      when: { at_us: at_us as SimUs },
      piece: 'utility',
      does,
      using: does === 'restore' ? { angle: 0, voltage: 0 } : {},
    });
    return {
      ...base,
      start: { 'pv.irradiance': 0 },
      happenings: [at('gone', 2 * US_PER_S, 'outage'), at('back', 2 * US_PER_S + length_us, 'restore')],
      end_us: (400 * US_PER_S + length_us) as SimUs,
    };
  };
  const short = outage(60 * US_PER_S);
  const long = outage(72 * 3600 * US_PER_S);
  play(short);
  const time = (scenario: Scenario): number => Math.min(...[1, 2, 3].map(() => seconds(() => play(scenario))));
  return [{ name: 'long-outage-over-short', value: round(time(long) / time(short)), unit: '1', target: '<= 10' }];
}
