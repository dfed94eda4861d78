import type { KindSpec } from '../site-description.ts';
import { bond } from './bond.ts';
import { breaker } from './breaker.ts';
import { conductor } from './conductor.ts';
import { fault } from './fault.ts';
import { former } from './former.ts';
import { load } from './load.ts';
import type { Kind } from './piece.ts';
import { pv } from './pv.ts';
import { relay } from './relay.ts';
import { utility } from './utility.ts';
import { vehicle } from './vehicle.ts';

/** Every kind of equipment, in the order in which docs and schemas list them. */
export const CATALOGUE: readonly Kind[] = [utility, conductor, bond, breaker, relay, former, pv, vehicle, load, fault];

export const KINDS: readonly KindSpec[] = CATALOGUE.map(({ spec }) => spec);
