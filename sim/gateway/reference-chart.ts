import { machineOf, type PlainChart } from './reference-plain.ts';
import {
  back,
  charge,
  charging,
  flow,
  house,
  pause,
  poles,
  request,
  room,
  service,
  shedding,
  supply,
  waking,
} from './reference-regions.ts';
import { transfer } from './reference-transfer.ts';

/**
 * The transfer logic as a chart in plain data: guards, actions and delays by name, so that it can be drawn, explained and
 * sabotaged. Regions that watch (utility, return, request, house, charge, the pause between two closings), regions that act on the side (shedding, waking,
 * charging), and the transfer itself.
 *
 * The order is always the same. Away: charge stops, PV permit off, PV ceased (at most 2 s, then anyway), relay open and
 * proved by contacts, bus dead, neutral formed, both poles proved by a test voltage, source forms, PV permitted. Back: permit
 * off, ceased, source stops and bus dead (or both sides in step), neutral out, relay closes.
 */
export const REFERENCE_CHART: PlainChart = {
  id: 'reference',
  regions: {
    supply,
    flow,
    return: back,
    service,
    poles,
    request,
    house,
    charge,
    pause,
    transfer,
    room,
    shedding,
    waking,
    charging,
  },
};

export const referenceMachine = machineOf(REFERENCE_CHART);
