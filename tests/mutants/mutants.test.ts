import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { FIVE_PERCENT } from './five-percent.ts';
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

describe('FIVE_PERCENT', () => {
  it('has a parameter of every kind of equipment', () => {
    const kinds = new Set(FIVE_PERCENT.map(({ kind }) => kind));
    expect(KINDS.map(({ kind }) => kind).filter((kind) => !kinds.has(kind))).toEqual([]);
    const names = [...MUTANTS, ...FIVE_PERCENT].map(({ name }) => name);
    expect(new Set(names).size).toBe(names.length);
  });

  it.each(FIVE_PERCENT)('$name changes one default, and names checks that there are', (mutant) => {
    const text = readFileSync(mutant.file, 'utf8');
    expect(mutated(mutant, text)).not.toBe(text);
    expect(existsSync(`tests/reference/${mutant.check}.test.ts`)).toBe(true);
    expect(KINDS.find(({ kind }) => kind === mutant.kind)!.params.map(({ name }) => name)).toContain(mutant.parameter);
  });
});
