import { basename } from 'node:path';
import { describe, expect, it } from 'vitest';
import { builtinFiles } from '../../helpers/builtin.ts';
import { scenarioFile } from '../../helpers/sites.ts';

// Whoever reads a name in a table must find the file by it.
const names = builtinFiles().map((file) => ({ file: basename(file, '.yaml'), id: scenarioFile(file).id }));

describe('built-in scenarios', () => {
  it('have each the id of their file', () => {
    expect(names.filter(({ file, id }) => file !== id)).toEqual([]);
  });

  it('have each an id of their own', () => {
    expect(names.map(({ id }) => id).filter((id, i, all) => all.indexOf(id) !== i)).toEqual([]);
  });
});
