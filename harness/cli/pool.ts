import { rmSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import { unfinishedName } from '../report/write-file.ts';
import type { ControllerSpec } from './controller-spec.ts';
import { GUARD_BYTES, readGuard } from './guard.ts';
import type { Answer, Job, ThreadData } from './job.ts';

export interface PoolOptions {
  readonly threads: number;
  readonly controller: ControllerSpec;
  readonly threadFile: URL;
  /** A controller that has not answered for so many looks in a row is ended. Looks, not seconds: a machine that slept gives no false verdict. */
  readonly looks: number;
  readonly look_ms: number;
  readonly stop: AbortSignal;
  /** Whatever a controller prints; it must not land among the results. */
  printed(text: string): void;
  started(job: Job): void;
  ended(job: Job): void;
}

/** 10 s of wall time. */
export const PATIENCE = { looks: 40, look_ms: 250 } as const;

/**
 * Runs jobs in threads of their own and gives the answers in the order of the jobs, whatever the number of threads. Undefined: not
 * finished when it was stopped. A controller that is not ours gets a new thread for each job, so that nothing it keeps can pass from one
 * scenario to the next, in an order that would depend on the number of threads.
 */
export async function runPool(jobs: readonly Job[], options: PoolOptions): Promise<(Answer | undefined)[]> {
  const answers: (Answer | undefined)[] = jobs.map(() => undefined);
  let next = 0;
  const lane = async (): Promise<void> => {
    let thread: Thread | undefined;
    while (next < jobs.length && !options.stop.aborted) {
      const index = next;
      next += 1;
      const job = jobs[index]!;
      options.started(job);
      if (thread === undefined || thread.over) thread = startThread(options);
      answers[index] = await ask(thread, job, options);
      options.ended(job);
      if (options.controller.kind === 'module') thread.over = true;
      if (thread.over) await thread.worker.terminate();
    }
    await thread?.worker.terminate();
  };
  await Promise.all(Array.from({ length: Math.min(options.threads, jobs.length) }, lane));
  return answers;
}

interface Thread {
  readonly worker: Worker;
  readonly guard: SharedArrayBuffer;
  over: boolean;
}

function startThread({ controller, threadFile, printed }: PoolOptions): Thread {
  const guard = new SharedArrayBuffer(GUARD_BYTES);
  const workerData: ThreadData = { controller, guard };
  const worker = new Worker(threadFile, { workerData, stdout: true, stderr: true });
  for (const stream of [worker.stdout, worker.stderr])
    stream.on('data', (data: Buffer) => printed(data.toString('utf8')));
  const thread: Thread = { worker, guard, over: false };
  // Also between two jobs, when nobody else listens: an error without a listener would end the whole process.
  worker.on('error', () => {
    thread.over = true;
  });
  return thread;
}

/** Sends a job and waits for its answer, the thread's death, the end of patience or the stop: whichever comes first. */
function ask(thread: Thread, job: Job, options: PoolOptions): Promise<Answer | undefined> {
  const { worker, guard } = thread;
  // The id is gone once the thread is.
  const unfinished = job.tracePath === undefined ? undefined : unfinishedName(job.tracePath, worker.threadId);
  return new Promise((resolve) => {
    const settle = (answer: Answer | undefined): void => {
      clearInterval(watch);
      worker.off('message', settle).off('error', failed).off('exit', exited);
      options.stop.removeEventListener('abort', stopped);
      if (answer === undefined || answer.kind === 'controller lost' || answer.kind === 'crashed') {
        thread.over = true;
        void worker.terminate().then(() => {
          if (unfinished !== undefined) rmSync(unfinished, { force: true });
          resolve(answer);
        });
      } else resolve(answer);
    };
    const stopped = (): void => settle(undefined);
    const failed = (cause: Error): void => settle(lostOrCrashed(thread, cause, options.controller));
    const exited = (code: number): void =>
      settle(lostOrCrashed(thread, new Error(`the thread ended itself with code ${code}`), options.controller));
    const watch = watchController(guard, options, (answer) => settle(answer));
    worker.on('message', settle).on('error', failed).on('exit', exited);
    options.stop.addEventListener('abort', stopped);
    if (options.stop.aborted) stopped();
    else worker.postMessage(job);
  });
}

function watchController(
  guard: SharedArrayBuffer,
  { controller, looks, look_ms }: PoolOptions,
  give: (answer: Answer) => void,
): NodeJS.Timeout {
  let seen = -1;
  let same = 0;
  return setInterval(() => {
    const { count, inController, call, at_us } = readGuard(guard);
    same = inController && count === seen ? same + 1 : 0;
    seen = count;
    if (controller.kind !== 'module' || same < looks) return;
    const message = `${call} has not come back within ${(looks * look_ms) / 1000} s of wall time; its thread was ended`;
    give({ kind: 'controller lost', fault: { kind: 'never returns', at_us, message } });
  }, look_ms);
}

/** A thread that dies while a controller of others has the word, or by what it left running, dies of the controller; else of us. */
function lostOrCrashed({ guard }: Thread, cause: Error, { kind }: ControllerSpec): Answer {
  const { count, at_us, call, inController } = readGuard(guard);
  if (kind !== 'module' || count === 0)
    return { kind: 'crashed', message: `${cause.name}: ${cause.message}`, stack: cause.stack ?? '' };
  const message = `${inController ? `in ${call}: ` : ''}${cause.message}`;
  return { kind: 'controller lost', fault: { kind: 'throws', at_us, message } };
}
