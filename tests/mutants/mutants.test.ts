import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { MUTANTS, mutated } from './table.ts';

describe('MUTANTS', () => {
  it('are twelve or more, each with a name of its own', () => {
    expect(new Set(MUTANTS.map(({ name }) => name)).size).toBe(MUTANTS.length);
    expect(MUTANTS.length).toBeGreaterThanOrEqual(12);
  });

  it.each(MUTANTS)('$name changes a line that stands exactly once in its file', (mutant) => {
    const text = readFileSync(mutant.file, 'utf8');
    expect(mutated(mutant, text)).not.toBe(text);
  });
});
