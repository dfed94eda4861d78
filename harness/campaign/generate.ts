import type { Bag, SiteDescription } from '../../sim/site-description.ts';
import { createChance } from '../../sim/time/chance.ts';
import { type SimUs, US_PER_MS, US_PER_S } from '../../sim/units.ts';
import type { Happening, Scenario } from '../scenario/model.ts';

/** One thing that may happen at a site, and how likely it is to be chosen. */
interface Offer {
  readonly piece: string;
  readonly does: string;
  readonly using: (draw: () => number) => Bag;
  readonly weight: number;
}

const none = (): Bag => ({});

/**
 * A scenario that nobody thought of: `count` happenings at random instants, the same for the same seed anywhere.
 *
 * What the utility, the weather, the people and the loads may do to this site; a fault of the equipment is never hidden
 * in it. Expects nothing: every rule is judged all the same.
 *
 * @param count - happenings, 1 to 30
 */
export function generateScenario(site: SiteDescription, seed: number, count: number): Scenario {
  const draw = createChance(seed).stream('generator');
  const offers = offersOf(site);
  const total = offers.reduce((sum, { weight }) => sum + weight, 0);
  let at_us = 2 * US_PER_S;
  const happenings: Happening[] = [];
  for (let i = 0; i < count; i += 1) {
    let left = draw() * total;
    const offer = offers.find(({ weight }) => {
      left -= weight;
      return left < 0;
    });
    if (offer === undefined) continue;
    happenings.push({
      id: `h${i + 1}`,
      when: { at_us: at_us as SimUs },
      piece: offer.piece,
      does: offer.does,
      using: offer.using(draw),
    });
    at_us += gap_us(draw);
  }
  return {
    schema: 1,
    id: `generated-${seed}`,
    title: `Generated from seed ${seed}`,
    tags: ['generated'],
    seed,
    site,
    start: {},
    end_us: (at_us + 30 * US_PER_S) as SimUs,
    happenings,
    waveforms: 'none',
    expect: { pass: [], fail: [], statements: [] },
  };
}

/** Half of the gaps are long, so that things settle; half are short, so that they meet. Whole ms. */
function gap_us(draw: () => number): number {
  const short = draw() < 0.5;
  const span_ms = short ? 3_000 : 400_000;
  return (1 + Math.floor(draw() * span_ms)) * US_PER_MS;
}

function offersOf(site: SiteDescription): Offer[] {
  const offers: Offer[] = [];
  const offer = (piece: string, does: string, weight: number, using: Offer['using'] = none): void => {
    offers.push({ piece, does, weight, using });
  };
  for (const { id, kind, params } of site.pieces) {
    if (kind === 'utility') {
      offer(id, 'outage', 4);
      offer(id, 'restore', 4, (draw) => ({ angle: Math.floor(draw() * 360) - 180, voltage: 0 }));
    } else if (kind === 'pv') {
      offer(id, 'irradiance', 2, (draw) => ({ value: Math.floor(draw() * 11) / 10 }));
    } else if (kind === 'breaker' && params['role'] === 'main') {
      offer(id, 'open', 1);
      offer(id, 'close', 1);
    } else if (kind === 'load') {
      offer(id, 'off', 1);
      offer(id, 'on', 1);
    }
  }
  return offers;
}
