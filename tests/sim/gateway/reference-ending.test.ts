import { describe, expect, it } from 'vitest';
import type { HappeningRecord } from '../../../sim/telemetry.ts';
import { play, scenarioText } from '../../helpers/sites.ts';

/** An island in which PV runs 10 s after it stood well, with full power at once, until `lines` end it at 40 s. */
function told(lines: string, pv = '', settings = '') {
  const override = `{ pv: { enterDelay: 10 s, ramp: no, ${pv} }, settings: { ${settings} } }`;
  const result = play(
    scenarioText(
      `scenario: s\ntitle: t\nsite: juniper-lane.yaml\noverride: ${override}\nstart: { pv.irradiance: 1 }\nend: 90 s\n` +
        `happenings: [ { at: 2 s, do: utility outage }, ${lines} ]\n`,
    ),
  );
  const did = (piece: string, what: string): readonly number[] =>
    result.happenings
      .filter((each: HappeningRecord) => each.piece === piece && each.did.startsWith(what) && each.at_us > 3e6)
      .map(({ at_us }) => at_us / 1e6);
  const blamed = result.verdicts.reduce((sum, { violations }) => sum + violations.controller, 0);
  return { did, blamed };
}

describe('createReferenceController, the end of an island in which PV runs', () => {
  it('at the reserve takes the permit first: PV ceases within 150 ms, and only then the source stops', () => {
    const { did, blamed } = told('{ at: 40 s, do: vehicle set soc, using: { soc: 0.19 } }');
    const [ceased] = did('pv', 'ceases');
    const [stopped] = did('vehicle', 'stops');
    expect(ceased).toBeGreaterThan(40);
    expect(ceased).toBeLessThan(40.15);
    expect(stopped).toBeGreaterThan(ceased!);
    expect(blamed).toBe(0);
  });

  it('holds the middle of the legs when the source is torn out, until PV has ceased', () => {
    const { did, blamed } = told('{ at: 40 s, do: vehicle pull by force }');
    const [ceased] = did('pv', 'ceases');
    expect(did('vehicle', 'stops')[0]).toBeLessThan(ceased!);
    expect(did('former', 'parts L1')[0]).toBeGreaterThan(ceased!);
    expect(blamed).toBe(0);
  });

  it('takes the permit of an older inverter, which would leave at 60.5 Hz instead of slowing down, though the policy is to curtail', () => {
    const { did } = told(
      '{ at: 40 s, do: vehicle set soc, using: { soc: 0.905 } }',
      'category: "2003"',
      'surplus: curtail',
    );
    expect(did('pv', 'trips OF1')).toHaveLength(0);
    expect(did('pv', 'starts')).toHaveLength(1);
  });
});
