import type { ParamSpec } from '../site-description.ts';
import { METHODS } from './pv-methods.ts';
import { CATEGORIES, TRIP_ROWS } from './pv-trips.ts';

// What a source that follows the voltage of others must keep to, whatever feeds it: PV, or a vehicle that discharges.

export const ASSUMED = 'assumed';
export const TABLE_4 = 'ieee-1547-2018, 4.10, Table 4';
export const number = (
  name: string,
  unit: ParamSpec['unit'],
  value: number,
  min: number,
  max: number,
  about: string,
  source: string,
): ParamSpec => ({ name, unit, about, default: value, min, max, source });
export const choice = (
  name: string,
  value: string,
  choices: readonly string[],
  about: string,
  source: string,
): ParamSpec => ({
  name,
  unit: 'choice',
  about,
  default: value,
  choices,
  source,
});
export const BY_CATEGORY = ['by category', 'yes', 'no'];

/** Trip rows, self-protection, and what a timer keeps back. */
export const TRIPS: readonly ParamSpec[] = [
  choice(
    'category',
    'II',
    CATEGORIES,
    'Trip settings and return: category of the 2018 edition, or an older edition.',
    ASSUMED,
  ),
  number('instantLevel', '1', 1.25, 1, 100, 'Instantaneous self-protection, pu of nominal crest.', ASSUMED),
  number('instantTime', 'µs', 1000, 0, 8000, 'Time above that level within one half wave.', ASSUMED),
  ...TRIP_ROWS.flatMap((row): ParamSpec[] => {
    const voltage = row[1] === 'V';
    const name = row.toLowerCase();
    const source =
      'ieee-1547-2018, Tables 11 to 13 and 18; ieee-1547-2003, Tables 1 and 2; ieee-1547a-2014, Tables 1 and 2';
    return [
      number(
        name,
        voltage ? '1' : 'Hz',
        0,
        0,
        voltage ? 100 : 1000,
        `Level of ${row}${voltage ? ', pu' : ''}; 0: by category.`,
        source,
      ),
      number(`${name}Time`, 'µs', 0, 0, 1e12, `Clearing time of ${row}; 0: by category.`, source),
    ];
  }),
  number(
    'switching',
    'µs',
    16_000,
    0,
    100_000,
    'What a timer keeps back of its clearing time for the switching.',
    ASSUMED,
  ),
];

/** Momentary cessation. */
export const CESSATION: readonly ParamSpec[] = [
  choice(
    'cessation',
    'by category',
    BY_CATEGORY,
    'Momentary cessation; by category: III only.',
    'ieee-1547-2018, 6.4.2, Table 16',
  ),
  number('cessationLow', '1', 0.5, 0, 1, 'It ceases below this voltage, pu.', 'ieee-1547-2018, Table 16'),
  number('cessationHigh', '1', 1.1, 1, 100, 'It ceases above this voltage, pu.', 'ieee-1547-2018, Table 16'),
  number('cessationTime', 'µs', 83_000, 0, 1e7, 'Within this time.', 'ieee-1547-2018, Table 16'),
  number('recoveryLow', '1', 0.88, 0, 1, 'Back once inside, pu.', 'ieee-1547-2018, 6.4.2.7'),
  number('recoveryHigh', '1', 1.1, 1, 100, 'Back once inside, pu.', 'ieee-1547-2018, 6.4.2.7'),
  number('recoveryTime', 'µs', 400_000, 0, 1e7, 'Ramp of the return.', 'ieee-1547-2018, 6.4.2.7'),
];

/** Less power at high frequency. */
export const DROOP: readonly ParamSpec[] = [
  choice(
    'droop',
    'by category',
    BY_CATEGORY,
    'Less power at high frequency; by category: I, II and III.',
    'ieee-1547-2018, 6.5.2.7',
  ),
  number('droopDeadBand', 'Hz', 0.036, 0, 1, 'Dead band above 60 Hz.', 'ieee-1547-2018, 6.5.2.7'),
  number(
    'droopSlope',
    '1',
    0.05,
    0.01,
    0.1,
    'Change of frequency over change of power, pu.',
    'ieee-1547-2018, 6.5.2.7',
  ),
  number('droopResponse', 'µs', 5_000_000, 0, 1e8, 'Open-loop response time, to 90 %.', 'ieee-1547-2018, 6.5.2.7'),
];

/** Active detection of an island. */
export const ISLAND: readonly ParamSpec[] = [
  choice('detection', 'SFS', METHODS, 'Active method of island detection.', 'ropp-2000; lopes-sun-2006'),
  number('cf0', '1', 0.02, -0.3, 0.3, 'Chopping fraction of AFD, and of SFS at 60 Hz.', ASSUMED),
  number('sfsGain', '1/Hz', 0.07, 0, 1, 'Gain of SFS: chopping fraction by frequency.', ASSUMED),
  number('sfsClamp', '1', 0.3, 0, 0.6, 'Largest chopping fraction of SFS.', ASSUMED),
  number('smsAngle', 'deg', 10, 0, 28, 'Largest angle of SMS.', 'from memory: lopes-sun-2006'),
  number(
    'smsReach',
    'Hz',
    3,
    0.1,
    10,
    'Deviation of frequency at which SMS has its largest angle.',
    'from memory: lopes-sun-2006',
  ),
  number('svsGain', '1', 2.5, 0, 10, 'Gain of SVS: share of current by share of voltage.', ASSUMED),
];

/** Window for entering service. */
export const ENTER: readonly ParamSpec[] = [
  number('enterLow', '1', 0, 0, 1, 'Lower voltage for entering service, pu; 0: by category.', TABLE_4),
  number('enterHigh', '1', 0, 0, 2, 'Upper voltage for entering service, pu; 0: by category.', TABLE_4),
  number('enterLowF', 'Hz', 0, 0, 60, 'Lower frequency for entering service; 0: by category.', TABLE_4),
  number('enterHighF', 'Hz', 0, 0, 70, 'Upper frequency for entering service; 0: by category.', TABLE_4),
];

/** Loss of a leg. */
export const OPEN_PHASE: readonly ParamSpec[] = [
  choice(
    'openPhase',
    'by leads',
    ['by leads', 'yes', 'no'],
    'Detects the loss of a leg; by leads: with three.',
    'from memory: ieee-1547-2018, 6.2.2',
  ),
  number(
    'openPhaseLevel',
    '1',
    0.1,
    0.01,
    1,
    'Difference between the two leg voltages that counts as a loss, pu of 120 V.',
    ASSUMED,
  ),
  number('openPhaseTime', 'µs', 2_000_000, 0, 1e7, 'Clearing time of that.', 'from memory: ieee-1547-2018, 6.2.2'),
];
