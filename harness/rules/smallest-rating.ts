import type { Bag, Id, SiteDescription } from '../../sim/site-description.ts';
import { LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import type { SiteFacts, SourceFacts } from './facts.ts';
import { neighbours } from './site-facts.ts';

/** A rating that a vehicle's current meets, and whose it is. */
export interface Rating {
  readonly current_A: number;
  readonly of: string;
}

/** Smallest of the vehicle's own rating, its cable, 0.80 of its supply breaker, the relays on its way to the street, and the busbar. */
export function smallestRating({ site, relays, serviceBus }: SiteFacts, source: SourceFacts): Rating {
  const { params } = source;
  const ratings: Rating[] = [{ current_A: source.rated_W / LINE_V, of: 'its own rating' }];
  const add = (value: unknown, share: number, of: string): void => {
    if (typeof value === 'number' && value > 0) ratings.push({ current_A: share * value, of });
  };
  add(params.cable, 1, 'its cable');
  add(params.supplyBreaker, orderedShare(), '0.80 of its supply breaker');
  const way = devicesOnWay(site, source.at, serviceBus);
  for (const relay of relays) if (way.has(relay.id)) add(relay.params.rating, 1, `relay ${relay.id}`);
  add(site.settings.busbar, 1, 'the busbar');
  return ratings.reduce((a, b) => (b.current_A < a.current_A ? b : a));
}

export const orderedShare = (): number => limit('nec.source.ordered').values.share_pu;

/**
 * Largest one-second rms, over the continuous current, that a source with this short-time rating can give: first what it
 * bears shortest, then the longer stage.
 */
export function shortTimeShare(params: Bag): number {
  const of = (name: string): number => (typeof params[name] === 'number' ? params[name] : 0);
  const second_us = 1_000_000;
  const long = Math.max(1, of('longOverload'));
  const short = Math.max(long, of('shortOverload'));
  const short_us = Math.min(second_us, of('shortOverloadTime'));
  const long_us = Math.min(second_us - short_us, of('longOverloadTime'));
  const rest_us = second_us - short_us - long_us;
  return Math.sqrt((short * short * short_us + long * long * long_us + rest_us) / second_us);
}

/** Pieces between two buses; the network is radial, so there is one way. */
function devicesOnWay(site: SiteDescription, from: Id, to: Id): ReadonlySet<Id> {
  const cameBy = new Map<Id, { readonly piece: Id; readonly bus: Id } | undefined>([[from, undefined]]);
  const queue: Id[] = [from];
  for (let head = 0; head < queue.length; head += 1) {
    const bus = queue[head]!;
    for (const { piece, far } of neighbours(site, bus)) {
      if (cameBy.has(far)) continue;
      cameBy.set(far, { piece: piece.id, bus });
      queue.push(far);
    }
  }
  const way = new Set<Id>();
  for (let step = cameBy.get(to); step !== undefined; step = cameBy.get(step.bus)) way.add(step.piece);
  return way;
}

/** Buses that lie behind the main, where one is marked: what feeds its busbar without coming through it. */
export function busesBehindMain(facts: SiteFacts): ReadonlySet<Id> | undefined {
  const main = facts.devices.find(({ kind, params }) => kind === 'breaker' && params.role === 'main');
  if (main === undefined) return undefined;
  const seen = new Set<Id>([main.at[1]]);
  const queue: Id[] = [main.at[1]];
  for (let head = 0; head < queue.length; head += 1) {
    for (const { piece, far } of neighbours(facts.site, queue[head]!)) {
      if (piece.id === main.id || seen.has(far)) continue;
      seen.add(far);
      queue.push(far);
    }
  }
  return seen;
}
