import { createContext, runInContext } from 'node:vm';
import { build, type Rolldown } from 'vite';
import { beforeAll, describe, expect, it } from 'vitest';
import { scenarioFile, siteOf } from '../helpers/sites.ts';
import * as here from './page-half.entry.ts';

const ENTRY = 'tests/laws/page-half.entry.ts';

/** The page's half as one script, and the modules it was made of. */
async function bundled(): Promise<Rolldown.OutputChunk> {
  const built = await build({
    configFile: false,
    logLevel: 'silent',
    build: { write: false, minify: false, lib: { entry: ENTRY, formats: ['iife'], name: 'page' } },
  });
  const [first] = [built].flat();
  if (first === undefined || !('output' in first)) throw new Error('the bundler gave no output');
  const [chunk, ...more] = first.output;
  expect(more).toEqual([]);
  return chunk;
}

describe("the page's half of the code", () => {
  let chunk: Rolldown.OutputChunk;
  /** Calls a function of the bundle in a context that has the language and nothing else. */
  let call: (what: string) => string;

  beforeAll(async () => {
    chunk = await bundled();
    const empty = createContext(Object.create(null));
    runInContext(chunk.code, empty);
    call = (what) => runInContext(`page.${what}`, empty) as string;
  });

  it('reaches no node:*, yaml or zod, and is all there', () => {
    expect([...chunk.imports, ...chunk.dynamicImports]).toEqual([]);
    const modules = chunk.moduleIds.map((id) => id.replaceAll('\\', '/'));
    expect(modules.filter((id) => /node_modules\/(yaml|zod)\/|^node:|__vite-browser-external/.test(id))).toEqual([]);
    expect(chunk.code).not.toMatch(/["']node:|\brequire\(/);
    for (const part of ['sim/site.ts', 'harness/run/digest.ts', 'harness/rules/judge.ts', 'harness/limits/own.ts'])
      expect(modules.filter((id) => id.endsWith(part))).toHaveLength(1);
  });

  it('runs where there is no process, no timer and no text encoder', () => {
    const absent = ['process', 'setTimeout', 'queueMicrotask', 'TextEncoder', 'performance', 'crypto', 'window'];
    expect(call(`limits(), ${JSON.stringify(absent)}.filter((name) => name in globalThis).join()`)).toBe('');
  });

  it.each([
    'scenarios/outage/return-at-noon.yaml',
    'scenarios/outage/sub-panel.yaml',
    'scenarios/hand/pv-left-on.yaml',
  ])('%s: digests, margins and counts are those of Node', (file) => {
    const scenario = JSON.stringify(scenarioFile(file));
    expect(call(`play(${JSON.stringify(scenario)})`)).toBe(here.play(scenario));
  });

  it('generates the same scenario from the same seed, and plays it to the same digest', () => {
    const site = JSON.stringify(siteOf('mill-cottage'));
    const there = call(`generate(${JSON.stringify(site)}, 77, 8)`);
    expect(there).toBe(here.generate(site, 77, 8));
    expect(call(`play(${JSON.stringify(there)})`)).toBe(here.play(there));
  });

  it('carries the same limits', () => expect(call('limits()')).toBe(here.limits()));
});
