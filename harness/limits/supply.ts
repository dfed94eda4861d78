import { type Document, type Limit, NO_DOCUMENT, row, type ValueName } from './limit.ts';

const nec: Document = { document: 'NFPA 70 (NEC)', edition: '2023; text seen for 2002' };

function own<V extends ValueName>(about: string, values: Readonly<Record<V, number>>): Limit<V> {
  return row(NO_DOCUMENT, '', 'site setting', 'own', about, values);
}

/** What a house may ask of its island, of the way back to the utility, and of whoever lets it stay dark. */
export const SUPPLY_LIMITS = {
  'own.hand.voltage': own('a section opened by hand for work: voltage on it, and from when on it must be dead', {
    level_pu: 0.1,
    time_s: 5,
  }),
  'own.hand.forming': own('starts of forming there; a request made on the spot holds for so long', {
    count_1: 0,
    time_s: 600,
  }),
  'own.neutral.slow': own('the legs of an island apart by this share of 120 V, for so long at most', {
    level_pu: 0.05,
    time_s: 10,
  }),
  'own.neutral.fast': own('the legs of an island apart by this share of 120 V, for so long at most', {
    level_pu: 0.15,
    time_s: 0.16,
  }),
  'own.neutral.loss': own('loss of what holds the neutral to source off, at most', { time_s: 0.2 }),
  'own.neutral.former': own("neutral current over the former's rating, for so long at most", {
    level_pu: 1,
    time_s: 10,
  }),
  'own.neutral.former-short': own(
    "neutral current over 1.5 times the former's rating: no longer than a fault may stand",
    { level_pu: 1.5, time_s: 0.5 },
  ),
  'nec.one-bond': row(
    nec,
    '250.24, 250.30',
    'confirmed',
    'nec-newsletter-250',
    'neutral-to-earth bonds of a supply: one, at the service or at a separately derived source',
    { count_1: 1 },
  ),
  'own.bond-switching': own('none or two bonds while they are switched, for so long at most', { time_s: 0.1 }),
  'own.island-fault.time': own('a fault in an island until the faulted part is dead, at most', { time_s: 0.5 }),
  'own.island-fault.restarts': own('restarts onto the fault, at most', { count_1: 1 }),
  'own.island.voltage': own('voltage of an island', { min_pu: 0.88, max_pu: 1.1 }),
  'own.island.step': own('after a step of the load its voltage is not judged for so long', { time_s: 2 }),
  'own.island.frequency': own('frequency of an island that curtails nobody', { min_Hz: 59.3, max_Hz: 60.5 }),
  'own.island.curtailing': own('frequency to curtail PV with: without limit up to here, above it so long at most', {
    max_Hz: 61.2,
    time_s: 60,
  }),
  'own.island.never': own('frequency that an island never leaves', { min_Hz: 57, max_Hz: 63 }),
  'own.return.good': own('T_return: the utility good without a break before the relay closes on it', {
    time_s: 300,
    timeMin_s: 60,
    timeMax_s: 600,
  }),
  'own.return.voltage': own('what a good utility is: each leg and both together', { min_pu: 0.9, max_pu: 1.06 }),
  'own.return.angle': own('what a good utility is: legs off 180 degrees by at most', { off_deg: 20 }),
  'own.return.frequency': own('what a good utility is: frequency', { min_Hz: 59.5, max_Hz: 60.5 }),
  'own.return.decaying': own('voltage of motors that run down as the relay closes, at most', { level_pu: 0.25 }),
  'own.return.forming': own('forming sources as the relay closes, break before make', { count_1: 0 }),
  'practice.return.overlap': row(
    NO_DOCUMENT,
    '',
    'common practice',
    'common-practice',
    'closed transition: overlap of utility and forming source, at most',
    { time_s: 0.1 },
  ),
  'own.outage.dark': own('dark: any leg or both together below this, for longer than so long', {
    level_pu: 0.5,
    time_s: 0.02,
  }),
  'own.outage.low': own('low, not dark, up to this: told within so long', { level_pu: 0.88, time_s: 10 }),
  'own.outage.awake': own('dark beside a source that is awake, at most', { time_s: 10 }),
  'own.outage.asleep': own('dark beside a source that sleeps: so long over its boot time, at most', { time_s: 15 }),
  'own.outage.tired': own('a source that stopped by itself so often within so long need not be tried again inside it', {
    count_1: 2,
    time_s: 600,
  }),
  'own.outage.recovered': own('a charge that had run down counts again so far above its reserve, at most', {
    share_pu: 0.1,
  }),
  'own.outage.return': own('dark on the way back, break before make, at most', { time_s: 2 }),
  'own.outage.hand-test': own('dark after the main was opened by hand to try the backup, at most', { time_s: 120 }),
  'own.outage.liveness': own('dark beside a utility that has been good: so long over T_return, at most', {
    time_s: 10,
  }),
} as const;
