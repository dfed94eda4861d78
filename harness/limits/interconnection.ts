import type { Grade } from '../rules/rule.ts';
import { IEEE_1547, type Limit, row } from './limit.ts';
import type { LimitSource } from './sources.ts';

const lab = 'institute-der-code';

function table5(
  about: string,
  clause: string,
  f: number,
  v: number,
  a: number,
  grade: Grade,
  source: LimitSource,
): Limit<'frequency_Hz' | 'voltage_percent' | 'angle_deg'> {
  return row(IEEE_1547, clause, grade, source, about, { frequency_Hz: f, voltage_percent: v, angle_deg: a });
}

function cumulative(level_pu: number, time_s: number): Limit<'level_pu' | 'time_s'> {
  const about = `time in one minute with the instantaneous voltage above ${level_pu} of nominal crest, at most`;
  return row(IEEE_1547, '7.4.2, Figure 3', 'weak', 'private-notes', about, { level_pu, time_s });
}

const smallestRow = 'synchronising, up to 500 kVA';

/** What IEEE 1547-2018 asks of a source that meets, feeds and leaves the street, trip tables apart. */
export const INTERCONNECTION_LIMITS = {
  'ieee-1547-2018.applicable-voltage': row(
    IEEE_1547,
    '4.3',
    'memory',
    'memory',
    'voltage that a 240 V unit is judged by, line to line',
    { nominal_V: 240 },
  ),
  'ieee-1547-2018.ceased.active': row(
    IEEE_1547,
    '4.5',
    'memory',
    'memory',
    'active power of a source that has ceased, share of rating, at most',
    { power_pu: 0.01 },
  ),
  'ieee-1547-2018.ceased.apparent': row(
    IEEE_1547,
    '4.5',
    'memory',
    'memory',
    'apparent power of a source that has ceased, share of rating, at most',
    { power_pu: 0.1 },
  ),
  'ieee-1547-2018.inadvertent': row(IEEE_1547, '4.9', 'memory', 'memory', 'starts of energising onto a dead street', {
    count_1: 0,
  }),
  'ieee-1547-2018.enter-service.voltage': row(
    IEEE_1547,
    '4.10.2, Table 4',
    'confirmed',
    lab,
    'voltage window for entering service',
    { min_pu: 0.917, max_pu: 1.05 },
  ),
  'ieee-1547-2018.enter-service.frequency': row(
    IEEE_1547,
    '4.10.2, Table 4',
    'confirmed',
    lab,
    'frequency window for entering service',
    { min_Hz: 59.5, max_Hz: 60.1 },
  ),
  'ieee-1547-2018.enter-service.delay': row(
    IEEE_1547,
    '4.10.3, Table 4',
    'confirmed',
    lab,
    'unbroken time inside the window before entering service',
    { time_s: 300, timeMin_s: 0, timeMax_s: 600 },
  ),
  'ieee-1547-2018.enter-service.ramp': row(IEEE_1547, '4.10.3, Table 4', 'confirmed', lab, 'ramp to full power', {
    time_s: 300,
    timeMin_s: 1,
    timeMax_s: 1000,
  }),
  'ieee-1547-2018.enter-service.random': row(
    IEEE_1547,
    '4.10.3',
    'memory',
    'memory',
    'random extra delay in place of the ramp, under 500 kVA',
    { time_s: 300, timeMin_s: 1, timeMax_s: 1000 },
  ),
  'ieee-1547-2018.sync.to-500kVA': table5(smallestRow, '4.10.4, Table 5', 0.3, 10, 20, 'weak', 'private-notes'),
  'ieee-1547-2018.sync.frequency': row(
    IEEE_1547,
    '4.10.4, Table 5',
    'weak',
    'private-notes',
    `${smallestRow}: difference of frequency`,
    { difference_Hz: 0.3 },
  ),
  'ieee-1547-2018.sync.voltage': row(
    IEEE_1547,
    '4.10.4, Table 5',
    'memory',
    'memory',
    `${smallestRow}: difference of voltage`,
    { difference_percent: 10 },
  ),
  'ieee-1547-2018.sync.angle': row(
    IEEE_1547,
    '4.10.4, Table 5',
    'weak',
    'private-notes',
    `${smallestRow}: difference of angle`,
    { difference_deg: 20 },
  ),
  'ieee-1547-2018.sync.to-1500kVA': table5(
    'synchronising, over 500 to 1500 kVA',
    '4.10.4, Table 5',
    0.2,
    5,
    15,
    'memory',
    'memory',
  ),
  'ieee-1547-2018.sync.over-1500kVA': table5(
    'synchronising, over 1500 kVA',
    '4.10.4, Table 5',
    0.1,
    3,
    10,
    'memory',
    'memory',
  ),
  'ieee-1547-2018.island.clear': row(
    IEEE_1547,
    '8.1.1',
    'confirmed',
    'pvpmc-loss-of-grid',
    'an unintentional island that holds part of the street: ceased within',
    { time_s: 2 },
  ),
  'ieee-1547-2018.island.agreed': row(
    IEEE_1547,
    '8.1.2',
    'memory',
    'memory',
    'the same by agreement with the utility, at most',
    { time_s: 5 },
  ),
  'ieee-1547-2018.open-phase': row(
    IEEE_1547,
    '6.2.2',
    'memory',
    'memory',
    'one leg of the utility lost: ceased within',
    { time_s: 2 },
  ),
  'ieee-1547-2018.momentary': row(
    IEEE_1547,
    '6.4.2, Table 16',
    'confirmed',
    lab,
    'momentary cessation: output ended within',
    { time_s: 0.083 },
  ),
  'ieee-1547-2018.recovery': row(
    IEEE_1547,
    '6.4.2.7',
    'weak',
    'private-notes',
    'share of the earlier current that is back, and how soon',
    { current_pu: 0.8, time_s: 0.4 },
  ),
  'ieee-1547-2018.overvoltage.fundamental': row(
    IEEE_1547,
    '7.4.1',
    'weak',
    'private-notes',
    'fundamental over-voltage for longer than one period, at most',
    { level_pu: 1.38, time_s: 1 / 60 },
  ),
  'ieee-1547-2018.overvoltage.1.3': cumulative(1.3, 0.016),
  'ieee-1547-2018.overvoltage.1.4': cumulative(1.4, 0.003),
  'ieee-1547-2018.overvoltage.1.7': cumulative(1.7, 0.0016),
  'ieee-1547-2018.overvoltage.2.0': cumulative(2, 0),
  'ieee-1547-2018.overvoltage.window': row(
    IEEE_1547,
    '7.4.2',
    'weak',
    'private-notes',
    'window over which those times are summed',
    { time_s: 60 },
  ),
} as const;
