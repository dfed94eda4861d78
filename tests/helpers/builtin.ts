import { readdirSync } from 'node:fs';

/** Every scenario file of the built-in suite, in plain order; sites are no scenarios. */
export function builtinFiles(): string[] {
  const files = readdirSync('scenarios', { recursive: true, encoding: 'utf8' })
    .map((name) => `scenarios/${name.replaceAll('\\', '/')}`)
    .filter((name) => name.endsWith('.yaml') && !name.startsWith('scenarios/sites/'));
  return files.sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));
}
