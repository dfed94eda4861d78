import type { KindSpec, ParamSpec } from '../site-description.ts';
import { REFERENCE_SETTINGS } from './reference-spec.ts';
import { SENSOR_DOES, SENSOR_SETTINGS } from './sensor-spec.ts';

/** The gateway itself is no piece on a bus: its settings are the site's, and scenarios act on it under the name `gateway`. */
export const GATEWAY_ID = 'gateway';

const choice = (name: string, choices: readonly string[], fallback: string, about: string): ParamSpec => ({
  name,
  unit: 'choice',
  choices,
  default: fallback,
  about,
  source: 'common practice, no source',
});
const time = (
  name: string,
  fallback_us: number,
  min: number,
  max: number,
  about: string,
  source: string,
): ParamSpec => ({
  name,
  unit: 'µs',
  default: fallback_us,
  min,
  max,
  about,
  source,
});
const yes = (name: string, fallback: boolean, about: string, source = 'common practice, no source'): ParamSpec => ({
  name,
  unit: 'bool',
  default: fallback,
  about,
  source,
});

const S = 1_000_000;
const MS = 1_000;

/** Settings of a site: policies where the trade has no single answer, and the timings of the reference controller. */
export const SITE_SETTINGS: readonly ParamSpec[] = [
  choice(
    'transition',
    ['open', 'closed'],
    'open',
    'How the house returns: break before make, or synchronised with a short overlap.',
  ),
  yes('syncCheck', false, 'The relay has a synchronism check; a closed transition needs one.'),
  choice(
    'handOpening',
    ['isolation', 'outage'],
    'isolation',
    'What a hand-opened main means: stay dark until asked, or form as in an outage.',
  ),
  yes(
    'formWhenHandOpenedUnknown',
    true,
    'Where the position of the main is unknown an opening counts as an outage; no: with isolation, every outage as an opening.',
  ),
  {
    name: 'busbar',
    unit: 'A',
    default: 0,
    min: 0,
    about: 'Rating of the busbar that the main feeds; 0: not said, and not judged.',
    source: 'assumed: not said',
  },
  time('scanPeriod', 10 * MS, 1 * MS, 100 * MS, 'Grid on which the controller is scanned.', 'assumed'),
  time('scanPhase', 0, 0, 100 * MS, 'Offset of the scan grid.', 'assumed'),
  time(
    'sensorLatency',
    0,
    0,
    200 * MS,
    'Age of a measured value when a scan sees it, its one-cycle window not counted.',
    'assumed',
  ),
  ...SENSOR_SETTINGS,
  time(
    'outageDeep',
    160 * MS,
    20 * MS,
    10 * S,
    'Below 0.50 pu for this long counts as an outage.',
    'assumed: the OV2 and UV2 clearing time of ieee-1547-2018, Tables 11 and 12',
  ),
  time('outageShallow', 2 * S, 20 * MS, 30 * S, 'Below 0.88 pu for this long counts as an outage.', 'assumed'),
  time(
    'rideThroughShallow',
    0,
    0,
    30 * S,
    'The same while the house exports; 0: the ride-through time of the category of its inverters, tables 14 to 16.',
    'from memory: ieee-1547-2018, 6.4.2, Tables 14 to 16',
  ),
  time(
    'ceaseWait',
    2 * S,
    0,
    10 * S,
    'How long the controller waits for PV to cease after it has taken the permit, before it goes on anyway.',
    'assumed',
  ),
  time(
    'returnGood',
    300 * S,
    1 * S,
    3600 * S,
    'How long the utility must have been good before the house returns.',
    'ieee-1547-2018, 4.10.3, Table 4',
  ),
  time(
    'separation',
    50 * MS,
    10 * MS,
    5 * S,
    'From the last pole open to the first voltage of a forming source.',
    'assumed',
  ),
  time('deadTime', 100 * MS, 10 * MS, 5 * S, 'How long a bus must have been dead before it is formed.', 'assumed'),
  time('requestLapse', 600 * S, 1 * S, 7200 * S, 'An on-site request to form lapses after this.', 'assumed'),
  time('bootTime', 0, 0, 60 * S, 'From supply to the first scan of the controller.', 'assumed'),
  yes(
    'chargeOnUtility',
    false,
    'The vehicle charges whenever the utility is good and it can take a charge.',
    'assumed',
  ),
  time(
    'proveTime',
    100 * MS,
    20 * MS,
    5 * S,
    'How long the relay may take to prove an order; longer is a lockout.',
    'assumed',
  ),
  time('formTime', 5 * S, 1 * S, 120 * S, 'How long a forming source may take until its bus is good.', 'assumed'),
  yes('commissioned', true, 'All commissioning records are present.'),
  ...REFERENCE_SETTINGS,
];

/** What a scenario may do to the gateway, and how it may start. */
export const GATEWAY_KIND: KindSpec = {
  kind: 'gateway',
  about: 'The transfer controller and its sensors; always there, under the name gateway.',
  joins: 1,
  legs: [['L1', 'L2']],
  params: [],
  does: [
    {
      name: 'request',
      about: 'A person asks something of the gateway.',
      origin: 'person',
      using: [
        {
          name: 'what',
          unit: 'choice',
          choices: ['none', 'form', 'return', 'reset'],
          about: 'What is asked.',
          source: 'common practice, no source',
        },
        yes('onSite', true, 'Asked on the spot, not from afar.'),
      ],
    },
    {
      name: 'restart',
      about: 'The controller loses its supply for a moment and boots again.',
      origin: 'equipment',
      using: [],
    },
    ...SENSOR_DOES,
  ],
  start: [
    {
      name: 'timeOfDay',
      unit: 'µs',
      about: 'Time of day at which the run begins, from midnight; timer switches go by it.',
      default: 0,
      min: 0,
      max: 24 * 3600 * S - 1,
      source: 'assumed',
    },
  ],
};
