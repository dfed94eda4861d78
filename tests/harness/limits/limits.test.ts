import { describe, expect, it } from 'vitest';
import { LIMIT_SOURCES, LIMITS, type LimitKey, limit, limitList } from '../../../harness/limits/index.ts';
import { itiLowerGrid, itiLowerTime_s, itiUpperGrid, itiUpperTime_s } from '../../../harness/limits/iti.ts';

type Band = readonly [LimitKey, ...number[]];
type Setting = readonly [LimitKey, number, number, number, number, number, number];

/** Typed from the tables by hand, not taken from the code: [key, level, lowest, highest, time, lowest, highest]. */
const TABLES_11_TO_13_AND_18: readonly Setting[] = [
  // IEEE 1547-2018 6.4.1, Table 11
  ['ieee-1547-2018.trip.I.OV2', 1.2, 1.2, 1.2, 0.16, 0.16, 0.16],
  ['ieee-1547-2018.trip.I.OV1', 1.1, 1.1, 1.2, 2, 1, 13],
  ['ieee-1547-2018.trip.I.UV1', 0.7, 0, 0.88, 2, 2, 21],
  ['ieee-1547-2018.trip.I.UV2', 0.45, 0, 0.5, 0.16, 0.16, 2],
  // Table 12
  ['ieee-1547-2018.trip.II.OV2', 1.2, 1.2, 1.2, 0.16, 0.16, 0.16],
  ['ieee-1547-2018.trip.II.OV1', 1.1, 1.1, 1.2, 2, 1, 13],
  ['ieee-1547-2018.trip.II.UV1', 0.7, 0, 0.88, 10, 2, 21],
  ['ieee-1547-2018.trip.II.UV2', 0.45, 0, 0.5, 0.16, 0.16, 2],
  // Table 13, ranges after 1547a-2020
  ['ieee-1547-2018.trip.III.OV2', 1.2, 1.2, 1.2, 0.16, 0.16, 0.16],
  ['ieee-1547-2018.trip.III.OV1', 1.1, 1.1, 1.2, 13, 1, 13],
  ['ieee-1547-2018.trip.III.UV1', 0.88, 0, 0.88, 21, 2, 50],
  ['ieee-1547-2018.trip.III.UV2', 0.5, 0, 0.5, 2, 0.16, 21],
  // 6.5.1, Table 18
  ['ieee-1547-2018.trip.OF2', 62, 61.8, 66, 0.16, 0.16, 1000],
  ['ieee-1547-2018.trip.OF1', 61.2, 61, 66, 300, 180, 1000],
  ['ieee-1547-2018.trip.UF1', 58.5, 50, 59, 300, 180, 1000],
  ['ieee-1547-2018.trip.UF2', 56.5, 50, 57, 0.16, 0.16, 1000],
];

/** [key, level, time] of IEEE 1547-2003 Tables 1 and 2 and of the 1547a-2014 defaults. */
const LEGACY: readonly (readonly [LimitKey, number, number])[] = [
  ['ieee-1547-2003.trip.UV2', 0.5, 0.16],
  ['ieee-1547-2003.trip.UV1', 0.88, 2],
  ['ieee-1547-2003.trip.OV1', 1.1, 1],
  ['ieee-1547-2003.trip.OV2', 1.2, 0.16],
  ['ieee-1547-2003.trip.OF1', 60.5, 0.16],
  ['ieee-1547-2003.trip.UF1', 59.3, 0.16],
  ['ieee-1547a-2014.trip.UV3', 0.45, 0.16],
  ['ieee-1547a-2014.trip.UV2', 0.6, 1],
  ['ieee-1547a-2014.trip.UV1', 0.88, 2],
  ['ieee-1547a-2014.trip.OV1', 1.1, 1],
  ['ieee-1547a-2014.trip.OV2', 1.2, 0.16],
  ['ieee-1547a-2014.trip.UF2', 57, 0.16],
  ['ieee-1547a-2014.trip.UF1', 59.5, 2],
  ['ieee-1547a-2014.trip.OF1', 60.5, 2],
  ['ieee-1547a-2014.trip.OF2', 62, 0.16],
];

