import type { DoesSpec, KindSpec, ParamSpec } from '../site-description.ts';
import { METHODS } from './pv-methods.ts';
import { CATEGORIES, TRIP_ROWS } from './pv-trips.ts';

const ASSUMED = 'assumed';
const TABLE_4 = 'ieee-1547-2018, 4.10, Table 4';
const number = (
  name: string,
  unit: ParamSpec['unit'],
  value: number,
  min: number,
  max: number,
  about: string,
  source: string,
): ParamSpec => ({ name, unit, about, default: value, min, max, source });
const choice = (name: string, value: string, choices: readonly string[], about: string, source: string): ParamSpec => ({
  name,
  unit: 'choice',
  about,
  default: value,
  choices,
  source,
});
const BY_CATEGORY = ['by category', 'yes', 'no'];

const SOURCE: readonly ParamSpec[] = [
  number('rated', 'W', 5000, 100, 50_000, 'Rated active power.', ASSUMED),
  choice('leads', '2', ['2', '3'], 'Leads to the bus: two line leads, or these and a sensing neutral.', ASSUMED),
  number('currentLimit', '1', 1.2, 1, 2, 'Current limit over rated current.', 'keller-kroposki-2010, 1.1 to 1.2'),
  number('loop', 'Hz', 6, 1, 13, 'Natural frequency of the phase-locked loop.', ASSUMED),
  number('damping', '1', 0.9, 0.4, 2, 'Damping of the phase-locked loop.', ASSUMED),
  number('frequencyLag', 'µs', 20_000, 0, 1_000_000, 'Time constant of the measured frequency.', ASSUMED),
  number(
    'voltageLag',
    'µs',
    10_000,
    0,
    1_000_000,
    'Time constant of the voltage that the power loop divides by.',
    ASSUMED,
  ),
  number(
    'noise',
    'Hz',
    0.001,
    0,
    0.1,
    'Noise of the measured frequency in an unformed part, uniform, plus or minus.',
    ASSUMED,
  ),
  number('filter', 'F', 10e-6, 0, 100e-6, 'Output filter across the legs while the output contact is closed.', ASSUMED),
  number('ceiling', '1', 1.33, 1, 100, 'Voltage that the d.c. side can make, pu of nominal crest.', ASSUMED),
  number(
    'bias',
    'deg',
    0,
    -20,
    20,
    'Deliberate error of the angle of its current, for checks.',
    'none: a sound inverter has none',
  ),
];

const TRIPS: readonly ParamSpec[] = [
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
  number('contactDelay', 'µs', 30_000, 16_000, 50_000, 'From ceasing to the opening of the output contact.', ASSUMED),
];

const CESSATION: readonly ParamSpec[] = [
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

const DROOP: readonly ParamSpec[] = [
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

const ISLAND: readonly ParamSpec[] = [
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

const RETURN: readonly ParamSpec[] = [
  number('enterLow', '1', 0, 0, 1, 'Lower voltage for entering service, pu; 0: by category.', TABLE_4),
  number('enterHigh', '1', 0, 0, 2, 'Upper voltage for entering service, pu; 0: by category.', TABLE_4),
  number('enterLowF', 'Hz', 0, 0, 60, 'Lower frequency for entering service; 0: by category.', TABLE_4),
  number('enterHighF', 'Hz', 0, 0, 70, 'Upper frequency for entering service; 0: by category.', TABLE_4),
  number('enterDelay', 'µs', 300_000_000, 0, 600_000_000, 'Unbroken time inside that window.', TABLE_4),
  number(
    'randomDelay',
    'µs',
    0,
    0,
    1_000_000_000,
    'Largest random extra delay, in place of the ramp; 0: none.',
    'from memory: ieee-1547-2018, 4.10.3',
  ),
  choice('ramp', 'by category', BY_CATEGORY, 'Ramp after entering service; by category: I, II and III.', TABLE_4),
  number('rampTime', 'µs', 300_000_000, 0, 1_000_000_000, 'Ramp to full power, in stairs of 5 %.', TABLE_4),
];

const PERMIT: readonly ParamSpec[] = [
  {
    name: 'permitWired',
    unit: 'bool',
    about: 'The permit of the gateway reaches it; no: it runs as if it always had it.',
    default: true,
    source: 'common practice, no source',
  },
  number(
    'permitDelay',
    'µs',
    100_000,
    0,
    2_000_000,
    'From the loss of the permit to ceasing.',
    'assumed: inside the 2 s of ieee-1547-2018, 4.6.1',
  ),
  {
    name: 'contactor',
    unit: 'bool',
    about: 'An outside contactor follows the order pvContactor.',
    default: false,
    source: ASSUMED,
  },
  number('contactorTravel', 'µs', 20_000, 0, 200_000, 'Travel of that contactor.', ASSUMED),
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

const DOES: readonly DoesSpec[] = [
  {
    name: 'irradiance',
    about: 'Sun or cloud: share of the rated power that the array gives from now on; 0 is night.',
    using: [{ name: 'value', unit: '1', about: 'Share of rated.', min: 0, max: 1, source: 'the scenario' }],
    origin: 'site',
  },
  { name: 'trip test', about: 'Somebody makes it trip.', using: [], origin: 'person' },
  { name: 'fail to detect', about: 'Its active method stops working.', using: [], origin: 'equipment' },
  { name: 'stuck on', about: 'It no longer listens to its permit.', using: [], origin: 'equipment' },
  { name: 'start', about: 'It enters service at once, whatever its delay says.', using: [], origin: 'equipment' },
];

export const pvSpec: KindSpec = {
  kind: 'pv',
  about: 'A photovoltaic inverter that follows the voltage of its bus.',
  joins: 1,
  legs: [['L1', 'L2']],
  params: [...SOURCE, ...TRIPS, ...CESSATION, ...DROOP, ...ISLAND, ...RETURN, ...PERMIT],
  does: DOES,
  start: [
    number('irradiance', '1', 1, 0, 1, 'Share of the rated power that the array gives; 0 is night.', ASSUMED),
    {
      name: 'running',
      unit: 'bool',
      about: 'It has been running for long; no: it waits to enter service.',
      default: true,
      source: ASSUMED,
    },
    { name: 'permit', unit: 'bool', about: 'It has its permission to run.', default: true, source: ASSUMED },
    {
      name: 'contactorClosed',
      unit: 'bool',
      about: 'The outside contactor, where fitted, is closed.',
      default: true,
      source: ASSUMED,
    },
  ],
};
