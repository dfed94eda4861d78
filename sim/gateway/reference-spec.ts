import type { ParamSpec } from '../site-description.ts';

const COMMON = 'common practice, no source';
const S_us = 1_000_000;
const MS_us = 1_000;

const policy = (name: string, choices: readonly string[], about: string): ParamSpec => ({
  name,
  unit: 'choice',
  choices,
  default: choices[0]!,
  about,
  source: 'assumed: the trade has no single answer',
});
const time = (name: string, fallback_us: number, max_us: number, about: string, source = 'assumed'): ParamSpec => ({
  name,
  unit: 'µs',
  default: fallback_us,
  min: MS_us,
  max: max_us,
  about,
  source,
});
const share = (name: string, fallback: number, about: string, source = 'assumed'): ParamSpec => ({
  name,
  unit: '1',
  default: fallback,
  min: 0,
  max: 1,
  about,
  source,
});

/** Policies and finer timings of the reference controller, as settings of the site. */
export const REFERENCE_SETTINGS: readonly ParamSpec[] = [
  policy(
    'stuckContact',
    ['lockout', 'voltage test'],
    'A contact that does not prove the relay open: lock out, or let the voltage test of both poles overrule it.',
  ),
  policy(
    'atReserve',
    ['stop', 'spend'],
    'At the reserve an island stops, and none begins before the charge has recovered (a flickering utility does not nibble it away); or it runs on until the battery is empty.',
  ),
  policy(
    'surplus',
    ['withdraw', 'curtail'],
    'Battery full in an island: take the permit of PV at once, or only when the shift of frequency has come to its end (at once too where an inverter has no droop).',
  ),
  policy(
    'openNeutral',
    ['person', 'try'],
    'After an open neutral of the service, which nobody can see once the house has left: the return waits until a person asks for it, or the house tries.',
  ),
  {
    name: 'testVoltage',
    unit: 'V',
    default: 4.8,
    min: 0.1,
    max: 24,
    about: 'Line-to-line voltage that the source gives for the proof of isolation; its own setting must be the same.',
    source: 'assumed: 0.02 pu, the most that may reach the service',
  },
  time('testTime', 200 * MS_us, 5 * S_us, 'Test voltage in for so long without proof: isolation is not proven.'),
  time('testHold', 30 * MS_us, 1 * S_us, 'The proof must hold for so long: more than one window.'),
  time('neutralTravel', 200 * MS_us, 5 * S_us, 'How long the neutral former may take to prove an order.'),
  time('sourceTime', 10 * S_us, 120 * S_us, 'From the order to a source that is awake until its contactor is closed.'),
  time('wakeTime', 90 * S_us, 600 * S_us, 'The same for one that sleeps: its boot time, and some.'),
  time('islandSettle', 1 * S_us, 120 * S_us, 'An island has been good for so long before PV gets its permit.'),
  time('islandLow', 1 * S_us, 10 * S_us, 'An island below 0.50 pu for so long has lost its source.'),
  time(
    'neutralWide',
    100 * MS_us,
    1 * S_us,
    'Legs of an island more than 15 % apart for so long: the neutral is lost.',
  ),
  time('neutralApart', 9 * S_us, 60 * S_us, 'The same for more than 5 %.'),
  time(
    'rest',
    10 * S_us,
    600 * S_us,
    'The patience with a bus that will not die, and how long an island has stood before the house goes back.',
    COMMON,
  ),
  time('formAgain', 5 * S_us, 600 * S_us, 'Between two tries to bring an island up.'),
  time(
    'closeAgain',
    30 * S_us,
    600 * S_us,
    'Between two tries to close the relay, so that neither it nor the neutral former makes a third time within a minute.',
  ),
  time('restartWindow', 600 * S_us, 7200 * S_us, 'After three failed tries nobody tries again for so long.'),
  time('shedAfter', 2 * S_us, 60 * S_us, 'Current above the continuous one for so long: the next load is shed.'),
  time('shedPressed', 200 * MS_us, 10 * S_us, 'The same where the island falls below 0.88 pu.'),
  time(
    'unshedAfter',
    300 * S_us,
    3600 * S_us,
    'Current with room for so long: the last load that was shed comes back.',
  ),
  time('exportMemory', 500 * MS_us, 10 * S_us, 'A house counts as exporting, or no longer, after so long.'),
  time('unusualAfter', 5 * S_us, 10 * S_us, 'Voltage outside 0.917 to 1.058 pu for so long is announced.'),
  time(
    'syncTime',
    60 * S_us,
    600 * S_us,
    'Closed transition: without a meeting for so long the house returns by a gap.',
  ),
  time('chargeRaise', 30 * S_us, 3600 * S_us, 'Room on the service for so long before a charge is raised.'),
  {
    name: 'syncSlip',
    unit: 'Hz',
    default: 0.1,
    min: 0.02,
    max: 0.25,
    about: 'Closed transition: by how much the island runs above 60 Hz to meet the utility.',
    source: 'assumed: inside the 0.3 Hz of ieee-1547-2018, Table 5',
  },
  {
    name: 'syncAngle',
    unit: 'deg',
    default: 8,
    min: 1,
    max: 20,
    about: 'Largest angle predicted for the touch.',
    source:
      'assumed: below half of the 20 degrees of ieee-1547-2018, Table 5, since the second pole meets twice the angle where no neutral holds the first',
  },
  share('lowChargeMargin', 0.1, 'So far above the reserve the sheddable loads are shed.'),
  share('reserveReturn', 0.05, 'So far above the reserve the charge has recovered.'),
  share('surplusReturn', 0.1, 'So far below its charge limit a battery takes PV again.'),
  share('serviceShare', 0.95, 'Share of the smaller rating of main and relay that house and charge may take together.'),
];
