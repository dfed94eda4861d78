import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { builtinFiles } from '../helpers/builtin.ts';
import { deadbus, resultsIn, scratch } from '../helpers/command.ts';
import { play, scenarioFile } from '../helpers/sites.ts';

const BOOK = 'tests/laws/digests.json';
const HOW =
  'The trace of a built-in scenario has changed. If that is meant, UPDATE_DIGESTS=1 rewrites the file, and the commit says what changed on a line "Trace: …".';

/** Digest of the trace by file, as it was committed. */
const written = (): Readonly<Record<string, string>> => JSON.parse(readFileSync(BOOK, 'utf8'));

const folder = scratch();
afterAll(() => folder.remove());

/** Digests by file as the built command line gives them, and the bytes of its results. */
function commandLine(name: string, ...args: string[]) {
  const out = join(folder.path, name);
  const { code, err } = deadbus(['run', '--quiet', '--out', out, ...args]);
  expect({ code, err }).toEqual({ code: 0, err: '' });
  const digests = Object.fromEntries(resultsIn(out).scenarios.map((each) => [each.file, each.digests.run]));
  return { digests, bytes: readFileSync(join(out, 'results.json'), 'utf8') };
}

describe('digests of the built-in suite', () => {
  it('are those that were committed', () => {
    const found = Object.fromEntries(builtinFiles().map((file) => [file, play(scenarioFile(file)).digests.run]));
    if (process.env['UPDATE_DIGESTS'] === '1') writeFileSync(BOOK, `${JSON.stringify(found, undefined, 2)}\n`);
    const book = written();
    const changed = [...new Set([...Object.keys(book), ...Object.keys(found)])]
      .filter((file) => book[file] !== found[file])
      .map((file) => `${file}\n  old ${book[file] ?? 'none'}\n  new ${found[file] ?? 'none'}`);
    expect(changed.join('\n'), HOW).toBe('');
    expect(Object.values(found).every((digest) => /^[0-9a-f]{64}$/.test(digest))).toBe(true);
  });

  it('are the same in two fresh processes, alone and among others, and with 1 and 2 jobs', () => {
    const three = [
      'scenarios/outage/evening.yaml',
      'scenarios/outage/sub-panel.yaml',
      'scenarios/hand/pv-left-on.yaml',
    ];
    const once = commandLine('once', ...three);
    const again = commandLine('again', ...three);
    expect(again.bytes).toBe(once.bytes);
    const folders = ['scenarios/hand', 'scenarios/outage', 'scenarios/street'];
    const oneJob = commandLine('one-job', '--jobs', '1', ...folders);
    const twoJobs = commandLine('two-jobs', '--jobs', '2', ...folders);
    expect(twoJobs.bytes).toBe(oneJob.bytes);
    // Where something varies the command line speaks of the worst variant, the book of the file as it stands.
    const plain = Object.keys(oneJob.digests).filter((file) => scenarioFile(file).vary === undefined);
    expect(plain.length).toBeGreaterThan(15);
    for (const file of plain) expect([file, oneJob.digests[file]]).toEqual([file, written()[file]]);
    expect(oneJob.digests).toMatchObject(once.digests);
    expect(Object.keys(once.digests)).toEqual(three);
  });

  it('tell one seed from another where chance has a part', () => {
    const file = 'scenarios/outage/nobody-else.yaml';
    const { digests } = commandLine('other-seed', '--seed', '2', file);
    expect(digests[file]).not.toBe(written()[file]);
  });
});