/** IEEE 1547-2018 Tables 14 to 16 and 19: [key, lower end, upper end, time, s a pu]. */
const RIDE_THROUGH: readonly Band[] = [
  ['ieee-1547-2018.ride.I.1.10', 1.1, 1.15, 1, 0],
  ['ieee-1547-2018.ride.I.1.15', 1.15, 1.175, 0.5, 0],
  ['ieee-1547-2018.ride.I.1.175', 1.175, 1.2, 0.2, 0],
  ['ieee-1547-2018.ride.I.0.88', 0.7, 0.88, 0.7, 4],
  ['ieee-1547-2018.ride.I.0.70', 0.5, 0.7, 0.16, 0],
  ['ieee-1547-2018.ride.II.1.10', 1.1, 1.15, 1, 0],
  ['ieee-1547-2018.ride.II.1.15', 1.15, 1.175, 0.5, 0],
  ['ieee-1547-2018.ride.II.1.175', 1.175, 1.2, 0.2, 0],
  ['ieee-1547-2018.ride.II.0.88', 0.65, 0.88, 3, 8.7],
  ['ieee-1547-2018.ride.II.0.65', 0.45, 0.65, 0.32, 0],
  ['ieee-1547-2018.ride.II.0.45', 0.3, 0.45, 0.16, 0],
  ['ieee-1547-2018.ride.III.1.10', 1.1, 1.2, 12, 0],
  ['ieee-1547-2018.ride.III.0.88', 0.7, 0.88, 20, 0],
  ['ieee-1547-2018.ride.III.0.70', 0.5, 0.7, 10, 0],
  ['ieee-1547-2018.ride.III.0.50', 0, 0.5, 1, 0],
  ['ieee-1547-2018.ride.f.61.2', 61.2, 61.8, 299],
  ['ieee-1547-2018.ride.f.58.8', 57, 58.8, 299],
];

