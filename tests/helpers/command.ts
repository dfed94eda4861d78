import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';

// The built command line, as a shell meets it. `npm test` builds first; with a bare vitest it is as old as the last build.

export const LAUNCHER = resolve('harness/cli/deadbus.mjs');

export interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs `deadbus` in a fresh Node process and waits for its end. */
export function deadbus(args: readonly string[], cwd = process.cwd()): Ended {
  const { status, stdout, stderr } = spawnSync(process.execPath, [LAUNCHER, ...args], { cwd, encoding: 'utf8' });
  return { code: status, out: stdout, err: stderr };
}

/** A new empty folder of the system's, and what removes it. */
export function scratch(): { readonly path: string; remove(): void } {
  const path = mkdtempSync(join(tmpdir(), 'deadbus-'));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}

export interface Results {
  readonly exit: number;
  readonly scenarios: readonly {
    readonly file: string;
    readonly status: string;
    readonly digests: { readonly run: string };
    readonly counts: { readonly scans: number };
    readonly verdicts: readonly { readonly rule: string; readonly is: string; readonly armed: number }[];
    readonly controllerFault?: { readonly kind: string; readonly at_us: number; readonly message: string };
  }[];
}

export const resultsIn = (folder: string): Results =>
  JSON.parse(readFileSync(join(folder, 'results.json'), 'utf8')) as Results;
