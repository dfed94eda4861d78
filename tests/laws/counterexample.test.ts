import { describe, expect, it } from 'vitest';
import { REFERENCE_CHART } from '../../sim/gateway/reference-chart.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';
import { machineOf } from '../../sim/gateway/reference-plain.ts';
import type { SiteDescription } from '../../sim/site-description.ts';
import { scenarioText } from '../helpers/sites.ts';
import { faultyCases, soundCases } from './domain/cases.ts';
import { brokenIn, playCase } from './domain/counterexample.ts';
import { counterexampleOf, type Law, RULES_OF_THE_LAW } from './domain/law.ts';

type States = NonNullable<typeof REFERENCE_CHART.regions.transfer>['states'];

/** The reference chart with some states of its transfer put another way. */
function wrong(changes: NonNullable<States>) {
  const transfer = REFERENCE_CHART.regions['transfer']!;
  const machine = machineOf({
    ...REFERENCE_CHART,
    regions: { ...REFERENCE_CHART.regions, transfer: { ...transfer, states: { ...transfer.states, ...changes } } },
  });
  return (site: SiteDescription) => createReferenceController(site, machine);
}

const byController: Law['forbids'] = ({ against }) => against === 'controller';

describe('counterexampleOf', () => {
  it.each([
    [
      'joins the utility without waiting for the moment',
      soundCases.map((one) => ({ ...one, variation: { ...one.variation, transition: 'closed' as const } })),
      wrong({ synchronising: { always: [{ to: 'meeting' }] } }),
      'sync-close',
      12,
    ],
    [
      'does not wait for the contacts',
      faultyCases,
      wrong({
        isolating: { after: { separation: [{ to: 'formingNeutral' }] } },
        formingNeutral: { after: { neutralTravel: [{ to: 'forming' }] } },
        forming: { entry: ['countFormTry'], always: [{ if: ['houseGood'], to: 'islanded' }] },
      }),
      'dead-bus-form',
      3,
    ],
  ] as const)(
    'a controller that %s: found, shrunk, and a file that fails the same way with the same digest',
    (_, cases, controllerOf, rule, most) => {
      const { file } = counterexampleOf({ cases, runs: 150, forbids: byController, controllerOf });
      expect(file).toContain(`# breaks ${rule}`);
      const scenario = scenarioText(file!);
      const result = playCase(scenario, controllerOf);
      const said = brokenIn(result, RULES_OF_THE_LAW)
        .filter(byController)
        .map((each) => `# breaks ${each.rule}, ${each.times} times, against: ${each.against}`);
      expect(file!.split('\n').filter((line) => line.startsWith('# breaks'))).toEqual(said);
      expect(file).toContain(`# digest ${result.digests.run}\n`);
      expect(scenario.happenings.length).toBeLessThanOrEqual(most);
    },
  );
});
