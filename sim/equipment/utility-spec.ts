import type { DoesSpec, KindSpec, ParamSpec } from '../site-description.ts';
import { US_PER_S } from '../units.ts';

const HOUR_us = 3600 * US_PER_S;
const time = (name: string, about: string, fallback_us: number, min_us: number, source: string): ParamSpec => ({
  name,
  unit: 'µs',
  about,
  default: fallback_us,
  min: min_us,
  max: HOUR_us,
  source,
});
const leg: ParamSpec = {
  name: 'leg',
  unit: 'choice',
  about: 'Which leg.',
  choices: ['L1', 'L2'],
  default: 'L2',
  source: 'assumed',
};
const turn = (about: string, fallback?: number): ParamSpec => ({
  name: 'angle',
  unit: 'deg',
  about,
  ...(fallback === undefined ? {} : { default: fallback }),
  min: -360,
  max: 360,
  source: 'assumed',
});
const pu = (about: string, fallback?: number): ParamSpec => ({
  name: 'voltage',
  unit: '1',
  about,
  ...(fallback === undefined ? {} : { default: fallback }),
  min: 0,
  max: 2,
  source: 'assumed',
});
const does = (name: string, about: string, using: readonly ParamSpec[] = []): DoesSpec => ({
  name,
  about,
  using,
  origin: 'utility',
});
const excursion = (name: string, about: string, fallback: number): DoesSpec =>
  does(name, about, [
    pu('Voltage behind the transformer meanwhile, pu of 240 V.', fallback),
    time('duration', 'How long; 0: it stays.', 200_000, 0, 'assumed'),
    turn('By how much its angle stands forward meanwhile.', 0),
  ]);
const RECLOSING = 'common practice, no source: one fast and two slow reclosings';

const DOES: readonly DoesSpec[] = [
  does('outage', 'The medium-voltage side is switched off.'),
  does('restore', 'The medium-voltage side is switched on again.', [
    turn('By how much its angle stands ahead of where it would be without the outage.', 0),
    pu('Voltage from now on, pu of 240 V; 0: as before.', 0),
  ]),
  does('recloser', 'Off at once, then a recloser tries to switch on again.', [
    {
      name: 'attempts',
      unit: '1',
      about: 'How often it switches on again, 1 to 3.',
      default: 1,
      min: 1,
      max: 3,
      source: RECLOSING,
    },
    time('dead1', 'Off before the first attempt.', 300_000, 1, RECLOSING),
    time('dead2', 'Off before the second attempt.', 15 * US_PER_S, 1, RECLOSING),
    time('dead3', 'Off before the third attempt.', 15 * US_PER_S, 1, RECLOSING),
    time('onTime', 'On after an attempt that fails.', 200_000, 1, RECLOSING),
    {
      name: 'ends',
      unit: 'choice',
      about: 'Whether the last attempt holds.',
      choices: ['on', 'off'],
      default: 'on',
      source: 'assumed',
    },
  ]),
  does('flap', 'Off and on again, several times, half a period each.', [
    time('period', 'From one loss to the next.', 2 * US_PER_S, 2, 'assumed'),
    { name: 'count', unit: '1', about: 'How often it goes off.', default: 5, min: 1, max: 1000, source: 'assumed' },
  ]),
  excursion('sag', 'The voltage falls for a while.', 0.5),
  excursion('swell', 'The voltage rises for a while.', 1.2),
  does('lose leg', 'One leg between transformer and service parts.', [leg]),
  does('restore leg', 'That leg is mended.', [leg]),
  does('open neutral', 'The neutral between transformer and service breaks.'),
  does('mend neutral', 'That neutral is mended.'),
  does('frequency step', 'The frequency is another from now on.', [
    { name: 'frequency', unit: 'Hz', about: 'From now on.', min: 40, max: 80, source: 'assumed' },
  ]),
  does('frequency ramp', 'The frequency moves to another at a steady rate, in stairs of half a cycle.', [
    { name: 'rate', unit: 'Hz/s', about: 'Size of the rate.', default: 0.5, min: 0.001, max: 100, source: 'assumed' },
    { name: 'frequency', unit: 'Hz', about: 'Where it ends.', min: 40, max: 80, source: 'assumed' },
  ]),
  does('phase jump', 'The angle jumps.', [turn('Forward by this much.')]),
  does('neighbours', 'The load of the other houses on the transformer changes.', [
    {
      name: 'power',
      unit: 'W',
      about: 'At nominal voltage, all of them together.',
      min: 0,
      max: 1e6,
      source: 'assumed',
    },
  ]),
];

const TRANSFORMER = 'ieee-8500, centre-tapped distribution transformers';

