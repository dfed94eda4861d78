import { KINDS } from '../../../sim/equipment/catalogue.ts';
import { GATEWAY_ID, GATEWAY_KIND } from '../../../sim/gateway/spec.ts';
import type { Bag, Plain, SiteDescription } from '../../../sim/site-description.ts';

/** Shares from 0 to 1 from which one step draws what it needs. */
export type Draws = readonly [number, number];
export interface Doing {
  readonly piece: string;
  readonly does: string;
  readonly using: Bag;
}
type Make = (draws: Draws) => Bag;

/** One thing that may happen: which kind of piece, what, how often, with what. */
interface Offer {
  readonly kind: string;
  readonly does: string;
  readonly weight: number;
  readonly make: Make;
}

const none: Make = () => ({});
export const whole = (draw: number, min: number, max: number): number => min + Math.floor(draw * (max - min + 1));
export const pick = <T>(list: readonly T[], draw: number): T =>
  list[Math.min(list.length - 1, Math.floor(draw * list.length))]!;
const MS_us = 1_000;

const offer = (kind: string, does: string, weight: number, make: Make = none): Offer => ({ kind, does, weight, make });
const trouble: Make = ([a, b]) => ({ duration: whole(a, 20, 3_000) * MS_us, angle: pick([0, 40, -60], b) });

/**
 * What the utility, the weather, people and the house may do in the law. Nothing of it is hidden: each shows in readings
 * as it happens.
 */
export const OFFERS: readonly Offer[] = [
  offer('utility', 'outage', 8),
  offer('utility', 'restore', 12, ([a, b]) => ({
    angle: whole(a, -180, 180),
    voltage: pick([0, 0, 1, 0.95, 1.04], b),
  })),
  offer('utility', 'recloser', 2, ([a, b]) => ({
    attempts: whole(a, 1, 3),
    dead1: pick([300, 100, 1_000, 5_000], b) * MS_us,
    ends: pick(['on', 'off'], (a * 7) % 1),
  })),
  offer('utility', 'flap', 1, ([a, b]) => ({ period: whole(a, 100, 8_000) * MS_us, count: whole(b, 1, 6) })),
  offer('utility', 'sag', 2, (draws) => ({
    voltage: pick([0.5, 0.2, 0.7, 0.85], (draws[0] * 11) % 1),
    ...trouble(draws),
  })),
  offer('utility', 'swell', 1, (draws) => ({
    voltage: pick([1.15, 1.25, 1.3], (draws[0] * 11) % 1),
    ...trouble(draws),
  })),
  offer('utility', 'lose leg', 2, ([a]) => ({ leg: pick(['L1', 'L2'], a) })),
  offer('utility', 'restore leg', 3, ([a]) => ({ leg: pick(['L1', 'L2'], a) })),
  offer('utility', 'open neutral', 1),
  offer('utility', 'mend neutral', 1),
  offer('utility', 'frequency step', 1, ([a]) => ({ frequency: pick([60, 60, 59.7, 60.8], a) })),
  offer('utility', 'phase jump', 1, ([a]) => ({ angle: whole(a, -120, 120) })),
  offer('utility', 'neighbours', 1, ([a]) => ({ power: whole(a, 0, 30) * 1_000 })),
  offer('pv', 'irradiance', 5, ([a]) => ({ value: whole(a, 0, 10) / 10 })),
  offer('pv', 'trip test', 1),
  offer('main', 'open', 4),
  offer('main', 'close', 4),
  offer('branch', 'open', 1),
  offer('branch', 'close', 1),
  offer('load', 'off', 2),
  offer('load', 'on', 2),
  offer('vehicle', 'leave', 1),
  offer('vehicle', 'unplug', 1),
  offer('vehicle', 'plug in', 2),
  offer('vehicle', 'charge', 1, ([a]) => ({ current: pick([0, 10, 30], a) })),
  offer('vehicle', 'stop', 1),
  offer('vehicle', 'fault', 1, ([a]) => ({ code: whole(a, 1, 8) })),
  offer('vehicle', 'clear fault', 1),
  offer('vehicle', 'sleep', 1),
  offer('vehicle', 'wake', 1),
  offer('vehicle', 'set soc', 2, ([a]) => ({ soc: pick([0.7, 0.9, 0.21, 0.1, 0.35, 0.98], a) })),
  offer('former', 'reset', 1),
  offer('gateway', 'request', 4, ([a, b]) => ({ what: pick(['form', 'return', 'reset', 'none'], a), onSite: b < 0.8 })),
  offer('gateway', 'restart', 2),
];
export const OFFERED: readonly number[] = OFFERS.flatMap(({ weight }, i) => Array<number>(weight).fill(i));

/** The pieces that an offer may mean: the main by its role, other breakers as branches. */
function meant(site: SiteDescription, kind: string): readonly string[] {
  if (kind === 'gateway') return [GATEWAY_ID];
  return site.pieces
    .filter((piece) => {
      if (piece.kind !== 'breaker') return piece.kind === kind;
      return kind === (piece.params['role'] === 'main' ? 'main' : 'branch');
    })
    .map(({ id }) => id);
}

/** What a step does at this site; undefined where it has no such piece. */
export function doingOf(
  site: SiteDescription,
  kind: string,
  does: string,
  made: Bag,
  which: number,
): Doing | undefined {
  const ids = meant(site, kind);
  if (ids.length === 0) return undefined;
  return { piece: pick(ids, which), does, using: { ...defaultsOf(kind, does), ...made } };
}

function defaultsOf(kind: string, does: string): Record<string, Plain> {
  const wanted = kind === 'main' || kind === 'branch' ? 'breaker' : kind;
  const spec = kind === 'gateway' ? GATEWAY_KIND : KINDS.find((each) => each.kind === wanted);
  const using = spec?.does.find(({ name }) => name === does)?.using;
  if (using === undefined) throw new RangeError(`nobody can do "${does}" to a ${kind}`);
  return Object.fromEntries(using.flatMap((each) => (each.default === undefined ? [] : [[each.name, each.default]])));
}
