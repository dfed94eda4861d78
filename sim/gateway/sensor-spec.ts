import type { DoesSpec, ParamSpec, ParamUnit } from '../site-description.ts';
import { INPUT_NAMES } from './boundary.ts';
import { MEASURED_INPUTS, SIDES, TRANSFORMER_INPUTS, TRANSFORMER_PAIRS } from './sensor-inputs.ts';

const COMMON = 'common practice, no source';
const HOUR_us = 3_600_000_000;

const sigma = (name: string, unit: ParamUnit, max: number, what: string): ParamSpec => ({
  name,
  unit,
  default: 0,
  min: 0,
  max,
  about: `Standard deviation of the noise on each measured ${what}; it never exceeds three of them.`,
  source: 'assumed',
});
const wiring = (name: string, choices: readonly string[], about: string): ParamSpec => ({
  name,
  unit: 'choice',
  choices: ['none', ...choices],
  default: 'none',
  about,
  source: COMMON,
});
const picked = (name: string, choices: readonly string[], about: string): ParamSpec => ({
  name,
  unit: 'choice',
  choices,
  about,
  source: COMMON,
});

/** Settings of a site that concern its sensors, besides their latency. */
export const SENSOR_SETTINGS: readonly ParamSpec[] = [
  {
    name: 'sensorSampling',
    unit: 'µs',
    default: 0,
    min: 0,
    max: 1_000_000,
    about: 'Time between two samples of every measured value, which holds in between; 0 takes one at each scan.',
    source: 'assumed',
  },
  sigma('noiseVoltage', 'V', 50, 'voltage'),
  sigma('noiseAngle', 'deg', 30, 'angle'),
  sigma('noiseFrequency', 'Hz', 1, 'frequency'),
  sigma('noiseCurrent', 'A', 50, 'current'),
  sigma('noisePower', 'W', 5_000, 'power'),
  wiring('reversedTransformer', TRANSFORMER_INPUTS, 'The current transformer that was put on the wrong way round.'),
  wiring(
    'swappedTransformers',
    Object.keys(TRANSFORMER_PAIRS),
    'The pair of current transformers that were put on the wrong legs.',
  ),
  wiring('swappedLegs', SIDES, 'The side of the relay whose sense leads of L1 and L2 were exchanged.'),
];

const ANY_INPUT = picked('input', INPUT_NAMES, 'Name of an input of the boundary table.');
const A_MEASURED_INPUT = picked('input', MEASURED_INPUTS, 'Name of a measured input of the boundary table.');

const does = (name: string, about: string, ...using: ParamSpec[]): DoesSpec => ({
  name,
  about,
  origin: 'equipment',
  using,
});

/** What a scenario may do to the sensors. */
export const SENSOR_DOES: readonly DoesSpec[] = [
  does('freeze input', 'One reading no longer comes; its last value stays and is marked stale.', ANY_INPUT),
  does('stick input', 'One reading stays at its last value and is still marked fresh: the sensor lies.', ANY_INPUT),
  does('thaw input', 'A reading that was frozen or stuck comes again.', ANY_INPUT),
  does(
    'reverse current transformer',
    'One current transformer is turned round: its reading changes sign.',
    picked('input', TRANSFORMER_INPUTS, 'The input that it feeds.'),
  ),
  does(
    'swap current transformers',
    'The current transformers of L1 and L2 are exchanged: each reading shows the other leg, against the wrong voltage and so with the wrong sign.',
    picked('pair', Object.keys(TRANSFORMER_PAIRS), 'Which pair.'),
  ),
  does(
    'swap legs',
    'The sense leads of L1 and L2 of one side are exchanged, and with them what is reckoned from their voltages: signs of the service currents (utility side), differences across the poles.',
    picked('side', SIDES, 'Which side of the relay.'),
  ),
  does('offset input', 'One measured value is off by a fixed amount.', A_MEASURED_INPUT, {
    name: 'by',
    unit: '1',
    min: -1e9,
    max: 1e9,
    about: 'How much is added to the reading, in its own unit: mV, mdeg, mHz, mA, W.',
    source: COMMON,
  }),
  does('scale input', 'One measured value is out of scale.', A_MEASURED_INPUT, {
    name: 'factor',
    unit: '1',
    min: -10,
    max: 10,
    about: 'What the true value is multiplied by.',
    source: COMMON,
  }),
  does(
    'step clock',
    'The clock of the sensors jumps: from now on every fresh reading bears an instant that is off by so much more. The scans keep the right time.',
    {
      name: 'by',
      unit: 'µs',
      min: -HOUR_us,
      max: HOUR_us,
      about: 'How far it jumps; negative is back.',
      source: COMMON,
    },
  ),
  does(
    'mend sensors',
    'Every fault of a sensor is gone: readings come, are true, stand at the right terminals and bear the right instants, also those that the settings of the site had wrong.',
  ),
];