const PARAMS: readonly ParamSpec[] = [
  {
    name: 'rating',
    unit: 'VA',
    about: 'Of the service transformer.',
    default: 25_000,
    min: 1000,
    max: 1e6,
    source: TRANSFORMER,
  },
  {
    name: 'resistance',
    unit: '%',
    about: 'Of each 120 V half on its own base; the high side has half of it.',
    default: 1.2,
    min: 0.01,
    max: 20,
    source: TRANSFORMER,
  },
  {
    name: 'reactance',
    unit: '%',
    about: 'High side to both halves in series; split 0.8 and 0.4 (interlaced windings).',
    default: 1.7,
    min: 0.01,
    max: 20,
    source: `${TRANSFORMER}; from memory: kersting, split of the windings`,
  },
  {
    name: 'magnetising',
    unit: '%',
    about: 'Magnetising current at nominal voltage.',
    default: 0.5,
    min: 0,
    max: 10,
    source: TRANSFORMER,
  },
  {
    name: 'noLoadLoss',
    unit: '%',
    about: 'Loss at nominal voltage.',
    default: 0.2,
    min: 0,
    max: 10,
    source: TRANSFORMER,
  },
  {
    name: 'ground',
    unit: 'ohm',
    about: 'Centre tap to earth at the transformer.',
    default: 0.001,
    min: 1e-6,
    max: 1000,
    source: 'assumed: many grounds in parallel',
  },
  {
    name: 'saturation',
    unit: 'choice',
    about: 'Where its iron saturates: only while the utility is off, always, never.',
    choices: ['islands', 'always', 'never'],
    default: 'islands',
    source: 'assumed',
  },
  {
    name: 'knee',
    unit: '1',
    about: 'Flux at which the iron saturates, pu.',
    default: 1.15,
    min: 1,
    max: 2,
    source: 'assumed',
  },
  {
    name: 'airCore',
    unit: '1',
    about: 'Reactance above the knee, pu of its rating.',
    default: 0.4,
    min: 0.05,
    max: 5,
    source: 'assumed',
  },
  time('saturationLag', 'Lag of the magnetising susceptance.', 10_000, 0, 'assumed'),
  {
    name: 'neighbours',
    unit: 'W',
    about: 'Load of the other houses on the transformer at nominal voltage.',
    default: 9000,
    min: 0,
    max: 1e6,
    source: 'assumed: three houses of 3 kW',
  },
  {
    name: 'powerFactor',
    unit: '1',
    about: 'Of that part of it which is no motor; lagging.',
    default: 1,
    min: 0.1,
    max: 1,
    source: 'assumed: vars made up for by the feeder, the worst case for an island',
  },
  {
    name: 'motorShare',
    unit: '%',
    about: 'Share of it that running motors take.',
    default: 0,
    min: 0,
    max: 100,
    source: 'assumed: none, so that the plain case is linear',
  },
  {
    name: 'motorGroups',
    unit: '1',
    about: 'Groups of these motors, equal, each started by itself.',
    default: 4,
    min: 1,
    max: 12,
    source: 'assumed',
  },
  {
    name: 'motorContactors',
    unit: '%',
    about: 'Share of the groups behind contactors that let go at low voltage; to the nearest group.',
    default: 50,
    min: 0,
    max: 100,
    source: 'assumed: air conditioners have them, refrigerators have not',
  },
  {
    name: 'motorDropOut',
    unit: '1',
    about: 'Voltage below which these contactors let go, pu.',
    default: 0.6,
    min: 0,
    max: 1,
    source: 'from memory: a.c. contactors, 50 to 70 % of the rated coil voltage',
  },
  time('motorDropTime', 'After so long below that.', 25_000, 0, 'from memory: within 1 to 2 cycles'),
  time(
    'motorRestart',
    'Before the first motors that have stopped start again, once the voltage is back.',
    180 * US_PER_S,
    0,
    'common practice, no source: short-cycle protection of compressors',
  ),
  time(
    'motorSpread',
    'By how much the last group starts after the first, evenly; 0: all at once.',
    120 * US_PER_S,
    0,
    'assumed: timers and thermostats of several houses differ by minutes',
  ),
];

export const UTILITY_SPEC: KindSpec = {
  kind: 'utility',
  about:
    'The street: a medium-voltage source, the service transformer, its other customers and the way to the service bus.',
  joins: 1,
  legs: [['L1', 'L2', 'N']],
  params: PARAMS,
  does: DOES,
  start: [
    {
      name: 'on',
      unit: 'bool',
      about: 'Whether the medium-voltage side is switched on.',
      default: true,
      source: 'assumed',
    },
    pu('Voltage behind the transformer, pu of 240 V.', 1),
    {
      name: 'frequency',
      unit: 'Hz',
      about: 'Of the utility.',
      default: 60,
      min: 40,
      max: 80,
      source: 'ansi-c84-1, nominal frequency',
    },
    turn('Of L1 in the frame that turns at 60 Hz.', 0),
    {
      name: 'neighbours',
      unit: 'W',
      about: 'Load of the other houses; as the parameter where it is left out.',
      min: 0,
      max: 1e6,
      source: 'assumed',
    },
  ],
};