/** [key, clause or table, grade, values]. */
const OTHERS: readonly (readonly [LimitKey, string, string, Readonly<Record<string, number>>])[] = [
  ['ieee-1547-2003.reconnect', '4.2.6', 'confirmed', { time_s: 300 }],
  ['ieee-1547a-2014.reconnect', '4.2.6', 'confirmed', { time_s: 300 }],
  [
    'ieee-1547-2003.reconnect.window',
    '4.2.6',
    'memory',
    { min_pu: 0.88, max_pu: 127 / 120, min_Hz: 59.3, max_Hz: 60.5 },
  ],
  [
    'ieee-1547a-2014.reconnect.window',
    '4.2.6',
    'memory',
    { min_pu: 0.88, max_pu: 127 / 120, min_Hz: 59.3, max_Hz: 60.5 },
  ],
  ['ieee-1547-2018.accuracy.voltage', '4.4, Table 3', 'memory', { level_pu: 0.01 }],
  ['ieee-1547-2018.accuracy.frequency', '4.4, Table 3', 'memory', { level_Hz: 0.1, steady_Hz: 0.01 }],
  ['ieee-1547-2018.accuracy.time', '4.4, Table 3', 'memory', { time_s: 1 / 30, from_s: 5, share_percent: 1 }],
  ['ieee-1547-2018.frequency-floor', '6.5.1', 'memory', { level_pu: 0.3 }],
  ['ieee-1547-2018.droop-dead-band', '6.5.2.7, Table 24', 'confirmed', { level_Hz: 0.036 }],
  [
    'ieee-1547-2018.enter-service.voltage',
    '4.10.2, Table 4',
    'confirmed',
    { min_pu: 0.917, minLeast_pu: 0.88, minMost_pu: 0.95, max_pu: 1.05, maxLeast_pu: 1.05, maxMost_pu: 1.06 },
  ],
  [
    'ieee-1547-2018.enter-service.frequency',
    '4.10.2, Table 4',
    'confirmed',
    { min_Hz: 59.5, minLeast_Hz: 59, minMost_Hz: 59.9, max_Hz: 60.1, maxLeast_Hz: 60.1, maxMost_Hz: 61 },
  ],
  ['ieee-1547-2018.enter-service.step', '4.10.3', 'memory', { power_pu: 0.2 }],
  ['ieee-1547-2018.enter-service.permit', '4.10.2, Table 4', 'confirmed', { count_1: 0 }],
  ['ieee-1547-2018.ride.exempt', '6.4.2.1, 6.5.2.1', 'memory', { power_pu: 0.1 }],
  ['ieee-1547-2018.enter-service.delay', '4.10.3, Table 4', 'confirmed', { time_s: 300, timeMin_s: 0, timeMax_s: 600 }],
  ['ieee-1547-2018.enter-service.ramp', '4.10.3, Table 4', 'confirmed', { time_s: 300, timeMin_s: 1, timeMax_s: 1000 }],
  ['ieee-1547-2018.enter-service.random', '4.10.3', 'memory', { time_s: 300, timeMin_s: 1, timeMax_s: 1000 }],
  [
    'ieee-1547-2018.sync.to-500kVA',
    '4.10.4, Table 5',
    'weak',
    { frequency_Hz: 0.3, voltage_percent: 10, angle_deg: 20 },
  ],
  ['ieee-1547-2018.sync.frequency', '4.10.4, Table 5', 'weak', { difference_Hz: 0.3 }],
  ['ieee-1547-2018.sync.voltage', '4.10.4, Table 5', 'memory', { difference_percent: 10 }],
  ['ieee-1547-2018.sync.angle', '4.10.4, Table 5', 'weak', { difference_deg: 20 }],
  [
    'ieee-1547-2018.sync.to-1500kVA',
    '4.10.4, Table 5',
    'memory',
    { frequency_Hz: 0.2, voltage_percent: 5, angle_deg: 15 },
  ],
  [
    'ieee-1547-2018.sync.over-1500kVA',
    '4.10.4, Table 5',
    'memory',
    { frequency_Hz: 0.1, voltage_percent: 3, angle_deg: 10 },
  ],
  ['ieee-1547-2018.island.clear', '8.1.1', 'confirmed', { time_s: 2 }],
  ['ieee-1547-2018.island.agreed', '8.1.2', 'memory', { time_s: 5 }],
  ['ieee-1547-2018.open-phase', '6.2.2', 'memory', { time_s: 2 }],
  ['ieee-1547-2018.applicable-voltage', '4.3', 'memory', { nominal_V: 240 }],
  ['ieee-1547-2018.ceased.active', '4.5', 'memory', { power_pu: 0.01 }],
  ['ieee-1547-2018.ceased.apparent', '4.5', 'memory', { power_pu: 0.1 }],
  ['ieee-1547-2018.inadvertent', '4.9', 'memory', { count_1: 0 }],
  ['ieee-1547-2018.momentary', '6.4.2, Table 16', 'confirmed', { time_s: 0.083 }],
  ['ieee-1547-2018.recovery', '6.4.2.7', 'weak', { current_pu: 0.8, time_s: 0.4 }],
  ['ieee-1547-2018.overvoltage.fundamental', '7.4.1', 'weak', { level_pu: 1.38, time_s: 1 / 60 }],
  ['ieee-1547-2018.overvoltage.1.3', '7.4.2, Figure 3', 'weak', { level_pu: 1.3, time_s: 0.016 }],
  ['ieee-1547-2018.overvoltage.1.4', '7.4.2, Figure 3', 'weak', { level_pu: 1.4, time_s: 0.003 }],
  ['ieee-1547-2018.overvoltage.1.7', '7.4.2, Figure 3', 'weak', { level_pu: 1.7, time_s: 0.0016 }],
  ['ieee-1547-2018.overvoltage.2.0', '7.4.2, Figure 3', 'weak', { level_pu: 2, time_s: 0 }],
  ['ieee-1547-2018.overvoltage.window', '7.4.2', 'weak', { time_s: 60 }],
  ['iti.upper.500', 'envelope', 'memory', { level_pu: 5, time_s: 1 / 6000 }],
  ['iti.upper.200', 'envelope', 'memory', { level_pu: 2, time_s: 0.001 }],
  ['iti.upper.140', 'envelope', 'memory', { level_pu: 1.4, time_s: 0.003 }],
  ['iti.upper.120', 'envelope', 'confirmed', { level_pu: 1.2, time_s: 0.5 }],
  ['iti.upper.110', 'envelope', 'confirmed', { level_pu: 1.1, time_s: Number.POSITIVE_INFINITY }],
  ['iti.lower.0', 'envelope', 'memory', { level_pu: 0, time_s: 0.02 }],
  ['iti.lower.70', 'envelope', 'confirmed', { level_pu: 0.7, time_s: 0.5 }],
  ['iti.lower.80', 'envelope', 'memory', { level_pu: 0.8, time_s: 10 }],
  ['iti.lower.90', 'envelope', 'confirmed', { level_pu: 0.9, time_s: Number.POSITIVE_INFINITY }],
  // ANSI C84.1, 120 V base
  ['ansi-c84-1.A.service', '120 V base', 'weak', { min_V: 114, max_V: 126, min_pu: 0.95, max_pu: 1.05 }],
  ['ansi-c84-1.A.utilisation', '120 V base', 'weak', { min_V: 108, max_V: 126, min_pu: 0.9, max_pu: 1.05 }],
  ['ansi-c84-1.A.lighting', '120 V base', 'weak', { min_V: 110, max_V: 126, min_pu: 110 / 120, max_pu: 1.05 }],
  ['ansi-c84-1.B.service', '120 V base', 'weak', { min_V: 110, max_V: 127, min_pu: 110 / 120, max_pu: 127 / 120 }],
  ['ansi-c84-1.B.utilisation', '120 V base', 'weak', { min_V: 104, max_V: 127, min_pu: 104 / 120, max_pu: 127 / 120 }],
  ['ansi-c84-1.B.lighting', '120 V base', 'weak', { min_V: 106, max_V: 127, min_pu: 106 / 120, max_pu: 127 / 120 }],
  ['nec.no-backfeed', '702.5', 'confirmed', { count_1: 0 }],
  ['practice.dead-bus', 'default', 'confirmed', { level_pu: 0.2 }],
  ['practice.house-island', '', 'common practice', { time_s: 2 }],
  ['practice.by-hand', '', 'common practice', { count_1: 0 }],
  ['practice.break-current', '', 'common practice', { current_A: 1 }],
  ['own.separation', '', 'site setting', { time_s: 0.05 }],
  ['own.backfeed-voltage', '', 'site setting', { level_pu: 0.02 }],
  ['own.hidden-weld', '', 'site setting', { level_pu: 0.05, time_s: 0.1, attempts_1: 1 }],
  ['own.leakage', '', 'site setting', { current_A: 0.005 }],
  ['own.live', '', 'site setting', { level_pu: 0.25 }],
  ['own.dead-bus', '', 'site setting', { level_pu: 0.1, time_s: 0.1 }],
  ['own.evidence-age', '', 'site setting', { time_s: 0.05 }],
  ['own.proof-lost', '', 'site setting', { time_s: 0.1 }],
  ['own.isolated-and-quiet', '', 'site setting', { count_1: 0 }],
  ['own.open-anyway', '', 'site setting', { time_s: 2 }],
  ['own.reaction', '', 'site setting', { time_s: 0.21 }],
  ['own.touch-apart', '', 'site setting', { time_s: 0.05 }],
  ['own.lower-pause', '', 'site setting', { time_s: 1 }],
  ['own.steady', '', 'site setting', { time_s: 60 }],
  ['own.lower-utility', '', 'site setting', { min_pu: 0.88, max_pu: 1.1 }],
  ['own.no-live-touch', '', 'site setting', { count_1: 0 }],
  ['own.neutral-held-power', '', 'site setting', { ratio_1: 1 }],
  ['own.hand.voltage', '', 'site setting', { level_pu: 0.1, time_s: 5 }],
  ['own.hand.forming', '', 'site setting', { count_1: 0, time_s: 600 }],
  ['own.neutral.slow', '', 'site setting', { level_pu: 0.05, time_s: 10 }],
  ['own.neutral.fast', '', 'site setting', { level_pu: 0.15, time_s: 0.16 }],
  ['own.neutral.loss', '', 'site setting', { time_s: 0.2 }],
  ['own.neutral.former', '', 'site setting', { level_pu: 1, time_s: 10 }],
  ['own.neutral.former-short', '', 'site setting', { level_pu: 1.5, time_s: 0.5 }],
  ['nec.one-bond', '250.24, 250.30', 'confirmed', { count_1: 1 }],
  ['own.bond-switching', '', 'site setting', { time_s: 0.1 }],
  ['own.island-fault.time', '', 'site setting', { time_s: 0.5 }],
  ['own.island-fault.restarts', '', 'site setting', { count_1: 1 }],
  ['own.island.voltage', '', 'site setting', { min_pu: 0.88, max_pu: 1.1 }],
  ['own.island.step', '', 'site setting', { time_s: 2 }],
  ['own.island.frequency', '', 'site setting', { min_Hz: 59.3, max_Hz: 60.5 }],
  ['own.island.curtailing', '', 'site setting', { max_Hz: 61.2, time_s: 60 }],
  ['own.island.never', '', 'site setting', { min_Hz: 57, max_Hz: 63 }],
  ['own.return.good', '', 'site setting', { time_s: 300, timeMin_s: 60, timeMax_s: 600 }],
  ['own.return.voltage', '', 'site setting', { min_pu: 0.9, max_pu: 1.06 }],
  ['own.return.angle', '', 'site setting', { off_deg: 20 }],
  ['own.return.frequency', '', 'site setting', { min_Hz: 59.5, max_Hz: 60.5 }],
  ['own.return.decaying', '', 'site setting', { level_pu: 0.25 }],
  ['own.return.forming', '', 'site setting', { count_1: 0 }],
  ['practice.return.overlap', '', 'common practice', { time_s: 0.1 }],
  ['own.outage.dark', '', 'site setting', { level_pu: 0.5, time_s: 0.02 }],
  ['own.outage.low', '', 'site setting', { level_pu: 0.88, time_s: 10 }],
  ['own.outage.awake', '', 'site setting', { time_s: 10 }],
  ['own.outage.asleep', '', 'site setting', { time_s: 15 }],
  ['own.outage.tired', '', 'site setting', { count_1: 2, time_s: 600 }],
  ['own.outage.recovered', '', 'site setting', { share_pu: 0.1 }],
  ['own.outage.return', '', 'site setting', { time_s: 2 }],
  ['own.outage.hand-test', '', 'site setting', { time_s: 120 }],
  ['own.outage.liveness', '', 'site setting', { time_s: 10 }],
  ['nec.source.ordered', '210.20(A), 625.41', 'confirmed', { share_pu: 0.8 }],
  ['nec.source.busbar', '705.12(B)(3)(2)', 'confirmed', { source_pu: 1.25, bus_pu: 1.2 }],
  ['own.source.current', '', 'site setting', { share_pu: 1.02, time_s: 1 }],
  ['own.source.settle', '', 'site setting', { time_s: 6 }],
  ['own.source.thermal', '', 'site setting', { share_pu: 1 }],
  ['own.lockout.notice', '', 'site setting', { time_s: 0.1 }],
  ['own.lockout.source-off', '', 'site setting', { time_s: 0.1 }],
  ['own.lockout.no-orders', '', 'site setting', { count_1: 0 }],
  ['own.lockout.tries', '', 'site setting', { count_1: 3, time_s: 10 }],
  ['own.relay-duty.makes', '', 'site setting', { count_1: 2, time_s: 60 }],
  ['own.relay-duty.pause', '', 'site setting', { time_s: 10 }],
  ['own.relay-duty.load', '', 'site setting', { share_pu: 1 }],
  ['iec-61851-1.plug.pilot-lost', '', 'memory', { time_s: 0.1 }],
  ['own.plug.current', '', 'site setting', { current_A: 1, time_s: 7 }],
  ['own.plug.unlock', '', 'site setting', { count_1: 0 }],
  ['own.restart.count', '', 'site setting', { count_1: 3, time_s: 600 }],
  ['own.restart.load', '', 'site setting', { count_1: 0 }],
  ['own.stale.measured', '', 'site setting', { time_s: 0.05 }],
  ['own.stale.status', '', 'site setting', { time_s: 2 }],
  ['own.stale.power', '', 'site setting', { time_s: 3 }],
  ['practice.ready-gate', '', 'common practice', { count_1: 0 }],
];

