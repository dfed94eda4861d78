import type { VariantOutcome } from '../report/report.ts';
import { judgeExpectations } from '../run/expectation.ts';
import type { RunResult } from '../run/result.ts';
import type { Scenario } from '../scenario/model.ts';
import { variantsOf } from '../scenario/variants.ts';
import type { Answer, Job } from './job.ts';

/** A file as the jobs that it takes: one, with its trace, or one for each variant, without. */
export function jobsOf(file: string, scenario: Scenario, tracePath: string, only: number | undefined): readonly Job[] {
  const variants = variantsOf(scenario);
  if (variants.length === 1 && only === undefined) return [{ file, scenario: variants[0]!.scenario, tracePath }];
  const jobs = variants.map(({ name, scenario: varied }, i): Job => {
    const variant = { number: i + 1, of: variants.length, name };
    return { file, scenario: varied, variant };
  });
  if (only === undefined) return jobs;
  const chosen = jobs[only - 1];
  return chosen === undefined ? [] : [{ ...chosen, tracePath }];
}

/** The job whose answer speaks for the file: what is weightier in its exit code, then the smaller margin, then the earlier. */
export function worstOf(answers: readonly (Answer | undefined)[]): number {
  let worst = 0;
  for (const [index, answer] of answers.entries()) {
    if (index > 0 && isWorse(answer, answers[worst])) worst = index;
  }
  return worst;
}

function isWorse(a: Answer | undefined, b: Answer | undefined): boolean {
  const [weightA, weightB] = [weightOf(a), weightOf(b)];
  if (weightA !== weightB) return weightA > weightB;
  return marginOf(a) < marginOf(b);
}

/** 3 before 1 before 5, as exit codes go. */
function weightOf(answer: Answer | undefined): number {
  if (answer === undefined) return 0;
  if (answer.kind === 'controller refused') return 5;
  if (answer.kind === 'crashed') return 4;
  if (answer.kind === 'controller lost') return 3;
  const { exit } = judgeExpectations(answer.result);
  return exit === 1 ? 2 : exit === 5 ? 1 : 0;
}

function marginOf(answer: Answer | undefined): number {
  if (answer?.kind !== 'judged') return Number.POSITIVE_INFINITY;
  return judgeExpectations(answer.result).tightest?.margin.value ?? Number.POSITIVE_INFINITY;
}

/** One line of a study, for the reports. */
export function outcomeOf(result: RunResult): VariantOutcome {
  const { status, exit, tightest } = judgeExpectations(result);
  return {
    number: result.variant?.number ?? 1,
    name: result.variant?.name ?? '',
    status,
    exit,
    ...(tightest === undefined ? {} : { tightest: { rule: tightest.rule, margin: tightest.margin.value } }),
    digest: result.digests.run,
  };
}
