import { describe, expect, it } from 'vitest';
import { renderEquipment } from '../../docs/equipment.ts';

/** Name and default of each row of the table that follows a line, in the section of a kind. */
function defaults(kind: string, after: string): Record<string, string> {
  const section = renderEquipment()
    .split('\n## ')
    .find((part) => part.startsWith(`${kind}\n`))!;
  const [, rest = ''] = section.split(after);
  const rows = rest.trimStart().split('\n\n')[0]!.split('\n').slice(2);
  return Object.fromEntries(rows.map((row) => row.split(' | ')).map(([name, , standin]) => [name!, standin!]));
}

describe('renderEquipment', () => {
  it('says of no starting state that it must be given: none has to be', () => {
    expect(defaults('load', 'At the start:')).toMatchObject({
      '| `power`': 'as the parameter',
      '| `temperature`': 'may be left out',
      '| `on`': 'yes',
    });
    expect(defaults('utility', 'At the start:')).toMatchObject({ '| `neighbours`': 'as the parameter' });
  });
  it('says of a parameter without a default that it must be given', () => {
    expect(defaults('breaker', 'is the default.')).toMatchObject({ '| `rating`': 'must be given' });
  });
});
