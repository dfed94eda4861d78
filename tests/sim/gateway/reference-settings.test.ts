import { describe, expect, it } from 'vitest';
import { settingsOf } from '../../../sim/gateway/reference-settings.ts';
import type { Plain, SiteDescription } from '../../../sim/site-description.ts';
import { siteOf } from '../../helpers/sites.ts';

/** A built-in site with other settings, and other parameters of its own inverter. */
function changed(name: string, settings: Record<string, Plain>, pv: Record<string, Plain> = {}): SiteDescription {
  const site = siteOf(name);
  const pieces = site.pieces.map((piece) =>
    piece.id === 'pv' ? { ...piece, params: { ...piece.params, ...pv } } : piece,
  );
  return { ...site, pieces, settings: { ...site.settings, ...settings } };
}

describe('settingsOf', () => {
  it('curtails a surplus only where every inverter gives less at a higher frequency', () => {
    const curtail = { surplus: 'curtail' };
    const surplusOf = (site: SiteDescription): string => settingsOf(site).chart.surplus;
    expect(surplusOf(changed('juniper-lane', curtail))).toBe('curtail');
    expect(surplusOf(changed('juniper-lane', { surplus: 'withdraw' }))).toBe('withdraw');
    expect(surplusOf(changed('juniper-lane', curtail, { droop: 'no' }))).toBe('withdraw');
    // Of the 2003 edition: it trips at 60.5 Hz.
    expect(surplusOf(changed('orchard-gate', curtail))).toBe('withdraw');
    expect(surplusOf(changed('orchard-gate', curtail, { droop: 'yes' }))).toBe('curtail');
  });
});
