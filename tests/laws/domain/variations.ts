import fc from 'fast-check';
import type { Bag, Piece, SiteDescription } from '../../../sim/site-description.ts';
import { siteOf } from '../../helpers/sites.ts';

const BASES = ['juniper-lane', 'mill-cottage', 'quarry-farm'] as const;
const MS_us = 1_000;
const S_us = 1_000_000;

/** A built-in site, and what is other about it. Of each list the first is what shrinking ends at. */
export interface Variation {
  readonly base: (typeof BASES)[number];
  readonly neighbours_W: number;
  readonly motorShare: number;
  /** Times the rating that each inverter of the site has. */
  readonly pvScale: number;
  readonly category: string;
  readonly loads: 'as drawn' | 'legs exchanged' | 'across';
  /** The vehicle holds the neutral itself, and the neutral former is taken out. */
  readonly threeTerminals: boolean;
  /** Its enable runs through the relay's open contact; at a closed transition that would end the source as the poles meet. */
  readonly interlock: boolean;
  readonly relay: Bag;
  readonly transition: 'open' | 'closed';
  readonly hand: 'isolation' | 'outage' | 'unknown';
  readonly settings: Bag;
  readonly enterDelay_us: number;
}

/** Sites of the law: the built-in ones, most often the plain one, and what differs from house to house. */
export const variations: fc.Arbitrary<Variation> = fc.record({
  base: fc.oneof(
    { weight: 9, arbitrary: fc.constant(BASES[0]) },
    { weight: 9, arbitrary: fc.constant(BASES[1]) },
    { weight: 1, arbitrary: fc.constant(BASES[2]) },
  ),
  neighbours_W: fc.constantFrom(9_000, 0, 2_500, 25_000),
  motorShare: fc.constantFrom(0, 0, 0, 0, 0, 0, 40),
  pvScale: fc.constantFrom(1, 0.3, 1.1),
  category: fc.constantFrom('II', 'III'),
  loads: fc.constantFrom('as drawn', 'legs exchanged', 'across'),
  threeTerminals: fc.boolean(),
  interlock: fc.constantFrom(true, true, false),
  relay: fc.record({
    type: fc.constantFrom('held-closed', 'latching'),
    pickUpSpread: fc.constantFrom(0, 3 * MS_us),
    dropOutSpread: fc.constantFrom(0, 4 * MS_us),
  }),
  transition: fc.constantFrom('open', 'closed'),
  hand: fc.constantFrom('isolation', 'outage', 'unknown'),
  settings: fc.record({
    returnGood: fc.constantFrom(3 * S_us, 3 * S_us, 20 * S_us, 60 * S_us),
    rest: fc.constantFrom(2 * S_us, 2 * S_us, 10 * S_us),
    syncSlip: fc.constantFrom(0.25, 0.25, 0.1),
    // With `voltage test` the site lets the test overrule a contact: then dead-bus-form speaks by the site's own choice.
    stuckContact: fc.constant('lockout'),
    surplus: fc.constantFrom('withdraw', 'curtail'),
    openNeutral: fc.constantFrom('person', 'try'),
    chargeOnUtility: fc.constantFrom(false, false, true),
    scanPhase: fc.integer({ min: 0, max: 9 }).map((ms) => ms * MS_us),
    scanPeriod: fc.constantFrom(10 * MS_us, 10 * MS_us, 7 * MS_us, 20 * MS_us),
    sensorLatency: fc.constantFrom(0, 0, 12 * MS_us, 30 * MS_us),
  }),
  enterDelay_us: fc.constantFrom(300 * S_us, 15 * S_us),
});

const BASE_SITES = Object.fromEntries(BASES.map((name) => [name, siteOf(name)]));

export function siteOfVariation(variation: Variation): SiteDescription {
  const site = BASE_SITES[variation.base]!;
  const { transition, hand, settings } = variation;
  const without = variation.threeTerminals ? ['former'] : [];
  return {
    ...site,
    pieces: site.pieces.filter(({ kind }) => !without.includes(kind)).map((piece) => varied(piece, variation)),
    settings: {
      ...site.settings,
      ...settings,
      transition,
      syncCheck: transition === 'closed',
      handOpening: hand === 'isolation' ? 'isolation' : 'outage',
    },
  };
}

function varied(piece: Piece, variation: Variation): Piece {
  const changes = changesOf(piece, variation);
  const sources = Object.fromEntries(Object.entries(piece.sources).filter(([name]) => !Object.hasOwn(changes, name)));
  return { ...piece, legs: legsOf(piece, variation), params: { ...piece.params, ...changes }, sources };
}

function changesOf({ kind, params }: Piece, variation: Variation): Bag {
  const { neighbours_W, motorShare, pvScale, category, enterDelay_us } = variation;
  switch (kind) {
    case 'utility':
      return { neighbours: neighbours_W, motorShare };
    case 'pv':
      return { rated: Number(params['rated']) * pvScale, category, enterDelay: enterDelay_us };
    case 'relay':
      return variation.relay;
    case 'vehicle':
      return {
        interlock: variation.interlock && variation.transition === 'open' ? 'relay' : 'none',
        ...(variation.threeTerminals && { neutral: true, neutralFormer: 'none' }),
      };
    case 'breaker':
      return params['role'] === 'main' && variation.hand === 'unknown' ? { aux: false } : {};
    default:
      return {};
  }
}

function legsOf({ kind, legs }: Piece, { loads }: Variation): Piece['legs'] {
  if (kind !== 'load' || loads === 'as drawn') return legs;
  if (loads === 'across') return ['L1', 'L2'];
  if (!legs.includes('N')) return legs;
  return legs.includes('L1') ? ['L2', 'N'] : ['L1', 'N'];
}
