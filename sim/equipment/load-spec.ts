import type { KindSpec, ParamSpec } from '../site-description.ts';
import { US_PER_S } from '../units.ts';

const HOUR_us = 3600 * US_PER_S;
const time = (name: string, about: string, fallback_us: number, source: string): ParamSpec => ({
  name,
  unit: 'µs',
  about,
  default: fallback_us,
  min: 0,
  max: 24 * HOUR_us,
  source,
});
const ratio = (name: string, about: string, fallback: number, min: number, max: number, source: string): ParamSpec => ({
  name,
  unit: '1',
  about,
  default: fallback,
  min,
  max,
  source,
});
const coefficient = (name: string, about: string, fallback: number): ParamSpec =>
  ratio(name, `${about}; counts with zipClass own.`, fallback, -50, 50, 'assumed: constant impedance');
const watts = (about: string, fallback?: number): ParamSpec => ({
  name: 'power',
  unit: 'W',
  about,
  ...(fallback === undefined ? {} : { default: fallback }),
  min: 0,
  max: 1e6,
  source: 'assumed',
});

const ZIP = 'bokhari-2014, residential classes';
const ELECTRONICS = 'assumed: switched-mode supplies';
const MOTOR = 'assumed: small single-phase compressor';
const WECC = 'from memory: wecc-clm, motor D';
const PICKUP = 'from memory: lang-1982, delayed exponential';
const TANK = 'assumed: household storage heater';

const PARAMS: readonly ParamSpec[] = [
  {
    name: 'type',
    unit: 'choice',
    about: 'What sort of load it is.',
    choices: ['impedance', 'zip', 'motor', 'electronic', 'heater', 'resonant'],
    default: 'impedance',
    source: 'assumed',
  },
  watts('At nominal voltage; of a motor: at its shaft; of a heater: of its element.', 1000),
  ratio('powerFactor', 'Of impedance, zip and electronic.', 1, 0.05, 1, 'assumed'),
  {
    name: 'reactive',
    unit: 'choice',
    about: 'Whether its vars are those of an inductor or of a capacitor.',
    choices: ['lagging', 'leading'],
    default: 'lagging',
    source: 'assumed',
  },
  {
    name: 'shedBit',
    unit: '1',
    about: 'Which shed contact of the gateway carries it, 1 to 16; 0: none.',
    default: 0,
    min: 0,
    max: 16,
    source: 'assumed: not sheddable',
  },
  {
    name: 'zipClass',
    unit: 'choice',
    about: 'Residential class of a zip load, or own coefficients.',
    choices: ['A', 'B', 'C', 'D', 'E', 'F', 'own'],
    default: 'A',
    source: ZIP,
  },
  coefficient('zp', 'Share of constant impedance in P', 1),
  coefficient('ip', 'Share of constant current in P', 0),
  coefficient('pp', 'Share of constant power in P', 0),
  coefficient('zq', 'Share of constant impedance in Q', 1),
  coefficient('iq', 'Share of constant current in Q', 0),
  coefficient('pq', 'Share of constant power in Q', 0),
  time(
    'lag',
    'Time constant with which zip and electronic loads adapt to the voltage.',
    30_000,
    'assumed: 20 to 30 ms',
  ),
  ratio(
    'cutOut',
    'Voltage below which zip and electronic loads let go, pu.',
    0.6,
    0.1,
    0.95,
    `${ELECTRONICS}, 0.5 to 0.7`,
  ),
  ratio('restartAbove', 'Voltage above which they come back, pu.', 0.8, 0.1, 1.1, ELECTRONICS),
  time('restartDelay', 'How long it must have stood above that.', 500_000, `${ELECTRONICS}, 0.1 to 1 s`),
  ratio('quality', 'Quality factor of a resonant load.', 1, 0, 20, 'from memory: ieee-1547-1, test load'),
  {
    name: 'resonance',
    unit: 'Hz',
    about: 'Resonance frequency of a resonant load.',
    default: 60,
    min: 10,
    max: 600,
    source: 'from memory: ieee-1547-1, test load',
  },
  ratio(
    'torque',
    'Load torque of a motor at its power, pu of its own base; the base is power over torque.',
    0.75,
    0.05,
    1.5,
    MOTOR,
  ),
  ratio('statorResistance', 'Of a motor, pu.', 0.02, 0.001, 0.2, MOTOR),
  ratio('transientReactance', 'Of a motor, pu.', 0.12, 0.02, 0.5, MOTOR),
  ratio('reactance', 'Of a motor, stator with magnetising branch, pu.', 2.5, 0.6, 10, MOTOR),
  time('rotorTime', "Open-circuit time constant of a motor's rotor.", 100_000, `${MOTOR}, 0.02 to 0.4 s`),
  ratio('inertia', 'Inertia constant of a motor with its load, s.', 0.05, 0.05, 5, MOTOR),
  ratio('lockedResistance', 'Of a motor at standstill, pu.', 0.124, 0.01, 1, WECC),
  ratio('lockedReactance', 'Of a motor at standstill, pu.', 0.114, 0.01, 1, WECC),
  time(
    'acceleration',
    'From standstill to speed at nominal voltage; longer by 0.65 / (u² - 0.35).',
    300_000,
    `${MOTOR}, 0.2 to 0.5 s`,
  ),
  ratio('stallBelow', 'Voltage below which a running motor stalls, pu.', 0.6, 0.1, 0.9, WECC),
  time('stallTime', 'How long it must have stood below that.', 33_000, WECC),
  ratio('freeAbove', 'Voltage above which a stalled motor gets going, pu.', 0.95, 0.3, 1.2, WECC),
  time(
    'equalise',
    'Standing this long, a compressor has lost its pressure and starts freely.',
    120 * US_PER_S,
    'common practice, no source',
  ),
  time(
    'protectorTime',
    'Locked at nominal voltage, its thermal protector trips after this.',
    10 * US_PER_S,
    `${WECC}, 5 to 20 s`,
  ),
  time(
    'protectorReset',
    'From the trip of the protector until it has closed again.',
    120 * US_PER_S,
    'common practice, no source',
  ),
  { name: 'volume', unit: 'L', about: 'Water in a heater.', default: 190, min: 1, max: 5000, source: TANK },
  {
    name: 'setTemperature',
    unit: 'degC',
    about: "At which a heater's thermostat opens.",
    default: 50,
    min: 10,
    max: 95,
    source: TANK,
  },
  {
    name: 'hysteresis',
    unit: 'degC',
    about: 'How far below that it closes again.',
    default: 5,
    min: 0.1,
    max: 50,
    source: TANK,
  },
  {
    name: 'standbyLoss',
    unit: 'W',
    about: 'Heat that a heater loses at its set temperature.',
    default: 80,
    min: 0,
    max: 5000,
    source: TANK,
  },
  { name: 'ambient', unit: 'degC', about: 'Temperature of the room.', default: 20, min: -20, max: 50, source: TANK },
  { name: 'inlet', unit: 'degC', about: 'Temperature of the cold water.', default: 12, min: 0, max: 40, source: TANK },
  ratio(
    'pickup',
    'Power of an impedance, zip or electronic load after a long time dark, over what it is; 1: no such thing.',
    1,
    1,
    10,
    `${PICKUP}, 2 to 5`,
  ),
  time('pickupAfter', 'How long it must have been dark for that.', 1800 * US_PER_S, PICKUP),
  time('pickupHold', 'How long the full pick-up lasts.', 1200 * US_PER_S, `${PICKUP}, 10 to 30 min`),
  time('pickupDecay', 'Time constant with which it dies away.', 2400 * US_PER_S, `${PICKUP}, 20 to 60 min`),
];

