import { describe, expect, it } from 'vitest';
import { channelsOf } from '../../../harness/scenario/channels.ts';
import type { SiteDescription } from '../../../sim/site-description.ts';

const site: SiteDescription = {
  schema: 1,
  id: 'one',
  buses: [{ id: 'panel', side: 'premises' }],
  pieces: [
    { id: 'branch', kind: 'breaker', at: ['panel', 'panel'], legs: ['L2'], params: {}, sources: {} },
    { id: 'odd', kind: 'constructor', at: ['panel'], legs: [], params: {}, sources: {} },
  ],
  settings: {},
};

describe('channelsOf', () => {
  const channels = channelsOf(site);
  const of = (owner: string) =>
    channels.filter(({ name }) => name.startsWith(`${owner}.`)).map(({ name }) => name.slice(owner.length + 1));

  it('has for a bus what docs/telemetry.md lists', () => {
    expect(of('panel').join(' ')).toBe(
      'v1 v2 v12 u1 u2 u12 legAngle f supply present1 present2 neutralHeld part following forming nIsl bonds',
    );
  });

  it('has for a device with one pole the channels of that pole alone', () => {
    expect(of('branch').join(' ')).toBe('L2 dv2 da2 df i2 thermal aux');
  });

  it('has nothing for a kind that is not known, and the whole boundary of the gateway', () => {
    expect(of('odd')).toEqual([]);
    expect(channels).toContainEqual({ name: 'gateway.relayCoil', unit: 'bit' });
    expect(channels).toContainEqual({ name: 'gateway.in.utilityL1', unit: 'mV' });
  });
});
