import { afterAll, describe, expect, it } from 'vitest';
import { deadbus, resultsIn, scratch } from '../helpers/command.ts';

const folder = scratch();
afterAll(() => folder.remove());

const run = (...more: string[]) =>
  deadbus(['run', '--quiet', '--out', folder.path, 'docs/examples/first-controller.yaml', ...more]);

describe('docs/examples/first-controller.ts', () => {
  it('does what its scenario expects, and is scanned less than a hundred times in 8 min', () => {
    const { code, err } = run('--controller', 'module:docs/examples/first-controller.ts');
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const [scenario] = resultsIn(folder.path).scenarios;
    expect(scenario?.counts.scans).toBeGreaterThan(10);
    expect(scenario?.counts.scans).toBeLessThan(100);
  });
});
