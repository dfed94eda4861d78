import { parentPort, workerData } from 'node:worker_threads';
import { guardOf } from './guard.ts';
import type { Job, ThreadData } from './job.ts';
import { runner } from './link.ts';
import { oneRun } from './one-run.ts';

// The thread in which scenarios run: apart from the command line, so that an interrupt is heard at once and a controller
// that never returns can be ended.
const { controller, guard } = workerData as ThreadData;
parentPort?.on('message', (job: Job) => {
  void oneRun(job, controller, guardOf(guard), runner).then((answer) => parentPort?.postMessage(answer));
});
