import { describe, expect, it } from 'vitest';
import { problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { writeScenario } from '../../../harness/scenario/reader/write-scenario.ts';
import { targetsOf, variantsOf } from '../../../harness/scenario/variants.ts';
import { GATEWAY_KIND, KINDS, SCENARIO, SETTINGS, tables } from './sample.ts';

const known = { kinds: KINDS, settings: SETTINGS, gateway: GATEWAY_KIND };
const read = (vary: string) => readScenarioText(`${SCENARIO}vary: ${vary}\n`, 'scenarios/sun.yaml', tables());
const scenarioOf = (vary: string) => {
  const found = read(vary);
  if ('problems' in found) throw new Error(problemReport(found.problems));
  return found.scenario;
};
const problemsOf = (vary: string): string => {
  const found = read(vary);
  return 'problems' in found ? problemReport(found.problems) : 'none';
};

describe('variantsOf', () => {
  it('is the scenario itself where nothing varies', () => {
    const found = readScenarioText(SCENARIO, 'scenarios/sun.yaml', tables());
    if ('problems' in found) throw new Error(problemReport(found.problems));
    expect(variantsOf(found.scenario, known)).toEqual([{ name: '', scenario: found.scenario }]);
  });

  it('takes every combination, the last name fastest, and says what varies with units', () => {
    const variants = variantsOf(scenarioOf('{ pv.irradiance: [0.2, 0.9], relay.openTravel: [5 ms, 8.5 ms] }'), known);
    expect(variants.map(({ name }) => name)).toEqual([
      'pv.irradiance 0.2, relay.openTravel 5 ms',
      'pv.irradiance 0.2, relay.openTravel 8.5 ms',
      'pv.irradiance 0.9, relay.openTravel 5 ms',
      'pv.irradiance 0.9, relay.openTravel 8.5 ms',
    ]);
    const last = variants[3]!.scenario;
    expect(last.start['pv.irradiance']).toBe(0.9);
    expect(last.site.pieces.find(({ id }) => id === 'relay')?.params['openTravel']).toBe(8500);
    expect('vary' in last).toBe(false);
  });

  it('moves happenings, what they use, settings and the seed', () => {
    const scenario = scenarioOf(
      '{ seed: [4], settings.handOpening: [outage], happenings.utility-restore.angle: [90 deg], happenings.back.delay: [7 s] }',
    );
    const [{ scenario: only } = { scenario }] = variantsOf(scenario, known);
    expect(only.seed).toBe(4);
    expect(only.site.settings['handOpening']).toBe('outage');
    expect(only.happenings.find(({ id }) => id === 'utility-restore')?.using['angle']).toBe(90);
    expect(only.happenings.find(({ id }) => id === 'back')?.when).toMatchObject({ delay_us: 7_000_000 });
  });

  it('forgets why a default had its value once it is varied', () => {
    const [{ scenario } = { scenario: undefined }] = variantsOf(scenarioOf('{ pv.droop: [0.1 1/Hz] }'), known);
    expect(scenario?.site.pieces.find(({ id }) => id === 'pv')?.sources).toEqual({});
  });
});

describe('targetsOf', () => {
  it('lets a starting value go before a parameter of the same name', () => {
    const scenario = scenarioOf('{ kitchen.power: [50 W] }');
    expect(targetsOf(scenario, known).get('kitchen.power')?.apply(scenario, 50).start['kitchen.power']).toBe(50);
  });
});

describe('readScenarioText on vary', () => {
  it('reads a range with both its ends, free of the dust of binary fractions', () => {
    expect(scenarioOf('{ pv.irradiance: { from: 0.1, to: 0.7, step: 0.2 } }').vary).toEqual({
      'pv.irradiance': [0.1, 0.3, 0.5, 0.7],
    });
    expect(scenarioOf('{ relay.openTravel: { from: 5 ms, to: 9 ms, step: 3 ms } }').vary).toEqual({
      'relay.openTravel': [5000, 8000],
    });
  });

  it('is written and read again to the same study', () => {
    const scenario = scenarioOf('{ happenings.back.delay: [7 s, 8 s], pv.irradiance: { from: 0, to: 1, step: 0.5 } }');
    const again = readScenarioText(writeScenario(scenario, tables()), 'scenarios/sun.yaml', tables());
    expect('scenario' in again && again.scenario).toEqual(scenario);
  });

  it.each([
    ['{ pv.irradiance: [] }', 'an empty list'],
    ['{ pv.irradiance: { from: 0.5, to: 0.1, step: 0.1 } }', '"to" before "from"'],
    ['{ pv.irradiance: { from: 0.1, to: 0.5, step: 0 } }', 'a step of 0 or less'],
    ['{ pv.irradiance: { from: 0, to: 1 } }', 'step'],
    ['{ relay.openTravel: { from: 0 ms, to: 1 s, step: 1 us } }', '1000001 values'],
    ['{ pv.irradiance: [2] }', 'SCN-RANGE'],
    ['{ happenings.bak.delay: [1 s] }', 'happenings.back.delay'],
    ['{ happenings.main-open.at: [2 h] }', 'SCN-RANGE'],
    [
      `{ seed: { from: 1, to: 200, step: 1 }, relay.openTravel: { from: 1 ms, to: 51 ms, step: 1 ms } }`,
      '10200 variants',
    ],
    ['{ relay.type: [held-closed, held-open] }', 'with relay.type held-open'],
  ])('refuses %s', (vary, said) => {
    expect(problemsOf(vary)).toContain(said);
  });

  it('refuses a combination that makes no sound site, though each value does by itself', () => {
    expect(problemsOf('{ settings.transition: [closed], settings.syncCheck: [yes] }')).toBe('none');
    expect(problemsOf('{ settings.transition: [open, closed], settings.syncCheck: [yes, no] }')).toContain(
      'with settings.transition closed, settings.syncCheck false',
    );
  });
});
