import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { ControllerSpec } from '../../../harness/cli/controller-spec.ts';
import type { Answer, Job } from '../../../harness/cli/job.ts';
import { PATIENCE, type PoolOptions, runPool } from '../../../harness/cli/pool.ts';
import { scenario } from '../report/made.ts';

const reference: ControllerSpec = { kind: 'reference', name: 'reference' };
const module: ControllerSpec = { kind: 'module', name: 'module:./x.js', path: '/x.js' };

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'deadbus-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const jobsOf = (...acts: string[]): Job[] =>
  acts.map((act, index) => ({
    file: `${index}.yaml`,
    scenario: { ...scenario(`s${index}`), tags: [act] },
    tracePath: join(folder, `${index}.csv`),
  }));

const options = (controller: ControllerSpec, more: Partial<PoolOptions> = {}): PoolOptions => ({
  ...PATIENCE,
  threads: 1,
  controller,
  threadFile: new URL('./threads/pretend.mjs', import.meta.url),
  stop: new AbortController().signal,
  printed: () => {},
  started: () => {},
  ended: () => {},
  ...more,
});

const said = (answer: Answer | undefined): unknown =>
  answer?.kind === 'judged'
    ? answer.result.simulated_us
    : answer?.kind === 'controller lost'
      ? answer.fault
      : answer?.kind;
const files = (answers: (Answer | undefined)[]) =>
  answers.map((answer) => (answer?.kind === 'judged' ? answer.result.file : undefined));

describe('runPool', () => {
  it.each([1, 2, 5])(
    'answers in the order of the jobs with %i threads, though the first takes longest',
    async (threads) => {
      const answers = await runPool(jobsOf('waits', 'passes', 'passes', 'passes'), options(reference, { threads }));
      expect(files(answers)).toEqual(['0.yaml', '1.yaml', '2.yaml', '3.yaml']);
    },
  );

  it('keeps a thread for our own controller, and gives one of others a new thread for each scenario', async () => {
    const three = () => jobsOf('passes', 'passes', 'passes');
    expect((await runPool(three(), options(reference))).map(said)).toEqual([1, 2, 3]);
    expect((await runPool(three(), options(module))).map(said)).toEqual([1, 1, 1]);
  });

  it('ends a controller that never returns, says in which scan, takes its unfinished trace away and goes on', async () => {
    const [first, second] = jobsOf('loops', 'passes');
    const ended: string[] = [];
    const look = () => void ended.push(readdirSync(folder).join());
    const answers = await runPool([first!, second!], options(module, { looks: 4, look_ms: 25, ended: look }));
    expect(said(answers[0])).toEqual({
      kind: 'never returns',
      at_us: 30_000,
      message: 'scan has not come back within 0.1 s of wall time; its thread was ended',
    });
    expect(files(answers)[1]).toBe('1.yaml');
    expect(ended).toEqual(['', '']);
  });

  it('gives a controller 10 s', () => expect(PATIENCE.looks * PATIENCE.look_ms).toBe(10_000));

  it('does not end a thread in which nothing but our own code is slow', async () => {
    expect(files(await runPool(jobsOf('waits'), options(module, { looks: 1, look_ms: 5 })))).toEqual(['0.yaml']);
  });

  it('holds it against the controller when it ends its own thread', async () => {
    const [answer] = await runPool(jobsOf('leaves'), options(module));
    expect(said(answer)).toEqual({
      kind: 'throws',
      at_us: 30_000,
      message: 'in scan: the thread ended itself with code 7',
    });
  });

  it.each([reference, module])(
    'calls it our fault when a thread dies before any controller had the word: $kind',
    async (spec) => {
      const answers = await runPool(jobsOf('dies', 'passes'), options(spec));
      expect(answers[0]).toMatchObject({ kind: 'crashed', message: 'Error: ours' });
      expect(files(answers)[1]).toBe('1.yaml');
    },
  );

  it('stops at once and leaves undefined what was not finished', async () => {
    const stop = new AbortController();
    const started = (job: Job) => void (job.file === '1.yaml' && setTimeout(() => stop.abort(), 20));
    const answers = await runPool(
      jobsOf('passes', 'hangs', 'passes'),
      options(reference, { stop: stop.signal, started }),
    );
    expect(files(answers)).toEqual(['0.yaml', undefined, undefined]);
  });

  it('hands on what a controller prints, so that it does not land among the results', async () => {
    let text = '';
    const printed = (more: string) => {
      text += more;
    };
    await runPool(jobsOf('prints'), options(module, { printed }));
    expect(text).toBe('printed by the controller\n');
  });
});
