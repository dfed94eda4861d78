import type { Bag } from '../../../sim/site-description.ts';
import { coilOrdered, contactorOpens, fresh, RECORDS, restarted, stopsOnOverload } from './equipment-stories.ts';
import {
  BEHIND_RELAY,
  darkHouse,
  forms,
  HOUSE_DARK,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  outage,
  PV_STOPS,
  poles,
  SOUND,
  STREET_DARK,
} from './house.ts';
import { each, Story, type Values } from './telemetry-builder.ts';

/** For each rule a story without its end, in which the rule is armed and kept; the runs end at 5 s. */
export const KEPT: Readonly<Record<string, () => Story>> = {
  'no-backfeed': () => outage(onGrid(), 1_000_000).frame(1_500_000, { ...PV_STOPS, ...STREET_DARK }),
  'cease-on-island': () => mainOpened(onGrid(), 1_000_000).frame(1_500_000, PV_STOPS),
  'sync-close': () => relayCloses(besideLiveGrid({ transition: 'closed' }), 3_000_000),
  'dead-bus-form': () => forms(darkHouse(), 3_000_000),
  'reference-order': () =>
    relayOpens(new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0 }), 2_000_000),
  'manual-order': () =>
    mainOpened(new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0 }), 2_000_000),
  'leg-voltage': () => onGrid(),
  'source-limits': () => onGrid(),
  lockout: () => coilOrdered(onGrid(), 1_000_000, 0).frame(2_000_000, { 'gateway.lockout': 1 }),
  'relay-duty': () => relayOpens(onGrid(), 2_000_000),
  'plug-order': () => contactorOpens(1),
  'restart-limit': () => stopsOnOverload(forms(darkHouse(), 2_000_000), 3_000_000),
  'stale-data': () => fresh(onGrid(), 1_000_000, 50_000).frame(2_000_000, { 'gateway.pvPermit': 1 }),
  'ready-gate': () => forms(darkHouse(), 3_000_000, RECORDS),
};

/** The same with a violation. */
export const BROKEN: Readonly<Record<string, () => Story>> = {
  'no-backfeed': () => outage(onGrid(), 1_000_000).frame(4_000_000, { ...PV_STOPS, ...STREET_DARK }),
  'cease-on-island': () => mainOpened(onGrid(), 1_000_000).frame(4_000_000, PV_STOPS),
  'sync-close': () =>
    relayCloses(besideLiveGrid({ transition: 'closed' }, { 'iso.da1': 90, 'iso.da2': 90 }), 3_000_000),
  'dead-bus-form': () => forms(darkHouse(), 3_000_000, {}, {}),
  'reference-order': () => relayOpens(onGrid(), 2_000_000),
  'manual-order': () => mainOpened(onGrid(), 2_000_000),
  'leg-voltage': () =>
    mainOpened(onGrid(), 1_000_000).frame(1_010_000, { 'house.u2': 200 }).frame(1_200_000, { 'house.u2': 0 }),
  'source-limits': () => forms(darkHouse(), 3_000_000, { 'gateway.vehicleLimit': 41_000 }),
  lockout: () => coilOrdered(onGrid(), 1_000_000, 0).frame(2_000_000, { 'gateway.vehicleCommand': 4 }),
  'relay-duty': () => relayCloses(relayOpens(onGrid(), 2_000_000), 4_000_000),
  'plug-order': () => contactorOpens(30),
  'restart-limit': () => restarted(2),
  'stale-data': () => fresh(onGrid(), 1_000_000, 50_001).frame(2_000_000, { 'gateway.pvPermit': 1 }),
  'ready-gate': () => forms(darkHouse(), 3_000_000),
};

/** An island formed beside a street that is sound again, in step unless told otherwise. */
export function besideLiveGrid(settings: Bag, changes: Values = {}): Story {
  return forms(darkHouse(settings), 2_000_000)
    .happening(2_500_000, 'grid', 'supply back', 'utility')
    .frame(2_500_000, each(['service', 'panel'], { ...SOUND, supply: 1, present1: 1, present2: 1 }))
    .frame(2_900_000, { 'iso.da1': 5, 'iso.da2': 5, 'iso.df': 0.05, ...changes });
}

export function relayCloses(story: Story, at_us: number): Story {
  return story
    .happening(at_us, 'iso', 'touches L1', 'controller')
    .happening(at_us, 'iso', 'touches L2', 'controller')
    .frame(at_us, { ...poles('iso', 1), ...each(BEHIND_RELAY, { part: 1, present1: 1, present2: 1, supply: 1 }) });
}

export function relayOpens(story: Story, at_us: number, changes: Values = {}): Story {
  const { 'roof.permit': _permit, 'roof.tripped': _tripped, ...dark } = HOUSE_DARK;
  return story
    .happening(at_us, 'iso', 'parts L1', 'controller')
    .happening(at_us, 'iso', 'parts L2', 'controller')
    .frame(at_us, { ...dark, ...changes });
}
