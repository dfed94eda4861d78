import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { Bag, Conductor, Id, Piece, SiteDescription } from '../../../sim/site-description.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import { each, Story, type Values } from './telemetry-builder.ts';

const LINES: readonly Conductor[] = ['L1', 'L2'];

export function piece(
  id: Id,
  kind: string,
  at: readonly Id[],
  params: Bag = {},
  legs: readonly Conductor[] = LINES,
): Piece {
  return { id, kind, at, legs, params, sources: {} };
}

export function siteOf(id: Id, pieces: readonly Piece[], settings: Bag = {}): SiteDescription {
  const buses = [...new Set(pieces.flatMap(({ at }) => at))];
  return {
    schema: 1,
    id,
    buses: buses.map((bus) => ({ id: bus, side: bus === 'service' ? 'utility' : 'premises' })),
    pieces,
    settings,
  };
}

const LOADS: readonly Piece[] = [
  piece('kitchen', 'load', ['house'], {}, ['L1', 'N']),
  piece('office', 'load', ['house'], {}, ['L2', 'N']),
  piece('heater', 'load', ['house']),
];

/** 40 A without end behind a supply breaker of 50 A; 1.2 of it for 10 s, 1.5 for 0.2 s. */
const CAR: Bag = {
  rated: 10_000,
  cable: 80,
  supplyBreaker: 50,
  longOverload: 1.2,
  longOverloadTime: 10_000_000,
  shortOverload: 1.5,
  shortOverloadTime: 200_000,
};

/** Utility, main breaker, isolation relay, house with PV (5 kW, category II unless `roof` says otherwise), vehicle (10 kW) and loads. */
export function house(settings: Bag = {}, roof: Bag = {}): SiteDescription {
  const pieces: readonly Piece[] = [
    piece('grid', 'utility', ['service']),
    piece('main', 'breaker', ['service', 'panel'], { role: 'main', rating: 200 }),
    piece('bond', 'bond', ['panel']),
    piece('iso', 'relay', ['panel', 'house'], { rating: 200, type: 'held-closed', supplyMin: 9 }),
    piece('roof', 'pv', ['house'], { rated: 5000, category: 'II', leads: 2, ...roof }),
    piece('ev-breaker', 'breaker', ['house', 'garage'], { role: 'branch' }),
    piece('car', 'vehicle', ['garage'], CAR),
    piece('short', 'fault', ['house'], {}, ['L1', 'L2', 'N']),
    ...LOADS,
  ];
  return siteOf('house', pieces, settings);
}

export const BUSES = ['service', 'panel', 'house', 'garage'];
export const BEHIND_MAIN = ['panel', 'house', 'garage'];
export const BEHIND_RELAY = ['house', 'garage'];

export const SOUND: Values = { v1: 120, v2: 120, v12: 240, u1: 120, u2: 120, u12: 240, f: 60, legAngle: 180 };
export const DARK: Values = {
  v1: 0,
  v2: 0,
  v12: 0,
  u1: 0,
  u2: 0,
  u12: 0,
  f: 0,
  legAngle: 0,
  supply: 0,
  following: 0,
  forming: 0,
  nIsl: 0,
};
const FROM_UTILITY: Values = { supply: 1, present1: 1, present2: 1, neutralHeld: 1, bonds: 1 };

export const PV_RUNS: Values = { 'roof.p': 5000, 'roof.i': 20.8, 'roof.energises': 1 };
export const PV_STOPS: Values = { 'roof.p': 0, 'roof.q': 0, 'roof.i': 0, 'roof.energises': 0 };
export const CAR_FORMS: Values = { 'car.forms': 1, 'car.energises': 1, 'car.reference': 1 };
export const CAR_STOPS: Values = { 'car.forms': 0, 'car.energises': 0, 'car.reference': 0, 'car.p': 0, 'car.i': 0 };
export const poles = (device: Id, state: number): Values => ({ [`${device}.L1`]: state, [`${device}.L2`]: state });
export const paths = (source: Id, on: number): Values => ({ [`${source}.path1`]: on, [`${source}.path2`]: on });

/** On the grid, PV giving 5 kW, vehicle idle. */
export const ON_GRID: Values = {
  ...each(['grid'], { on: 1, voltage: 1, frequency: 60, L1: 1, L2: 1, neutral: 1 }),
  ...each(BUSES, { ...SOUND, ...FROM_UTILITY, part: 1, following: 1 }),
  ...poles('main', 1),
  ...poles('iso', 1),
  ...poles('ev-breaker', 1),
  ...each(['iso'], { closedProved1: 1, closedProved2: 1, coil: 1, controlSupply: 12 }),
  'gateway.relayCoil': 1,
  ...PV_RUNS,
  'roof.permit': 1,
  'roof.irradiance': 1,
  ...paths('roof', 1),
  ...paths('car', 1),
};

/** The relay is open, the house behind it dark and a part of its own, the PV tripped and without permit. */
export const HOUSE_DARK: Values = {
  'gateway.relayCoil': 0,
  ...each(BEHIND_RELAY, { ...DARK, present1: 0, present2: 0, part: 2, neutralHeld: 0, bonds: 0 }),
  ...poles('iso', 0),
  ...each(['iso'], { openProved1: 1, openProved2: 1, closedProved1: 0, closedProved2: 0, coil: 0 }),
  ...PV_STOPS,
  'roof.permit': 0,
  'roof.tripped': 1,
  ...paths('roof', 0),
  ...paths('car', 0),
};

