import type { DoesSpec, KindSpec, ParamSpec } from '../site-description.ts';
import {
  ASSUMED,
  BY_CATEGORY,
  CESSATION,
  choice,
  DROOP,
  ENTER,
  ISLAND,
  number,
  OPEN_PHASE,
  TABLE_4,
  TRIPS,
} from './service-params.ts';

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

const RETURN: readonly ParamSpec[] = [
  ...ENTER,
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
];

const CONTACT: readonly ParamSpec[] = [
  number('contactDelay', 'µs', 30_000, 16_000, 50_000, 'From ceasing to the opening of the output contact.', ASSUMED),
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
  params: [...SOURCE, ...TRIPS, ...CONTACT, ...CESSATION, ...DROOP, ...ISLAND, ...RETURN, ...PERMIT, ...OPEN_PHASE],
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