describe('limit', () => {
  it.each(TABLES_11_TO_13_AND_18)(
    'agrees with the trip tables of IEEE 1547-2018: %s',
    (...[key, ...expected]: Setting) => {
      const of = limit(key).values as Readonly<Record<string, number>>;
      const unit = 'level_Hz' in of ? 'Hz' : 'pu';
      const found = [`level_${unit}`, `levelMin_${unit}`, `levelMax_${unit}`, 'time_s', 'timeMin_s', 'timeMax_s'].map(
        (name) => of[name],
      );
      expect(found).toEqual(expected);
      expect(limit(key).grade).toBe('confirmed');
    },
  );

  it.each(LEGACY)('agrees with the older sets: %s', (key: LimitKey, level: number, time_s: number) => {
    expect(Object.values(limit(key).values)).toEqual([level, time_s]);
    expect(limit(key).grade).toBe('confirmed');
  });

  it.each(RIDE_THROUGH.map(([key, ...expected]) => [key, expected] as const))(
    'agrees with the ride-through tables of IEEE 1547-2018: %s',
    (key, expected) => {
      expect(Object.values(limit(key).values)).toEqual(expected);
      expect(limit(key).grade).toBe('confirmed');
    },
  );

  it.each(OTHERS)('holds %s with clause, grade and every number', (key, clause, grade, values) => {
    expect(limit(key).values).toEqual(values);
    expect(limit(key).clause).toBe(clause);
    expect(limit(key).grade).toBe(grade);
  });

  it('holds nothing that this test has not typed in', () => {
    const typed = [TABLES_11_TO_13_AND_18, LEGACY, RIDE_THROUGH, OTHERS].flatMap((table) => table.map(([key]) => key));
    expect(new Set(typed).size).toBe(typed.length);
    expect([...typed].sort()).toEqual(Object.keys(LIMITS).sort());
  });

  it('calls confirmed nothing that rests on memory, on one person or on us', () => {
    for (const { key, grade, source, document } of limitList()) {
      const proof =
        source !== 'memory' && source !== 'private-notes' && source !== 'own' && source !== 'common-practice';
      if (grade === 'confirmed') expect([key, proof]).toEqual([key, true]);
      if (source === 'memory') expect([key, grade]).toEqual([key, 'memory']);
      if (source === 'private-notes') expect([key, grade]).toEqual([key, 'weak']);
      if (source === 'own') expect([key, grade, document]).toEqual([key, 'site setting', 'none']);
      expect(LIMIT_SOURCES[source].length).toBeGreaterThan(5);
    }
  });
});

