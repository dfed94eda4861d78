import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import type { Figure } from './figure.ts';

const CHILD = fileURLToPath(new URL('memory-runs.js', import.meta.url));

/** Resident memory after 20,000 short runs over that after 1,000, less 1: in a process of its own, swept before each reading. */
export function memoryGrowth(): Figure[] {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['--expose-gc', CHILD], { encoding: 'utf8' });
  if (status !== 0) throw new Error(`the runs ended with ${status}: ${stderr}`);
  const { early_B, late_B } = JSON.parse(stdout) as { readonly early_B: number; readonly late_B: number };
  const value = Number((late_B / early_B - 1).toFixed(4));
  return [{ name: 'memory-growth-20k', value, unit: '1', target: '<= 0.10' }];
}
