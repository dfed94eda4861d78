#!/usr/bin/env node
// Launcher, committed so that the command exists before the build does. Everything else is in main.ts.
import { existsSync, writeSync } from 'node:fs';

const packageRoot = new URL('../../', import.meta.url);
const built = new URL('dist/js/harness/cli/main.js', packageRoot);

// Node's own code for an error that nobody took is 1, which here means a verdict: ours is 3.
const ourFault = (cause) => {
  const hint =
    'If a build was cut short, npm run build mends it; else please report it and send this text and the command.';
  writeSync(2, `our own fault: ${cause?.stack ?? cause}\n${hint}\n`);
  process.exit(3);
};
process.on('uncaughtException', ourFault);

if (existsSync(built)) {
  const { main } = await import(built.href).catch(ourFault);
  process.exitCode = await main(process.argv.slice(2), packageRoot);
} else {
  process.stderr.write('deadbus is not built: run npm ci (or npm run build)\n');
  process.exitCode = 2;
}
