// Stands in for the thread in which scenarios run: it speaks the same words and does what the scenario's first tag says.
import { writeFileSync } from 'node:fs';
import { parentPort, threadId, workerData } from 'node:worker_threads';

const words = new Int32Array(workerData.guard, 0, 2);
const instant = new Float64Array(workerData.guard, 8, 1);
let jobs = 0;

const enterScan = () => {
  words[1] = 2; // scan
  instant[0] = 30_000;
  Atomics.add(words, 0, 1);
};

const zero = { controller: 0, person: 0, equipment: 0, utility: 0, site: 0 };
const worst = { value: 0.25, at_us: 1, found: 3, limit: 4, scale: 4, unit: '1', about: 'made up' };
const outcomes = {
  passes: { is: 'pass', worst },
  fails: { is: 'fail', worst: { ...worst, value: -0.25, found: 5 }, against: 'controller' },
  idles: { is: 'not exercised', why: 'never armed' },
};

const result = ({ file, scenario }, verdict) => ({
  scenario,
  file,
  controller: workerData.controller.name,
  verdicts: [{ rule: 'no-backfeed', armed: 1, outcome: outcomes[verdict], grade: 'confirmed', violations: zero }],
  statements: [],
  happenings: [],
  neverCame: [],
  siteNotes: [],
  simulated_us: jobs,
  complete: true,
  digests: { scenario: '0', controller: '0', run: `${scenario.seed}`.padStart(64, '0') },
  counts: { solves: 0, scans: 0, frames: 0 },
});

const acts = {
  waits: (job) => setTimeout(() => parentPort.postMessage({ kind: 'judged', result: result(job, 'passes') }), 100),
  hangs: () => {},
  crashes: () =>
    parentPort.postMessage({
      kind: 'crashed',
      message: 'DeadbusBug: made up',
      stack: 'DeadbusBug: made up\n  at here',
    }),
  refuses: () => parentPort.postMessage({ kind: 'controller refused', message: 'module:./x.js: exports nothing' }),
  prints: (job) => {
    console.log('printed by the controller');
    acts.waits(job);
  },
  loops: ({ tracePath }) => {
    writeFileSync(`${tracePath}.${process.pid}-${threadId}.part`, 't [s]\n'); // Half a trace, as the real one leaves it.
    enterScan();
    for (;;);
  },
  leaves: () => {
    enterScan();
    process.exit(7);
  },
  dies: () => {
    throw new Error('ours');
  },
};

parentPort.on('message', (job) => {
  jobs += 1;
  const act = job.scenario.tags[0];
  if (acts[act] !== undefined) acts[act](job);
  else parentPort.postMessage({ kind: 'judged', result: result(job, act) });
});
