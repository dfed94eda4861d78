import { describe, expect, it } from 'vitest';
import { copyOfAnswer } from '../../../harness/run/handover.ts';
import { problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { writeScenario } from '../../../harness/scenario/reader/write-scenario.ts';
import { faultOfAnswer } from '../../../sim/gateway/boundary.ts';
import { play, scenarioText, TABLES, withSites } from '../../helpers/sites.ts';

const text = (lines: string): string => `scenario: conditions
title: What waits for a channel
site: juniper-lane.yaml
start: { pv.irradiance: 0 }
end: 20 s
${lines}
`;
const tables = withSites(TABLES);

describe('conditions on channels of a real site', () => {
  it('take what the gateway reads in V and deg, and keep it in mV and mdeg; written and read again they are the same', () => {
    const scenario = scenarioText(
      text(`expect:
  statements:
    - { never: { channel: gateway.in.utilityL12, is: ">", value: 250 V } }
    - { never: { channel: gateway.in.utilityLegAngle, is: "<", value: 170 deg } }`),
    );
    expect(scenario.expect.statements.map(({ what }) => what.value)).toEqual([250_000, 170_000]);
    expect(play(scenario).statements.map(({ holds }) => holds)).toEqual([true, true]);
    const again = readScenarioText(writeScenario(scenario, tables), 'again.yaml', tables);
    expect('scenario' in again && again.scenario.expect).toEqual(scenario.expect);
  });

  it('are refused on an angle that turns between frames, with what to take instead', () => {
    const read = readScenarioText(
      text('expect: { statements: [{ never: { channel: relay.da1, is: ">", value: 90 deg } }] }'),
      'slip.yaml',
      tables,
    );
    expect('problems' in read && problemReport(read.problems)).toContain('gateway.in.poleAngleL1');
  });

  it('that never come true leave their happening undone, and the result says which', () => {
    const scenario = scenarioText(
      text(`happenings:
  - { id: gone, after: { channel: house.v1, is: "<", value: 10 V }, do: utility outage }
  - { after: gone, do: main open }`),
    );
    expect(play(scenario).neverCame).toEqual(['gone', 'main-open']);
  });

  it('that had not held for long enough when the run ended say so', () => {
    const scenario = scenarioText(
      text(`expect:
  statements: [{ within: 10 s, of: 0 s, what: { channel: house.v1, is: ">", value: 100 V, held: 30 s } }]`),
    );
    const [statement] = play(scenario).statements;
    expect(statement).toMatchObject({ holds: false });
    expect(statement?.detail).toContain('had held for 20 s when the run ended');
  });
});

describe('faultOfAnswer on a promise', () => {
  it('says that a scan answers at once', () => {
    expect(faultOfAnswer(copyOfAnswer(Promise.resolve({})), 0)).toBe('the answer is a promise; a scan answers at once');
  });
});