export const LOAD_SPEC: KindSpec = {
  kind: 'load',
  about: 'Something that takes power at one bus, between a leg and the neutral or across the legs.',
  joins: 1,
  legs: [
    ['L1', 'N'],
    ['L2', 'N'],
    ['L1', 'L2'],
  ],
  params: PARAMS,
  does: [
    { name: 'on', about: 'Its switch closes.', using: [], origin: 'person' },
    { name: 'off', about: 'Its switch opens.', using: [], origin: 'person' },
    {
      name: 'start',
      about: 'Its switch closes; a motor then starts from standstill without pressure.',
      using: [],
      origin: 'person',
    },
    {
      name: 'set power',
      about: 'Its power at nominal voltage is another from now on.',
      using: [watts('From now on; as the parameter of that name.')],
      origin: 'person',
    },
    {
      name: 'draw',
      about: 'Hot water is drawn from a heater; other loads have none.',
      origin: 'person',
      using: [
        {
          name: 'volume',
          unit: 'L',
          about: 'Drawn at once and made up with cold water.',
          default: 20,
          min: 0,
          max: 5000,
          source: 'assumed',
        },
      ],
    },
  ],
  start: [
    { name: 'on', unit: 'bool', about: 'Whether its switch is closed.', default: true, source: 'assumed' },
    watts('Its power; as the parameter where it is left out.'),
    {
      name: 'darkFor',
      unit: 'µs',
      about: 'How long it has been dark where the run starts dark.',
      default: 0,
      min: 0,
      max: 1000 * HOUR_us,
      source: 'assumed',
    },
    {
      name: 'temperature',
      unit: 'degC',
      about: 'Of the water in a heater; its set temperature where it is left out.',
      min: 0,
      max: 95,
      source: TANK,
    },
  ],
};
