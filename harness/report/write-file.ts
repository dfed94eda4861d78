import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { threadId } from 'node:worker_threads';

/** A file that is being written beside its name. Nobody sees it before it is whole. */
export interface NewFile {
  write(text: string): void;
  /** Puts it in the place of the old one, in one step. */
  finish(): void;
  /** Takes it away again; the old one stays. */
  abandon(): void;
}

const bufferMost_chars = 65_536;

/** Name of the unfinished file: unlike that of any other process or thread that writes to the same folder. */
export const unfinishedName = (path: string, thread = threadId): string => `${path}.${process.pid}-${thread}.part`;

/**
 * Opens a new file beside `path` and makes the folders above it. Whatever ends the process before `finish`, the file at `path` is the
 * old one, whole. Text is gathered to 64 ki characters between writes. Throws what the file system throws.
 */
export function openNewFile(path: string): NewFile {
  makeFolder(dirname(path));
  const unfinished = unfinishedName(path);
  const handle = openSync(unfinished, 'w');
  let waiting: string[] = [];
  let waiting_chars = 0;
  const flush = (): void => {
    const bytes = Buffer.from(waiting.join(''), 'utf8');
    waiting = [];
    waiting_chars = 0;
    for (let done = 0; done < bytes.length; ) done += writeSync(handle, bytes, done);
  };
  return {
    write(text) {
      waiting.push(text);
      waiting_chars += text.length;
      if (waiting_chars >= bufferMost_chars) flush();
    },
    finish() {
      flush();
      fsyncSync(handle); // Or the new name could outlive a power cut and the contents not.
      closeSync(handle);
      renameSync(unfinished, path);
    },
    abandon() {
      closeSync(handle);
      rmSync(unfinished, { force: true });
    },
  };
}

/** Makes a folder and those above it. Step by step: under /proc Node's own `recursive` never comes back. */
export function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  try {
    mkdirSync(path);
  } catch (cause) {
    if (!existsSync(path)) throw cause; // Else another thread has been quicker.
  }
}

/** Writes a whole file in one go; on any error the old one stays and nothing is left beside it. */
export function writeFileWhole(path: string, text: string): void {
  const file = openNewFile(path);
  try {
    file.write(text);
    file.finish();
  } catch (cause) {
    rmSync(unfinishedName(path), { force: true });
    throw cause;
  }
}

/**
 * Takes away what killed processes left half written in a folder: unfinished files whose name ends in one of `endings`, and whose
 * process is no more. Those of a process that lives stay: it may still write them. To be called before this process opens a
 * file there, since its number may have been that of one that was killed. What cannot be removed stays; it is in nobody's way.
 */
export function removeUnfinished(folder: string, endings: readonly string[], how?: 'and in all folders below'): void {
  try {
    for (const entry of readdirSync(folder, { withFileTypes: true })) {
      const path = join(folder, entry.name);
      if (entry.isDirectory() && how !== undefined) removeUnfinished(path, endings, how);
      const [, name, writer] = /^(.+)\.(\d+)-\d+\.part$/.exec(entry.name) ?? [];
      const ours = entry.isFile() && endings.some((ending) => name?.endsWith(ending));
      if (ours && !livesElsewhere(Number(writer))) rmSync(path, { force: true });
    }
  } catch {
    // Not there yet, or not ours to read.
  }
}

function livesElsewhere(pid: number): boolean {
  if (pid === process.pid) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (cause) {
    return (cause as NodeJS.ErrnoException).code === 'EPERM'; // There, and somebody else's.
  }
}
