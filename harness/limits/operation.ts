import { type Document, type Limit, NO_DOCUMENT, row, type ValueName } from './limit.ts';

const nec = (edition: string): Document => ({ document: 'NFPA 70 (NEC)', edition });
const pilot: Document = { document: 'IEC 61851-1', edition: '' };

const own = <V extends ValueName>(about: string, values: Readonly<Record<V, number>>): Limit<V> =>
  row(NO_DOCUMENT, '', 'site setting', 'own', about, values);

/** What equipment and orders may be put to: currents, contacts, locks, restarts, the age of what an order rests on. */
export const OPERATION_LIMITS = {
  'nec.source.ordered': row(
    nec('2020; the same in 2017 and 2023'),
    '210.20(A), 625.41',
    'confirmed',
    'nec-comment-625',
    'current that may be ordered of a vehicle, over the rating of its supply breaker',
    { share_pu: 0.8 },
  ),
  'nec.source.busbar': row(
    nec('2020; the clause moved from 705.12(D)(2) in 2014'),
    '705.12(B)(3)(2)',
    'confirmed',
    'nec-course-705',
    'what feeds a busbar: so much of the current of its sources and the rating of its main, over the rating of the bus',
    { source_pu: 1.25, bus_pu: 1.2 },
  ),
  'own.source.current': own('one-second rms current of a vehicle over the smallest rating in its way', {
    share_pu: 1.02,
    time_s: 1,
  }),
  'own.source.settle': own('after a step of load or order that current is judged from; before, the short-time rating', {
    time_s: 6,
  }),
  'own.source.thermal': own('state of the thermal trip of a breaker beside a running source, share of its trip', {
    share_pu: 1,
  }),
  'own.lockout.notice': own('a relay that does not prove what was ordered, or moves by itself, counts from', {
    time_s: 0.1,
  }),
  'own.lockout.source-off': own('from there until the forming source is off, at most', { time_s: 0.1 }),
  'own.lockout.no-orders': own('orders to form or to close, and lockouts cleared by nobody, while locked', {
    count_1: 0,
  }),
  'own.lockout.tries': own('tries to close a relay that does not close, and time between two of them', {
    count_1: 3,
    time_s: 10,
  }),
  'own.relay-duty.makes': own('makes of one contact within a minute, at most', { count_1: 2, time_s: 60 }),
  'own.relay-duty.pause': own('from the opening of the relay to its next make, at least', { time_s: 10 }),
  'own.relay-duty.load': own('current that a contact breaks, over its rating', { share_pu: 1 }),
  'iec-61851-1.plug.pilot-lost': row(
    pilot,
    '',
    'memory',
    'memory',
    'from the loss of the pilot until the supply contactor is open, at most',
    { time_s: 0.1 },
  ),
  'own.plug.current': own('current at which the supply contactor opens, and the wait after which it may open anyway', {
    current_A: 1,
    time_s: 7,
  }),
  'own.plug.unlock': own('plugs unlocked before the supply contactor is open', { count_1: 0 }),
  'own.restart.count': own('restarts after an overload or a fault, within so long', { count_1: 3, time_s: 600 }),
  'own.restart.load': own('second and later restarts onto the load that stopped the source', { count_1: 0 }),
  'own.stale.measured': own('age of voltage, frequency, angle and contacts at an order in the hazardous direction', {
    time_s: 0.05,
  }),
  'own.stale.status': own('age of what the vehicle says of itself, at the same', { time_s: 2 }),
  'own.stale.power': own('age of power and current, at the same', { time_s: 3 }),
  'practice.ready-gate': row(
    NO_DOCUMENT,
    '',
    'common practice',
    'common-practice',
    'records of commissioning that are missing where a vehicle forms or charges',
    { count_1: 0 },
  ),
} as const;
