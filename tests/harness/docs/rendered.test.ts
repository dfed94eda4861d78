import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { RENDERED } from '../../docs/rendered.ts';

describe('documents that are made from the code', () => {
  it.each(Object.entries(RENDERED))('%s is what npm run docs writes', (path, render) => {
    const committed = readFileSync(path, 'utf8').split('\n');
    const rendered = render().split('\n');
    const at = rendered.findIndex((line, i) => line !== committed[i]);
    const first = at < 0 ? '' : `line ${at + 1}: now "${committed[at] ?? ''}", should be "${rendered[at]}"`;
    expect(first, 'run npm run docs').toBe('');
    expect(committed.length, 'run npm run docs').toBe(rendered.length);
  });
});
