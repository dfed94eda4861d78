import { readdirSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { channelsOf } from '../../../sim/site.ts';
import type { Channel } from '../../../sim/telemetry.ts';
import { play, scenarioText, siteOf } from '../../helpers/sites.ts';

const SITES = readdirSync('scenarios/sites').map((file) => file.replace('.yaml', ''));

/** What stands in the head when a site is played for 1 s. */
function headOf(site: string): readonly Channel[] {
  let head: readonly Channel[] = [];
  play(scenarioText(`scenario: bare\ntitle: Nothing happens\nsite: ${site}.yaml\nend: 1 s\n`), {
    telemetry: (telemetry) => {
      if (telemetry.kind === 'head') head = telemetry.channels;
    },
  });
  return head;
}

/** Everything wrong with a scenario of juniper-lane that makes one statement. */
function complaint(channel: string, is: string, value: string): string {
  const text = `scenario: bare\ntitle: Nothing happens\nsite: juniper-lane.yaml\nend: 1 s\nexpect:\n  statements:\n    - { at the end: { channel: ${channel}, is: "${is}", value: ${value} } }\n`;
  try {
    scenarioText(text);
    return 'none';
  } catch (cause) {
    return (cause as Error).message;
  }
}

describe('channelsOf', () => {
  it.each(SITES)('%s: names, units and states are those of the head of a run, in its order', (site) => {
    const head = headOf(site);
    expect(channelsOf(siteOf(site))).toEqual(head);
    expect(head.length).toBeGreaterThan(200);
  });

  it.each(SITES)('%s: each name once, and each channel of states says which', (site) => {
    const channels = channelsOf(siteOf(site));
    expect(new Set(channels.map(({ name }) => name)).size).toBe(channels.length);
    const speechless = channels.filter(({ unit, states }) => (unit === 'state') !== (states !== undefined));
    expect(speechless).toEqual([]);
  });

  it('of a breaker with one pole has the channels of that pole alone', () => {
    const site = siteOf('juniper-lane');
    const pieces = site.pieces.map((piece) =>
      piece.id === 'pv-breaker' ? { ...piece, legs: ['L2'] as const } : piece,
    );
    const names = channelsOf({ ...site, pieces }).map(({ name }) => name);
    const own = names.filter((name) => name.startsWith('pv-breaker.'));
    expect(own.join(' ')).toBe(
      'pv-breaker.L2 pv-breaker.dv2 pv-breaker.da2 pv-breaker.i2 pv-breaker.df pv-breaker.thermal pv-breaker.aux',
    );
  });
});

describe('a statement about a real site', () => {
  it.each([
    ['relay.L1', 'closd', 'Did you mean \\"closed\\"?'],
    ['pv.mode', 'runing', 'Did you mean \\"running\\"?'],
    ['vehicle.mode', 'formin', 'Did you mean \\"forming\\"?'],
    ['kitchen.state', 'onn', 'Did you mean \\"on\\"?'],
    ['house.supply', 'utilty', 'Did you mean \\"utility\\"?'],
    ['pv.mod', 'running', 'Did you mean \\"pv.mode\\"?'],
    ['utility.neighbours', '3', 'with no unit'],
  ])('that %s be %s is refused, with what was probably meant', (channel, value, said) => {
    expect(complaint(channel, '=', value)).toContain(said);
  });

  it.each([
    ['relay.L1', 'closed'],
    ['pv.mode', 'not permitted'],
    ['vehicle.mode', 'discharging'],
    ['kitchen.state', 'off'],
  ])('that %s be %s is taken', (channel, value) => {
    expect(complaint(channel, '=', value)).toBe('none');
  });
});
