import { flagOf, numberOf, type Piece, type SiteDescription, textOf } from '../site-description.ts';
import { LINE_V, NOMINAL_HZ, US_PER_MS } from '../units.ts';
import type { OrderSettings } from './reference-orders.ts';
import { type ChartSettings, TIME_NAMES } from './reference-parts.ts';
import type { ViewSettings } from './view.ts';

/** What an inverter's category asks of a house that exports: levels in pu of line to line, times in ms. */
interface Ride {
  readonly low_pu: number;
  readonly mid_pu: number;
  readonly low_ms: number;
  readonly mid_ms: number;
  readonly shallow_ms: number;
}
/** Ride-through of IEEE 1547-2018, tables 14 to 16; the older editions know none. III waits for its own trip at 21 s. */
const RIDE: Readonly<Record<string, Ride>> = {
  I: { low_pu: 0.5, mid_pu: 0.7, low_ms: 160, mid_ms: 160, shallow_ms: 1500 },
  II: { low_pu: 0.45, mid_pu: 0.65, low_ms: 160, mid_ms: 320, shallow_ms: 5000 },
  III: { low_pu: 0.5, mid_pu: 0.7, low_ms: 1000, mid_ms: 10_000, shallow_ms: 21_000 },
};
const NO_RIDE: Ride = { low_pu: 0.5, mid_pu: 0.5, low_ms: 0, mid_ms: 0, shallow_ms: 0 };
/** Rating of what the site does not have: it limits nothing. The boundary cannot say more either. */
const NO_LIMIT_A = 1000;

export interface ReferenceSettings {
  readonly chart: ChartSettings;
  readonly view: ViewSettings;
  readonly orders: OrderSettings;
}

/** What the reference controller knows of a site: its settings, the ratings on its nameplates, and what is fitted. */
export function settingsOf(site: SiteDescription): ReferenceSettings {
  const limit_A = sourceLimit_A(site);
  const ride = rideOf(site);
  return {
    chart: chartSettings(site, ride),
    view: viewSettings(site, ride, limit_A),
    orders: {
      limit_mA: Math.round(limit_A * 1000),
      syncFrequency_mHz: Math.round((NOMINAL_HZ + numberOf(site.settings, 'syncSlip')) * 1000),
    },
  };
}

function chartSettings({ settings, pieces }: SiteDescription, ride: Ride): ChartSettings {
  const ms = (name: string): number => numberOf(settings, name) / US_PER_MS;
  const times = Object.fromEntries(TIME_NAMES.map((name) => [name, name === 'separation' ? 0 : ms(name)]));
  // A proof is seen as late as its readings come.
  const late_ms = ms('sensorLatency') + ms('sensorSampling');
  const given_ms = ms('rideThroughShallow');
  const sheds = pieces.filter(({ kind }) => kind === 'load').map(({ params }) => numberOf(params, 'shedBit'));
  const choice = <Name extends string>(name: string, other: Name): Name | undefined =>
    textOf(settings, name) === other ? other : undefined;
  return {
    times_ms: {
      ...times,
      separation: Math.max(ms('separation'), ms('deadTime')),
      testTime: ms('testTime') + late_ms,
    } as ChartSettings['times_ms'],
    ride_ms: { low: ride.low_ms, mid: ride.mid_ms, shallow: given_ms > 0 ? given_ms : ride.shallow_ms },
    handOpening: choice('handOpening', 'outage') ?? 'isolation',
    formWhenHandOpenedUnknown: flagOf(settings, 'formWhenHandOpenedUnknown'),
    transition: (flagOf(settings, 'syncCheck') ? choice('transition', 'closed') : undefined) ?? 'open',
    stuckContact: choice('stuckContact', 'voltage test') ?? 'lockout',
    atReserve: choice('atReserve', 'spend') ?? 'stop',
    surplus: (slides(pieces) ? choice('surplus', 'curtail') : undefined) ?? 'withdraw',
    openNeutral: choice('openNeutral', 'try') ?? 'person',
    chargeOnUtility: flagOf(settings, 'chargeOnUtility'),
    sheds: Math.max(0, ...sheds),
  };
}