/** The whole service has lost the utility and is dark. */
export const STREET_DARK: Values = each(['service', 'panel'], { ...DARK, present1: 0, present2: 0, following: 0 });

/** An island that the vehicle forms on the house side. */
export const HOUSE_FORMED: Values = {
  ...each(BEHIND_RELAY, { ...SOUND, supply: 2, forming: 1, neutralHeld: 1, bonds: 1 }),
  ...CAR_FORMS,
};

/** The vehicle is plugged in, awake and charged, and the records are complete. */
export const CAR_READY: Values = {
  'car.plugged': 1,
  'car.mode': VEHICLE_MODES.indexOf('idle'),
  'car.soc': 0.5,
  'gateway.in.commissioning': 31,
};

/** The utility is back on the street and sound. */
export const STREET_SOUND: Values = each(['service', 'panel'], { ...SOUND, supply: 1, present1: 1, present2: 1 });

/** What the scan saw that ordered to form: both poles proved open 10 ms ago, no voltage. */
export const SCAN_SEES_OPEN: Values = {
  'gateway.in.relayL1Open': 1,
  'gateway.in.relayL2Open': 1,
  'gateway.in.relayL1Closed': 0,
  'gateway.in.relayL2Closed': 0,
  'gateway.in.relayL1Open.age': 10_000,
  'gateway.in.relayL2Open.age': 10_000,
  'gateway.in.relayL1Closed.age': 10_000,
  'gateway.in.relayL2Closed.age': 10_000,
};

export const onGrid = (settings: Bag = {}): Story => new Story(house(settings)).frame(0, ON_GRID);

/** The street goes at `at_us`, the relay still closed, PV alone with house and neighbours. */
export function outage(story: Story, at_us: number): Story {
  return story.happening(at_us, 'grid', 'supply lost', 'utility').frame(at_us, {
    'grid.on': 0,
    ...each(BUSES, { present1: 0, present2: 0, supply: 3, v1: 60, v2: 60, v12: 120 }),
  });
}

/** The utility loses L2 at `at_us`; the inverter goes on across both legs. */
export function legLost(story: Story, at_us: number, changes: Values = {}): Story {
  return story
    .happening(at_us, 'grid', 'leg lost L2', 'utility')
    .frame(at_us, { 'grid.L2': 0, ...each(BUSES, { present2: 0 }), ...changes });
}

/** What the utility gives at `at_us`, pu, to every bus of the house that it reaches. */
export function voltage(story: Story, at_us: number, level_pu: number, changes: Values = {}): Story {
  const [leg_V, line_V] = [120 * level_pu, 240 * level_pu];
  return story.frame(at_us, {
    ...each(BUSES, { v1: leg_V, v2: leg_V, v12: line_V, u1: leg_V, u2: leg_V, u12: line_V }),
    ...changes,
  });
}

/** The inverter trips by one of its rows. */
export function trips(story: Story, at_us: number, row = 'UV1', origin: Origin = 'equipment'): Story {
  return story.happening(at_us, 'roof', `trips ${row}`, origin).frame(at_us, { ...PV_STOPS, 'roof.tripped': 1 });
}

/** A hand opens the main at `at_us`, PV on, relay closed: the house is an unformed island. */
export function mainOpened(story: Story, at_us: number, changes: Values = {}): Story {
  return story
    .happening(at_us, 'main', 'opens', 'person')
    .happening(at_us, 'main', 'parts L1', 'person')
    .happening(at_us, 'main', 'parts L2', 'person')
    .frame(at_us, {
      ...poles('main', 0),
      ...each(BEHIND_MAIN, { present1: 0, present2: 0, supply: 3, part: 2, neutralHeld: 0 }),
      ...paths('roof', 0),
      ...paths('car', 0),
      ...changes,
    });
}

/** A dark house behind an open relay, the street dead since 1 s. */
export function darkHouse(settings: Bag = {}): Story {
  return outage(
    new Story(house(settings)).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0, 'roof.tripped': 1 }),
    1_000_000,
  )
    .happening(1_480_000, 'gateway', 'orders relayCoil 0', 'controller')
    .frame(1_480_000, { 'gateway.relayCoil': 0, 'iso.coil': 0 })
    .happening(1_500_000, 'iso', 'parts L1', 'controller')
    .happening(1_500_000, 'iso', 'parts L2', 'controller')
    .frame(1_500_000, { ...HOUSE_DARK, ...STREET_DARK, ...each(['service', 'panel'], { supply: 0 }) });
}

/** The controller orders to form, and 20 ms later the source does. */
export function forms(story: Story, at_us: number, changes: Values = {}, seen: Values = SCAN_SEES_OPEN): Story {
  return story
    .happening(at_us - 20_000, 'gateway', 'orders vehicleCommand 4', 'controller')
    .frame(at_us - 20_000, { 'gateway.vehicleCommand': 4, ...seen })
    .happening(at_us, 'car', 'forms', 'controller')
    .frame(at_us, { ...HOUSE_FORMED, ...changes });
}
