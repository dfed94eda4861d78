import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { play, scenarioText } from '../../helpers/sites.ts';

/** What one rule says of a run on juniper-lane after dark. */
function verdictOf(rule: string, text: string): Verdict {
  const head = 'scenario: played\ntitle: Played\nsite: juniper-lane.yaml\n';
  const { verdicts } = play(scenarioText(head + text));
  return verdicts.find((verdict) => verdict.rule === rule)!;
}

const CHARGE = `start: { pv.irradiance: 0, vehicle.soc: 0.5 }
end: 60 s
happenings:
  - { at: 2 s, do: vehicle charge }
`;

describe('rules of equipment, on runs', () => {
  it('plug-order: the contactor is open 50 ms after a plug is pulled by force under charge', () => {
    const { outcome } = verdictOf('plug-order', `${CHARGE}  - { at: 30 s, do: vehicle pull by force }\n`);
    expect(outcome).toMatchObject({ is: 'pass', worst: { found: 50_000, at_us: 30_050_000 } });
  });

  it('plug-order: a lock that fails under charge is the equipment', () => {
    const { outcome } = verdictOf('plug-order', `${CHARGE}  - { at: 30 s, do: vehicle lose lock }\n`);
    expect(outcome).toMatchObject({ is: 'fail', against: 'equipment', worst: { at_us: 30_000_000 } });
  });

  it('ready-gate: a charge by hand without the papers is the person', () => {
    const { outcome } = verdictOf('ready-gate', `override: { vehicle: { recordsDone: no } }\n${CHARGE}`);
    expect(outcome).toMatchObject({ is: 'fail', against: 'person', worst: { found: 1 } });
  });

  it('source-limits: 9.6 kW of charge beside 9 kW of load trip a main of 60 A', () => {
    const sizes = 'override: { main: { rating: 60 A }, range: { power: 9 kW } }\n';
    const verdict = verdictOf('source-limits', sizes + CHARGE.replace('60 s', '10 min'));
    expect(verdict.outcome).toMatchObject({ is: 'fail', against: 'person', worst: { value: -1 } });
  });

  it('source-limits: 48 A in an island for more than 6 s pass the 0.80 of a breaker of 50 A', () => {
    const text = `override: { range: { power: 12 kW } }
start: { pv.irradiance: 0, range.on: false }
end: 60 s
happenings:
  - { at: 1 s, do: utility outage }
  - { at: 20 s, do: range on }
`;
    const { outcome } = verdictOf('source-limits', text);
    expect(outcome).toMatchObject({ is: 'fail', against: 'person', worst: { at_us: 27_000_000 } });
    expect(outcome.is === 'fail' && outcome.worst.found).toBeCloseTo(48, 3);
  });

  it('lockout and relay-duty: a welded pole is noticed 100 ms after the open order, and nothing wears', () => {
    const text = `start: { pv.irradiance: 0 }
end: 20 s
happenings:
  - { at: 1 s, do: relay weld, using: { pole: L1 } }
  - { at: 2 s, do: utility outage }
`;
    const weld = verdictOf('lockout', text);
    expect(weld).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { found: 0 } } });
    expect(verdictOf('relay-duty', text).outcome.is).toBe('pass');
  });

  it('lockout: a relay that its supply has left, and that comes back with it, is sound', () => {
    const text = `start: { pv.irradiance: 0 }
end: 20 s
happenings:
  - { at: 1 s, do: relay lose supply }
  - { at: 1.05 s, do: relay restore supply }
`;
    expect(verdictOf('lockout', text).armed).toBe(0);
  });
});
