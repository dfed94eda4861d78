#!/usr/bin/env node
// Launcher, committed so that the command exists before the build does. Everything else is in main.ts.
import { existsSync } from 'node:fs';

const packageRoot = new URL('../../', import.meta.url);
const built = new URL('dist/js/harness/cli/main.js', packageRoot);
if (existsSync(built)) {
  const { main } = await import(built.href);
  process.exitCode = await main(process.argv.slice(2), packageRoot);
} else {
  process.stderr.write('deadbus is not built: run npm ci (or npm run build)\n');
  process.exitCode = 2;
}
