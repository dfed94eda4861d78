import { generateScenario } from '../../harness/campaign/generate.ts';
import type { Job } from '../../harness/cli/job.ts';
import { PATIENCE, runPool } from '../../harness/cli/pool.ts';
import { play, siteOf } from '../helpers/sites.ts';
import type { Figure } from './figure.ts';

/** So long one thread is kept at work at least. */
const WORK_s = 12;
const HAPPENINGS = 10;
const THREAD = new URL('../../harness/cli/run-thread.js', import.meta.url);

/** Runs a second with two threads over those with one, once every thread has been started and has done its first run. */
export async function jobsTwoOverOne(): Promise<Figure[]> {
  const site = siteOf('juniper-lane');
  const scenarioOf = (seed: number): Job['scenario'] => generateScenario(site, seed, HAPPENINGS);
  for (let seed = 1; seed <= 10; seed += 1) play(scenarioOf(seed));
  const start = performance.now();
  for (let seed = 1; seed <= 20; seed += 1) play(scenarioOf(seed));
  const one_s = (performance.now() - start) / 1000 / 20;
  const count = Math.ceil(WORK_s / one_s);
  const jobs = Array.from({ length: count }, (_, i): Job => ({ file: 'bench', scenario: scenarioOf(i + 1) }));
  const single = await runsPerSecond(jobs, 1);
  const double = await runsPerSecond(jobs, 2);
  return [{ name: 'jobs2-over-jobs1', value: Number((double / single).toPrecision(3)), unit: '1', target: '>= 1.7' }];
}

async function runsPerSecond(jobs: readonly Job[], threads: number): Promise<number> {
  let ended = 0;
  let warm = 0;
  let from_ms = 0;
  await runPool(jobs, {
    threads,
    controller: { kind: 'reference', name: 'reference' },
    threadFile: THREAD,
    ...PATIENCE,
    stop: new AbortController().signal,
    printed: () => {},
    started: () => {},
    ended: () => {
      ended += 1;
      if (ended !== 2 * threads) return;
      warm = ended;
      from_ms = performance.now();
    },
  });
  return (ended - warm) / ((performance.now() - from_ms) / 1000);
}
