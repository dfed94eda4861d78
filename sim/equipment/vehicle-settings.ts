import { type Bag, numberOf, textOf } from '../site-description.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import { type BatterySettings, linkRise_s } from './battery.ts';
import type { FollowingSettings } from './following.ts';
import type { OverloadStage } from './overload-clock.ts';
import type { SurplusSettings } from './surplus.ts';
import type { VehicleTimes } from './vehicle-chart.ts';
import type { VehicleDeviceSettings } from './vehicle-device.ts';

/**
 * Continuous current of the source, both ways: the smallest of its rating, its cable and 0.80 of the supply breaker.
 *
 * @returns A; NEC 210.20(A) and 625.41 for the share
 */
export function continuousCurrent_A(params: Bag): number {
  const breaker_A = numberOf(params, 'supplyBreaker') * numberOf(params, 'continuousShare');
  return Math.min(numberOf(params, 'rated') / LINE_V, numberOf(params, 'cable'), breaker_A);
}

export function timesOf(params: Bag): VehicleTimes {
  return {
    boot_us: numberOf(params, 'bootTime'),
    sleepAfter_us: numberOf(params, 'sleepAfter'),
    contactorClose_us: numberOf(params, 'contactorClose'),
    contactorOpen_us: numberOf(params, 'contactorOpen'),
    pilotLoss_us: numberOf(params, 'pilotLoss'),
    ease_us: numberOf(params, 'easeTime'),
    retryDelay_us: numberOf(params, 'retryDelay'),
    retryReset_us: numberOf(params, 'retryReset'),
  };
}

/** The longer stage first: once it is used up the shorter one is gone as well. */
export function overloadStagesOf(params: Bag): readonly OverloadStage[] {
  const long = numberOf(params, 'longOverload');
  const short = numberOf(params, 'shortOverload');
  return [
    { name: 'long', from: 1, to: long, length_us: numberOf(params, 'longOverloadTime') },
    { name: 'short', from: long, to: Math.max(long, short), length_us: numberOf(params, 'shortOverloadTime') },
  ];
}

export function batteryOf(params: Bag): BatterySettings {
  const step = numberOf(params, 'socStep');
  const limit = numberOf(params, 'chargeLimit');
  const grid: number[] = [];
  for (let k = 1; k * step < 1; k += 1) grid.push(k * step);
  const own = [numberOf(params, 'reserve'), numberOf(params, 'empty'), limit, limit - numberOf(params, 'chargeResume')];
  return {
    capacity_Wh: numberOf(params, 'capacity'),
    efficiency: numberOf(params, 'efficiency'),
    levels: [...grid, ...own.filter((level) => level > 0 && level < 1)],
  };
}

export function surplusOf(params: Bag): SurplusSettings {
  return {
    highest_Hz: numberOf(params, 'surplusHighest'),
    range_us: numberOf(params, 'surplusRange'),
    step_us: numberOf(params, 'surplusStep'),
    full_W: numberOf(params, 'surplusFull') * numberOf(params, 'rated'),
    band_W: numberOf(params, 'surplusBand'),
  };
}

export function followingOf(params: Bag): FollowingSettings {
  return {
    rated_W: numberOf(params, 'rated'),
    currentLimit: numberOf(params, 'currentLimit'),
    loop_Hz: numberOf(params, 'loop'),
    loopDamping: numberOf(params, 'loopDamping'),
    frequencyLag_s: 0.02,
    voltageLag_s: 0.01,
    filter_F: numberOf(params, 'filter'),
    ceiling: numberOf(params, 'ceiling'),
  };
}

export function deviceOf(params: Bag): VehicleDeviceSettings {
  return {
    rated_W: numberOf(params, 'rated'),
    chargeLag_s: numberOf(params, 'chargeLag') / US_PER_S,
    chargeCutOut: numberOf(params, 'chargeCutOut'),
    droopP: numberOf(params, 'droopP'),
    droopQ: numberOf(params, 'droopQ'),
    powerFilter_Hz: numberOf(params, 'powerFilter'),
  };
}

/** From the battery's opening to the stop of the converter, µs: the d.c. link rises with what still comes in. */
export function linkTrip_us(params: Bag, incoming_W: number): number {
  const from_V = numberOf(params, 'linkVoltage');
  const to_V = numberOf(params, 'linkTrip');
  const rise_s = linkRise_s(numberOf(params, 'linkCapacitance'), from_V, to_V, Math.max(1, incoming_W));
  return Math.ceil(rise_s * US_PER_S);
}

/** Optional piece by a parameter that says an id or `none`. */
export function linkedId(params: Bag, name: string): string | undefined {
  const id = textOf(params, name);
  return id === 'none' ? undefined : id;
}
