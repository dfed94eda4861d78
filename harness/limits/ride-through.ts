import { IEEE_1547, type Limit, row } from './limit.ts';

type VoltageBand = 'min_pu' | 'max_pu' | 'time_s' | 'slope_s';
type FrequencyBand = 'min_Hz' | 'max_Hz' | 'time_s';
type Band = readonly [min: number, max: number];

/** Table 14, 15 or 16. At V in a band the least time is time + slope · (V − the band's lower end). */
function voltage(
  table: number,
  category: string,
  [min_pu, max_pu]: Band,
  time_s: number,
  slope_s = 0,
): Limit<VoltageBand> {
  const about = `voltage ride-through, category ${category}: no trip within this time`;
  return row(IEEE_1547, `6.4.2, Table ${table}`, 'confirmed', 'institute-der-code', about, {
    min_pu,
    max_pu,
    time_s,
    slope_s,
  });
}

function frequency(about: string, [min_Hz, max_Hz]: Band): Limit<FrequencyBand> {
  const values = { min_Hz, max_Hz, time_s: 299 };
  return row(IEEE_1547, '6.5.2, Table 19', 'confirmed', 'institute-der-code', about, values);
}

/**
 * Bands in which a source of the 2018 edition must not trip for a while. A band above nominal lacks its lower end and holds
 * its upper one, a band below nominal the other way round. Beyond the outermost one nothing is asked. That the continuous
 * range of frequency begins at 58.8 Hz is what one of two public texts says; the other has 58.5 Hz.
 */
export const RIDE_THROUGH_LIMITS = {
  'ieee-1547-2018.ride.I.1.10': voltage(14, 'I', [1.1, 1.15], 1),
  'ieee-1547-2018.ride.I.1.15': voltage(14, 'I', [1.15, 1.175], 0.5),
  'ieee-1547-2018.ride.I.1.175': voltage(14, 'I', [1.175, 1.2], 0.2),
  'ieee-1547-2018.ride.I.0.88': voltage(14, 'I', [0.7, 0.88], 0.7, 4),
  'ieee-1547-2018.ride.I.0.70': voltage(14, 'I', [0.5, 0.7], 0.16),
  'ieee-1547-2018.ride.II.1.10': voltage(15, 'II', [1.1, 1.15], 1),
  'ieee-1547-2018.ride.II.1.15': voltage(15, 'II', [1.15, 1.175], 0.5),
  'ieee-1547-2018.ride.II.1.175': voltage(15, 'II', [1.175, 1.2], 0.2),
  'ieee-1547-2018.ride.II.0.88': voltage(15, 'II', [0.65, 0.88], 3, 8.7),
  'ieee-1547-2018.ride.II.0.65': voltage(15, 'II', [0.45, 0.65], 0.32),
  'ieee-1547-2018.ride.II.0.45': voltage(15, 'II', [0.3, 0.45], 0.16),
  'ieee-1547-2018.ride.III.1.10': voltage(16, 'III', [1.1, 1.2], 12),
  'ieee-1547-2018.ride.III.0.88': voltage(16, 'III', [0.7, 0.88], 20),
  'ieee-1547-2018.ride.III.0.70': voltage(16, 'III', [0.5, 0.7], 10),
  'ieee-1547-2018.ride.III.0.50': voltage(16, 'III', [0, 0.5], 1),
  'ieee-1547-2018.ride.f.61.2': frequency('high-frequency ride-through: no trip within this time', [61.2, 61.8]),
  'ieee-1547-2018.ride.f.58.8': frequency('low-frequency ride-through: no trip within this time', [57, 58.8]),
  'ieee-1547-2018.ride.exempt': row(
    IEEE_1547,
    '6.4.2.1, 6.5.2.1',
    'memory',
    'memory',
    'net export before, share of rating, up to which source and load may leave together',
    { power_pu: 0.1 },
  ),
} as const;
