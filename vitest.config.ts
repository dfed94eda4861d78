import { defineConfig } from 'vitest/config';
import { FIVE_PERCENT } from './tests/mutants/five-percent.ts';
import { MUTANTS, mutated } from './tests/mutants/table.ts';

const project = (name: string, include: string[], testTimeout = 60_000) => ({
  extends: true as const,
  test: { name, include, testTimeout, hookTimeout: 60_000, setupFiles: ['tests/setup.ts'] },
});

/** `npm run mutants` names one mutant: its line is changed as the file is loaded, and nothing on the disk. */
const mutant = [...MUTANTS, ...FIVE_PERCENT].find(({ name }) => name === process.env['DEADBUS_MUTANT']);
const plantMutant = {
  name: 'plant-mutant',
  enforce: 'pre' as const,
  transform(code: string, id: string) {
    return mutant !== undefined && id.split('?')[0]?.endsWith(`/${mutant.file}`) ? mutated(mutant, code) : undefined;
  },
};

export default defineConfig({
  plugins: [plantMutant],
  test: {
    // By itself Vitest leaves one core idle, and of two that is half.
    maxWorkers: 2,
    projects: [
      project('unit', [
        'tests/sim/**/*.test.ts',
        'tests/harness/**/*.test.ts',
        'tests/fences/**/*.test.ts',
        'tests/mutants/**/*.test.ts',
      ]),
      project('laws', ['tests/laws/**/*.test.ts'], 240_000),
      project('reference', ['tests/reference/**/*.test.ts'], 240_000),
      project('e2e', ['tests/e2e/**/*.test.ts'], 240_000),
    ],
  },
});
