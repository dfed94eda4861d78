import type { Bag } from '../../../sim/site-description.ts';
import { coilOrdered, contactorOpens, fresh, RECORDS, restarted, stopsOnOverload } from './equipment-stories.ts';
import {
  BEHIND_RELAY,
  CAR_READY,
  CAR_STOPS,
  DARK,
  darkHouse,
  forms,
  HOUSE_DARK,
  house,
  legLost,
  mainOpened,
  ON_GRID,
  onGrid,
  outage,
  PV_RUNS,
  PV_STOPS,
  poles,
  SOUND,
  STREET_DARK,
  trips,
  voltage,
} from './house.ts';
import { each, Story, type Values } from './telemetry-builder.ts';

/** For each rule a story without its end, in which the rule is armed and kept; the runs end at 5 s. */
export const KEPT: Readonly<Record<string, () => Story>> = {
  'no-backfeed': () => outage(onGrid(), 1_000_000).frame(1_500_000, { ...PV_STOPS, ...STREET_DARK }),
  'cease-on-island': () => mainOpened(onGrid(), 1_000_000).frame(1_500_000, PV_STOPS),
  'open-phase': () => legLost(onGrid(), 1_000_000).frame(2_000_000, PV_STOPS),
  'abnormal-voltage': () => trips(voltage(onGrid(), 1_000_000, 0.4), 1_140_000, 'UV2'),
  'abnormal-frequency': () => trips(onGrid().frame(1_000_000, { 'house.f': 62.5 }), 1_140_000, 'OF2'),
  'ride-through': () => voltage(voltage(onGrid(), 1_000_000, 0.8), 2_000_000, 1),
  'enter-service': () => entersService(4_000_000),
  'sync-close': () => relayCloses(besideLiveGrid({ transition: 'closed' }), 3_000_000),
  'dead-bus-form': () => forms(darkHouse(), 3_000_000),
  'reference-order': () =>
    relayOpens(new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0 }), 2_000_000),
  'manual-order': () =>
    mainOpened(new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0 }), 2_000_000),
  'hand-isolation': () => mainOpened(onGrid(), 1_000_000).frame(1_500_000, HOUSE_OFF),
  'leg-voltage': () => onGrid(),
  'overvoltage-area': () => outage(onGrid(), 1_000_000).frame(1_500_000, { ...PV_STOPS, ...STREET_DARK }),
  'neutral-held': () => forms(darkHouse(), 2_000_000),
  'one-bond': () => onGrid(),
  'island-fault': () =>
    shorted()
      .frame(3_200_000, { ...HOUSE_OFF, ...CAR_STOPS })
      .frame(3_400_000),
  'island-quality': () => forms(darkHouse(), 2_000_000).frame(3_500_000, { 'house.u1': 118 }),
  'return-to-utility': () => relayCloses(besideGoodGrid(), 3_000_000),
  'outage-time': () => forms(darkHouse().frame(1_600_000, CAR_READY), 4_000_000),
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
  'open-phase': () => legLost(onGrid(), 1_000_000).frame(4_000_000, PV_STOPS),
  'abnormal-voltage': () => trips(voltage(onGrid(), 1_000_000, 0.4), 2_000_000, 'UV2'),
  'abnormal-frequency': () => trips(onGrid().frame(1_000_000, { 'house.f': 62.5 }), 2_000_000, 'OF2'),
  'ride-through': () => trips(voltage(onGrid(), 1_000_000, 0.8), 2_000_000),
  'enter-service': () => entersService(4_000_000, { 'roof.permit': 0 }),
  'sync-close': () =>
    relayCloses(besideLiveGrid({ transition: 'closed' }, { 'iso.da1': 90, 'iso.da2': 90 }), 3_000_000),
  'dead-bus-form': () => forms(darkHouse(), 3_000_000, {}, {}),
  'reference-order': () => relayOpens(onGrid(), 2_000_000),
  'manual-order': () => mainOpened(onGrid(), 2_000_000),
  'leg-voltage': () =>
    mainOpened(onGrid(), 1_000_000).frame(1_010_000, { 'house.u2': 200 }).frame(1_200_000, { 'house.u2': 0 }),
  'overvoltage-area': () =>
    outage(onGrid(), 1_000_000)
      .frame(1_010_000, { 'service.v2': 180 })
      .frame(1_500_000, { ...PV_STOPS, ...STREET_DARK }),
  'hand-isolation': () => forms(mainOpened(onGrid(), 1_000_000).frame(1_500_000, HOUSE_OFF), 3_000_000),
  'neutral-held': () => forms(darkHouse(), 2_000_000).frame(3_000_000, { 'garage.neutralHeld': 0 }),
  'one-bond': () => onGrid().frame(1_000_000, { 'house.bonds': 2 }),
  'island-fault': () => shorted(),
  'island-quality': () => forms(darkHouse(), 2_000_000).frame(3_500_000, each(BEHIND_RELAY, { f: 62 })),
  'return-to-utility': () => relayCloses(besideLiveGrid({}), 3_000_000),
  'outage-time': () => dark(-20_000_000),
  'source-limits': () => forms(darkHouse(), 3_000_000, { 'gateway.vehicleLimit': 41_000 }),
  lockout: () => coilOrdered(onGrid(), 1_000_000, 0).frame(2_000_000, { 'gateway.vehicleCommand': 4 }),
  'relay-duty': () => relayCloses(relayOpens(onGrid(), 2_000_000), 4_000_000),
  'plug-order': () => contactorOpens(30),
  'restart-limit': () => restarted(2),
  'stale-data': () => fresh(onGrid(), 1_000_000, 50_001).frame(2_000_000, { 'gateway.pvPermit': 1 }),
  'ready-gate': () => forms(darkHouse(), 3_000_000),
};

/** An older inverter, which knows no ramp, out of service on a grid that has long been sound, enters service. */
export function entersService(at_us: number, changes: Values = {}): Story {
  const older = house({}, { category: '2014' });
  return new Story(older)
    .frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.tripped': 1 })
    .happening(at_us, 'roof', 'starts', 'equipment')
    .frame(at_us, { ...PV_RUNS, 'roof.tripped': 0, ...changes });
}

/** No voltage behind the main. */
export const HOUSE_OFF: Values = { ...each(['panel', ...BEHIND_RELAY], DARK), ...PV_STOPS };

/** A house dark beside a source that could form, since that instant. */
export const dark = (from_us: number): Story =>
  new Story(house()).frame(from_us, { ...ON_GRID, ...HOUSE_DARK, ...STREET_DARK, ...CAR_READY });

/** An island in which a short circuit strikes at 3 s. */
export const shorted = (): Story =>
  forms(darkHouse(), 2_000_000)
    .happening(3_000_000, 'short', 'strike', 'equipment')
    .frame(3_000_000, { 'short.struck': 1, 'house.v1': 20 });

/** The house is dark behind an open relay; the street has been sound for an hour. */
export const besideGoodGrid = (settings: Bag = {}, changes: Values = {}): Story =>
  new Story(house(settings)).frame(0, { ...ON_GRID, ...HOUSE_DARK, ...changes });

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
