import { describe, expect, it } from 'vitest';
import { play, scenarioText } from '../../helpers/sites.ts';

/** Instants, s, at which the gateway ordered anything in or after a restart at `at`, with a second to boot. */
const orders = (at: string, restless: boolean): readonly number[] => {
  const scenario = scenarioText(
    `scenario: s\ntitle: t\nsite: juniper-lane.yaml\noverride: { settings: { bootTime: 1 s } }\nstart: { pv.irradiance: 0 }\n` +
      `end: 6 s\nhappenings: [ { at: 2 s, do: utility outage }, { at: ${at}, do: gateway restart } ]\n`,
  );
  return play(scenario, { restless })
    .happenings.filter(({ piece, did }) => piece === 'gateway' && did.startsWith('orders'))
    .map(({ at_us }) => at_us / 1e6)
    .filter((order_s) => order_s >= Number.parseFloat(at));
};

describe('a restart of the controller', () => {
  it('is followed by no scan before its boot time of 1 s is over, though it had asked to be woken sooner', () => {
    // At 2.1 s it waits for the end of 160 ms.
    expect(orders('2.1 s', false)[0]).toBeCloseTo(3.1, 6);
  });

  it('is so whether or not anybody looks more often', () => {
    expect(orders('2.1 s', true)).toEqual(orders('2.1 s', false));
  });
});
