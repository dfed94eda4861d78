import { INTERCONNECTION_LIMITS } from './interconnection.ts';
import { LEGACY_LIMITS } from './legacy.ts';
import type { Limit } from './limit.ts';
import { OPERATION_LIMITS } from './operation.ts';
import { OWN_LIMITS } from './own.ts';
import { RIDE_THROUGH_LIMITS } from './ride-through.ts';
import { SUPPLY_LIMITS } from './supply.ts';
import { TOLERANCE_LIMITS } from './tolerance.ts';
import { TRIP_LIMITS } from './trip.ts';

export type { Limit } from './limit.ts';
export { LIMIT_SOURCES, type LimitSource } from './sources.ts';

/** Every limit that a rule or a model may rest on, by key. */
export const LIMITS = {
  ...TRIP_LIMITS,
  ...LEGACY_LIMITS,
  ...RIDE_THROUGH_LIMITS,
  ...INTERCONNECTION_LIMITS,
  ...TOLERANCE_LIMITS,
  ...OWN_LIMITS,
  ...SUPPLY_LIMITS,
  ...OPERATION_LIMITS,
} as const;

export type LimitKey = keyof typeof LIMITS;

/** The limit of that key, with the names of its values in its type. */
export function limit<K extends LimitKey>(key: K): (typeof LIMITS)[K] {
  return LIMITS[key];
}

/** All of them in order of their keys, for reports and docs. */
export function limitList(): readonly (Limit & { readonly key: LimitKey })[] {
  const keys = (Object.keys(LIMITS) as LimitKey[]).sort((a, b) => (a < b ? -1 : a > b ? 1 : 0));
  return keys.map((key) => ({ key, ...(LIMITS[key] as Limit) }));
}
