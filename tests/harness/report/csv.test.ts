import { describe, expect, it } from 'vitest';
import { csvTrace } from '../../../harness/report/csv.ts';
import type { Telemetry } from '../../../sim/telemetry.ts';
import { at, happenings } from './made.ts';

function written(...telemetry: Telemetry[]): string {
  let text = '';
  const take = csvTrace((more) => {
    text += more;
  });
  for (const each of telemetry) take(each);
  return text;
}

const head: Telemetry = {
  kind: 'head',
  channels: [
    { name: 'panel.u1', unit: 'V' },
    { name: 'relay.L1', unit: 'state', states: ['open', 'closed', 'welded'] },
    { name: 'odd.a,"b"', unit: '1' },
  ],
};
const buffer = new Float64Array(3);
const frame = (at_us: number, values: readonly number[], changed: readonly number[]): Telemetry => {
  buffer.set(values); // One buffer for all, as the recorder does it.
  return { kind: 'frame', at_us: at(at_us), values: buffer, changed };
};

describe('csvTrace', () => {
  it('heads each column with its unit and quotes what needs it', () => {
    expect(written(head)).toBe('t [s],panel.u1 [V],relay.L1 [state],"odd.a,""b"" [1]"\n');
  });

  it('writes a row for each frame that changed something, exact instants, states by name, −0 as 0', () => {
    let text = '';
    const take = csvTrace((more) => {
      text += more;
    });
    take(head);
    take(frame(0, [120.1, 1, -0], []));
    take(frame(8_333, [120.1, 1, 0], [])); // Nothing changed.
    take(happenings[1]!);
    take(frame(5_000_001, [0.1 + 0.2, 0, 0], [0, 1]));
    take(frame(5_000_001, [0.1 + 0.2, 2, 0], [1])); // A second frame at the same instant.
    take({ kind: 'end', at_us: at(12_500_000), complete: true });
    expect(text.split('\n').slice(1)).toEqual([
      '0.000000,120.1,closed,0',
      '5.000001,0.30000000000000004,open,0',
      '5.000001,0.30000000000000004,welded,0',
      '12.500000,0.30000000000000004,welded,0',
      '',
    ]);
  });

  it('adds no row at the end where a frame stands there, and none where there was no frame', () => {
    const end: Telemetry = { kind: 'end', at_us: at(7), complete: true };
    expect(written(head, frame(7, [1, 1, 1], []), end).split('\n')).toHaveLength(3);
    expect(written(head, end).split('\n')).toHaveLength(2);
  });

  it('writes a value outside the list of states as its number', () => {
    expect(written(head, frame(0, [1, 9, 1], []))).toContain(',9,');
  });
});
