import { continuousCurrent_A } from '../../sim/equipment/vehicle-settings.ts';
import type { Id, Piece, SiteDescription } from '../../sim/site-description.ts';
import { LINE_V, quantityText } from '../../sim/units.ts';
import { type Checked, isMain, type SiteFault, wayTo } from './site-graph.ts';

/** Share of a breaker that a current without end may take. Law: NEC 210.20(A), 625.41 and 690.8, continuous load. */
const CONTINUOUS = 0.8;
/** So little too much is rounding. */
const ROUNDING_A = 1e-9;

const amps = (current_A: number): string => quantityText(current_A, 'A');
const ratingOf = ({ params }: Piece): number | undefined =>
  typeof params.rating === 'number' && params.rating > 0 ? params.rating : undefined;
const above = (current_A: number, limit_A: number): boolean => current_A > limit_A + ROUNDING_A;

/** Ratings that a vehicle's current goes by, A; undefined where one of them is not known. */
export function vehicleRatings({ params }: Piece) {
  const { rated, cable, supplyBreaker, continuousShare } = params;
  const given = [rated, cable, supplyBreaker, continuousShare].every((value) => typeof value === 'number');
  if (!given) return undefined;
  const breaker_A = supplyBreaker as number;
  return {
    own_A: (rated as number) / LINE_V,
    cable_A: cable as number,
    breaker_A,
    continuous_A: continuousCurrent_A(params),
    allowed_A: CONTINUOUS * breaker_A,
  };
}

/** Current without end of a source, A. */
function continuousOf(source: Piece): number | undefined {
  if (source.kind === 'vehicle') return vehicleRatings(source)?.continuous_A;
  const { rated } = source.params;
  return typeof rated === 'number' ? rated / LINE_V : undefined;
}

export function zeroFaults(site: SiteDescription): SiteFault[] {
  return site.pieces
    .filter(({ kind, params }) => (kind === 'breaker' || kind === 'relay') && params.rating === 0)
    .map(({ id, kind }) => ({
      code: 'SITE-RATING',
      piece: id,
      key: 'rating',
      found: `a ${kind} of 0 A`,
      expected: 'a rating above 0 A',
      mend: 'Write the rating that is printed on it',
    }));
}

/** Of all ratings that a current meets the smallest rules. Each refusal names the two that do not fit. */
export function ratingFaults(checked: Checked): SiteFault[] {
  const sources = checked.site.pieces.filter(({ kind }) => kind === 'vehicle' || kind === 'pv');
  return [
    ...sources.flatMap((source) => [...ownBreakerFaults(source), ...wayFaults(checked, source)]),
    ...relayFaults(checked),
    ...busbarFaults(checked),
  ];
}

function ownBreakerFaults(source: Piece): SiteFault[] {
  const ratings = source.kind === 'vehicle' ? vehicleRatings(source) : undefined;
  if (ratings === undefined || !above(ratings.continuous_A, ratings.allowed_A)) return [];
  const { continuous_A, allowed_A, breaker_A } = ratings;
  return [
    {
      code: 'SITE-LIMIT',
      piece: source.id,
      key: 'continuousShare',
      found: `${source.id} set to ${amps(continuous_A)} behind a supply breaker of ${amps(breaker_A)}`,
      expected: `${amps(allowed_A)} at most, 0.80 of it`,
      mend: 'Write "continuousShare: 0.8", or a larger supplyBreaker if one is fitted',
    },
  ];
}

function wayFaults(checked: Checked, source: Piece): SiteFault[] {
  const current_A = continuousOf(source);
  if (current_A === undefined) return [];
  return wayTo(checked, source).flatMap((device): SiteFault[] => {
    const rating_A = ratingOf(device);
    if (rating_A === undefined || (device.kind !== 'breaker' && device.kind !== 'relay')) return [];
    const isBreaker = device.kind === 'breaker';
    const allowed_A = isBreaker ? CONTINUOUS * rating_A : rating_A;
    if (!above(current_A, allowed_A)) return [];
    return [
      {
        code: 'SITE-LIMIT',
        piece: device.id,
        key: 'rating',
        found: `${source.id} with ${amps(current_A)} without end through ${device.kind} ${device.id} of ${amps(rating_A)}`,
        expected: isBreaker ? `${amps(allowed_A)} at most, 0.80 of the breaker` : `${amps(allowed_A)} at most`,
        mend: `Write a smaller ${source.kind === 'vehicle' ? 'supplyBreaker' : 'rated'} for ${source.id}, or the rating that ${device.id} has`,
      },
    ];
  });
}

/** A relay must bear what the breakers ahead of it let through; where the main stands behind it, what the main does. */
function relayFaults(checked: Checked): SiteFault[] {
  const told = new Set<Id>();
  return checked.forming.flatMap((source) => {
    const way = wayTo(checked, source);
    return way.flatMap((relay, index): SiteFault[] => {
      const rating_A = relay.kind === 'relay' ? ratingOf(relay) : undefined;
      const before = way.filter((each, at) => each.kind === 'breaker' && (at < index || isMain(each)));
      const [least] = [...before].sort((a, b) => (ratingOf(a) ?? Infinity) - (ratingOf(b) ?? Infinity));
      const lets_A = least === undefined ? undefined : ratingOf(least);
      if (rating_A === undefined || lets_A === undefined || !above(lets_A, rating_A) || told.has(relay.id)) return [];
      told.add(relay.id);
      return [
        {
          code: 'SITE-LIMIT',
          piece: relay.id,
          key: 'rating',
          found: `relay ${relay.id} of ${amps(rating_A)} in series with breaker ${least!.id} of ${amps(lets_A)}`,
          expected: `a relay of ${amps(lets_A)} or more, or a smaller breaker in its way`,
          mend: 'Write the rating that is printed on it, or add the breaker that protects it',
        },
      ];
    });
  });
}

function busbarFaults({ site }: Checked): SiteFault[] {
  const { busbar } = site.settings;
  if (typeof busbar !== 'number' || busbar === 0) return [];
  return site.pieces
    .filter((piece) => isMain(piece) && above(ratingOf(piece) ?? 0, busbar))
    .map((main) => ({
      code: 'SITE-LIMIT',
      setting: 'busbar',
      found: `a busbar of ${amps(busbar)} behind main ${main.id} of ${amps(ratingOf(main)!)}`,
      expected: `a busbar of ${amps(ratingOf(main)!)} or more`,
      mend: 'Write the ratings that are printed on both',
    }));
}