// Published axis corners with straight lines in level against the logarithm of time between them; the times were worked out
// by hand from 1 ms · 3^((2 − x)/0.6) and 1 ms · 6^((2 − x)/3), four digits.
describe('itiUpperTime_s', () => {
  it.each([
    [1.433, 2.824],
    [1.5, 2.498],
    [1.6, 2.08],
    [1.714, 1.688],
    [1.8, Math.LOG2E],
    [2, 1],
    [3, 0.55],
    [5, 0.167],
  ])('at %f pu allows %f ms', (level_pu, time_ms) => {
    expect(Math.abs(itiUpperTime_s(level_pu) * 1000 - time_ms)).toBeLessThan(0.0006);
  });

  it.each([
    [1.1, Number.POSITIVE_INFINITY],
    [1.1001, 0.5],
    [1.2, 0.5],
    [1.2001, 0.003],
    [1.4, 0.003],
    [5.001, 0],
  ])('at %f pu, beside a step, allows %f s', (level_pu, time_s) => {
    expect(itiUpperTime_s(level_pu)).toBe(time_s);
  });
});

describe('itiLowerTime_s', () => {
  it.each([
    [0, 0.02],
    [0.6999, 0.02],
    [0.7, 0.5],
    [0.7999, 0.5],
    [0.8, 10],
    [0.8999, 10],
    [0.9, Number.POSITIVE_INFINITY],
  ])('at %f pu allows %f s', (level_pu, time_s) => {
    expect(itiLowerTime_s(level_pu)).toBe(time_s);
  });
});

describe('itiUpperGrid and itiLowerGrid', () => {
  it('allow at each level what a voltage a hair beyond it is allowed', () => {
    for (const { level_pu, time_s } of itiUpperGrid().slice(0, -1)) {
      expect(Math.abs(itiUpperTime_s(level_pu + 1e-9) / time_s - 1)).toBeLessThan(1e-7);
    }
    for (const { level_pu, time_s } of itiLowerGrid()) expect(itiLowerTime_s(level_pu - 1e-9)).toBe(time_s);
  });

  it('go outwards from 1.10 to 5 pu and from 0.90 to 0.70 pu', () => {
    const upper = itiUpperGrid().map(({ level_pu }) => level_pu);
    expect([upper[0], upper.at(-1)]).toEqual([1.1, 5]);
    expect([...upper].sort((a, b) => a - b)).toEqual(upper);
    expect(itiLowerGrid().map(({ level_pu }) => level_pu)).toEqual([0.9, 0.8, 0.7]);
  });
});
