import { describe, expect, it } from 'vitest';
import { SaidOnce } from '../../../harness/cli/said-once.ts';

describe('SaidOnce', () => {
  it('prints each complaint once, and of a further file with the same ones their number', () => {
    const said = new SaidOnce();
    expect(said.of('a.yaml', ['site.yaml:1:1: one\n  frame', 'site.yaml:2:1: two'])).toBe(
      'site.yaml:1:1: one\n  frame\nsite.yaml:2:1: two\n',
    );
    expect(said.of('b.yaml', ['b.yaml:3:1: own', 'site.yaml:2:1: two'])).toBe(
      'b.yaml:3:1: own\nb.yaml: 1 of the problems said above\n',
    );
    expect(said.of('c.yaml', ['site.yaml:1:1: one\n  frame', 'site.yaml:2:1: two'])).toBe(
      'c.yaml: 2 of the problems said above\n',
    );
  });
});
