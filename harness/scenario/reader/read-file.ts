import { closeSync, openSync, readSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import type { Scenario } from '../model.ts';
import { problemFrame, problemLine } from './problem.ts';
import { readScenarioText, type ScenarioTables } from './read-scenario.ts';

/** What is read of a file at most: the reader itself refuses anything above 1 MB, with a reason. */
const READ_MAX = 1_000_001;

/**
 * A scenario file from the disk, with its site file beside it.
 *
 * @param path - where it is
 * @param label - how messages name it
 * @returns the scenario, or one text a problem, each with its source frame, fit to be printed
 */
export function readScenarioFile(
  path: string,
  label: string,
  tables: Omit<ScenarioTables, 'loadSite'>,
): { readonly scenario: Scenario } | { readonly problems: readonly string[] } {
  let content: Uint8Array;
  try {
    content = bytesOf(path);
  } catch (cause) {
    return {
      problems: [
        `${label}: cannot be read (${cause instanceof Error ? cause.message.split(',')[0] : String(cause)}). [SCN-SITE]`,
      ],
    };
  }
  const read = readScenarioText(content, label, {
    ...tables,
    loadSite: (site) => bytesOf(resolve(dirname(path), site)),
  });
  if ('scenario' in read) return read;
  return { problems: read.problems.map((problem) => `${problemLine(problem)}\n${problemFrame(problem)}`) };
}

/** The bytes of a file, and no more of it than the reader needs to refuse a huge one. */
function bytesOf(path: string): Uint8Array {
  const file = openSync(path, 'r');
  try {
    const bytes = new Uint8Array(READ_MAX);
    let length = 0;
    for (let count = 1; count > 0 && length < READ_MAX; length += count) {
      count = readSync(file, bytes, length, READ_MAX - length, null);
    }
    return bytes.subarray(0, length);
  } finally {
    closeSync(file);
  }
}