function viewSettings(site: SiteDescription, ride: Ride, limit_A: number): ViewSettings {
  const { settings } = site;
  const vehicle = one(site, 'vehicle');
  const former = one(site, 'former');
  const relay = one(site, 'relay');
  const of = (piece: Piece | undefined, name: string, fallback: number): number =>
    piece === undefined ? fallback : numberOf(piece.params, name);
  const inverters = site.pieces.filter(({ kind }) => kind === 'pv');
  const reserve = of(vehicle, 'reserve', 0);
  const full = of(vehicle, 'chargeLimit', 1);
  const permille = (share: number): number => Math.round(share * 1000);
  const lead_us = numberOf(settings, 'scanPeriod') + numberOf(settings, 'sensorLatency') + of(relay, 'pickUp', 0);
  return {
    pvRated_W: inverters.reduce((sum, { params }) => sum + numberOf(params, 'rated'), 0),
    vehicleRated_W: of(vehicle, 'rated', 0),
    formerSwitched: former !== undefined && textOf(former.params, 'heldBy') !== 'fixed',
    formerShown: former !== undefined && flagOf(former.params, 'aux'),
    mainBelow: isMainBelow(site),
    commissioned: flagOf(settings, 'commissioned'),
    ride,
    sync: { lead_us, angle_mdeg: numberOf(settings, 'syncAngle') * 1000 },
    testVoltage_mV: numberOf(settings, 'testVoltage') * 1000,
    supplyMin_mV: of(relay, 'supplyMin', 0) * 1000,
    sourceLimit_mA: limit_A * 1000,
    serviceLimit_mA: serviceLimit_A(site) * 1000,
    reserve: permille(reserve),
    lowCharge: permille(reserve + numberOf(settings, 'lowChargeMargin')),
    recovered: permille(Math.min(full, reserve + numberOf(settings, 'reserveReturn'))),
    chargeLimit: permille(full),
    roomy: permille(Math.max(0, full - numberOf(settings, 'surplusReturn'))),
  };
}

/** Whether every inverter gives less as the frequency rises. One of an older edition trips instead, comes back after its delay, and trips again. */
function slides(pieces: readonly Piece[]): boolean {
  return pieces
    .filter(({ kind }) => kind === 'pv')
    .every(({ params }) => {
      const droop = textOf(params, 'droop');
      return droop === 'by category' ? RIDE[textOf(params, 'category')] !== undefined : droop === 'yes';
    });
}

function one(site: SiteDescription, kind: string): Piece | undefined {
  return site.pieces.find((piece) => piece.kind === kind);
}

function mainOf(site: SiteDescription): Piece | undefined {
  return site.pieces.find(({ kind, params }) => kind === 'breaker' && textOf(params, 'role') === 'main');
}

/** Continuous current of the source, both ways: the smallest of all ratings that it passes. */
function sourceLimit_A(site: SiteDescription): number {
  const vehicle = one(site, 'vehicle');
  if (vehicle === undefined) return 0;
  const { params } = vehicle;
  const breaker_A = numberOf(params, 'supplyBreaker') * numberOf(params, 'continuousShare');
  const relay = one(site, 'relay');
  const relay_A = relay === undefined ? NO_LIMIT_A : numberOf(relay.params, 'rating');
  return Math.min(NO_LIMIT_A, numberOf(params, 'rated') / LINE_V, numberOf(params, 'cable'), breaker_A, relay_A);
}

/** What house and charge may take together. */
function serviceLimit_A(site: SiteDescription): number {
  const ratings = [mainOf(site), one(site, 'relay')].map((piece) =>
    piece === undefined ? NO_LIMIT_A : numberOf(piece.params, 'rating'),
  );
  return Math.min(...ratings) * numberOf(site.settings, 'serviceShare');
}

/** Of several inverters the one that must stay longest. */
function rideOf(site: SiteDescription): Ride {
  return site.pieces
    .filter(({ kind }) => kind === 'pv')
    .map(({ params }) => RIDE[textOf(params, 'category')] ?? NO_RIDE)
    .reduce((longest, ride) => (ride.shallow_ms > longest.shallow_ms ? ride : longest), NO_RIDE);
}

/** Whether the relay hangs on the service by a way that does not lead through the main. */
function isMainBelow(site: SiteDescription): boolean {
  const main = mainOf(site);
  const relay = one(site, 'relay');
  const street = one(site, 'utility')?.at[0];
  if (main === undefined || relay === undefined || street === undefined) return false;
  const reached = new Set([street]);
  for (let before = 0; before < reached.size; ) {
    before = reached.size;
    for (const { id, at } of site.pieces) {
      if (id === main.id || id === relay.id || !at.some((bus) => reached.has(bus))) continue;
      for (const bus of at) reached.add(bus);
    }
  }
  return relay.at.some((bus) => reached.has(bus));
}
