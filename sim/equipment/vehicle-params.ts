import type { KindSpec, ParamSpec } from '../site-description.ts';

const NEC = 'nec-210-20: NEC 210.20(A) and 625.41, continuous load at most 80 % of the breaker';
const COMMON = 'common practice, no source';

const number = (
  name: string,
  unit: ParamSpec['unit'],
  value: number,
  about: string,
  source = 'assumed',
  range: { readonly min?: number; readonly max?: number } = { min: 0 },
): ParamSpec => ({ name, unit, about, default: value, source, ...range });

const ratings: readonly ParamSpec[] = [
  number('rated', 'W', 9600, 'Rated power both ways at 240 V.', COMMON, { min: 1 }),
  number('supplyBreaker', 'A', 50, 'Breaker of the supply circuit; sets the continuous current both ways.', COMMON, {
    min: 1,
  }),
  number('continuousShare', '1', 0.8, 'Continuous current over the rating of the supply breaker.', NEC, {
    min: 0.01,
    max: 1,
  }),
  number('cable', 'A', 80, 'Rating of the cable to the vehicle.', COMMON, { min: 1 }),
  number('capacity', 'Wh', 80_000, 'Energy of the battery.', 'assumed', { min: 1 }),
  number('efficiency', '1', 0.94, 'Share of the power that arrives, each way.', 'assumed', { min: 0.01, max: 1 }),
  number('reserve', '1', 0.2, 'Below this state of charge it neither begins to form nor discharges.', 'assumed', {
    min: 0,
    max: 1,
  }),
  number('empty', '1', 0.05, 'At this state of charge it stops forming by itself.', 'assumed', { min: 0, max: 1 }),
  number('chargeLimit', '1', 0.9, 'At this state of charge it takes no more.', 'assumed', { min: 0, max: 1 }),
  number('chargeResume', '1', 0.02, 'It takes charge again when this far below the limit.', 'assumed', {
    min: 0,
    max: 1,
  }),
  number('socStep', '1', 0.01, 'Grain of the state of charge that it reports.', 'assumed', { min: 0.001, max: 1 }),
];

const forming: readonly ParamSpec[] = [
  { name: 'forms', unit: 'bool', about: 'Can make the voltage of an island.', default: true, source: COMMON },
  {
    name: 'neutral',
    unit: 'bool',
    about: 'Three terminals: holds the neutral in the middle while it forms.',
    default: false,
    source: COMMON,
  },
  number('virtualR', '1', 0.02, 'Virtual resistance, pu of its rating.', 'assumed', { min: 0.001, max: 1 }),
  number('virtualX', '1', 0.05, 'Virtual reactance at 60 Hz, pu of its rating.', 'assumed', { min: 0, max: 1 }),
  number('voltage', 'V', 240, 'Voltage of the island unless the gateway orders another.', 'ansi-c84.1: nominal', {
    min: 100,
    max: 300,
  }),
  number('frequency', 'Hz', 60, 'Frequency of the island unless the gateway orders another.', COMMON, {
    min: 50,
    max: 66,
  }),
  number('startAngle', 'deg', 90, 'Angle at which it begins to form, against the common frame.', 'assumed', {
    min: -180,
    max: 180,
  }),
  number('softStart', 'µs', 1_000_000, 'Ramp of the voltage from zero.', 'assumed: 0.5 to 2 s is usual'),
  number(
    'testVoltage',
    'V',
    4.8,
    'Voltage for the proof of isolation, line to line.',
    'assumed: 0.02 pu, too little to energise',
    { min: 0, max: 24 },
  ),
  number('testCurrent', 'A', 5, 'Current limit at test voltage.', 'assumed', { min: 0.001 }),
  number(
    'droopP',
    '1',
    0,
    'Fall of frequency at rated active power, pu of 60 Hz; 0 holds it.',
    'from memory: 0.5 to 2 % where sources share',
    { min: 0, max: 0.1 },
  ),
  number(
    'droopQ',
    '1',
    0,
    'Fall of voltage at rated reactive power, pu; 0 holds it.',
    'from memory: 2 to 5 % where sources share',
    { min: 0, max: 0.2 },
  ),
  number('powerFilter', 'Hz', 5, 'Corner of the filter that droop sees the power through.', 'assumed: 5 to 10 Hz', {
    min: 0.1,
  }),
];

const overload: readonly ParamSpec[] = [
  number('longOverload', '1', 1.2, 'Current for the longer time, over the continuous one.', 'assumed', { min: 1 }),
  number('longOverloadTime', 'µs', 10_000_000, 'How long it gives that.'),
  number('shortOverload', '1', 1.5, 'Current for the shorter time, over the continuous one.', 'assumed', { min: 1 }),
  number('shortOverloadTime', 'µs', 200_000, 'How long it gives that.'),
  number(
    'overloadRest',
    'µs',
    60_000_000,
    'Time below the continuous current that gives a used-up time back.',
    'assumed',
    { min: 1 },
  ),
  number('undervoltage', '1', 0.7, 'It stops forming below this share of its reference.', 'assumed', {
    min: 0,
    max: 1,
  }),
  number('undervoltageTime', 'µs', 500_000, 'after so long.'),
  number(
    'faultVoltage',
    '1',
    0.5,
    'At the current limit and below this share of its reference: a short circuit.',
    'assumed',
    { min: 0, max: 1 },
  ),
  number('faultTime', 'µs', 400_000, 'It stops after so long; the whole must stay within 0.5 s.'),
  number('retries', '1', 1, 'Times that it forms again by itself after it has stopped on overload.', 'assumed', {
    min: 0,
    max: 10,
  }),
  number('retryDelay', 'µs', 5_000_000, 'Wait before that.'),
  number('retryReset', 'µs', 60_000_000, 'Formed for so long, the count starts over.'),
];

const surplus: readonly ParamSpec[] = [
  number(
    'surplusHighest',
    'Hz',
    61.1,
    'It lifts the frequency no higher than this to curtail PV.',
    'assumed: below the 61.2 Hz trip value of IEEE 1547-2018, Table 18',
    { min: 60, max: 66 },
  ),
  number(
    'surplusRange',
    'µs',
    20_000_000,
    'Shortest time for the whole way up.',
    'assumed: slow against the 5 s response of the droop in IEEE 1547-2018',
    { min: 1 },
  ),
  number('surplusStep', 'µs', 500_000, 'One stair of that way.', 'assumed', { min: 1000 }),
  number(
    'surplusFull',
    '1',
    0.2,
    'Excess, over the rating, at which it goes at full speed.',
    'assumed: damped against the droop of as much PV',
    { min: 0.001, max: 1 },
  ),
  number('surplusBand', 'W', 100, 'Excess that is too little to act on.'),
  number('overchargePower', 'W', 1000, 'The battery opens when it gets this much more than it may take'),
  number('overchargeTime', 'µs', 60_000_000, 'for so long.'),
  number('linkCapacitance', 'F', 0.001, 'Capacitance of the d.c. link.', 'assumed', { min: 1e-6 }),
  number('linkVoltage', 'V', 400, 'Voltage of the d.c. link.', 'assumed', { min: 1 }),
  number('linkTrip', 'V', 500, 'Voltage of the d.c. link at which the converter stops.', 'assumed', { min: 1 }),
];

const following: readonly ParamSpec[] = [
  number(
    'rampTime',
    'µs',
    3_000_000,
    'Ramp of charge and discharge over the whole rating.',
    'assumed: within the 5 s of IEC 61851-1 to follow a lower limit (weak)',
    { min: 0, max: 5_000_000 },
  ),
  number('chargeLag', 'µs', 30_000, 'Time constant with which the charger holds its power.', 'assumed: 20 to 30 ms'),
  number('chargeCutOut', '1', 0.6, 'The charger lets go below this voltage, pu.', 'assumed: 0.5 to 0.7 pu', {
    min: 0,
    max: 1,
  }),
  number('chargeCutOutTime', 'µs', 4_000, 'after so long.'),
  number('chargeOver', '1', 1.2, 'and above this one.', 'assumed', { min: 1 }),
  number('chargeRestart', 'µs', 30_000_000, 'Good voltage for so long before it charges.'),
  {
    name: 'category',
    unit: 'choice',
    about: 'Trip settings of discharge.',
    choices: ['I', 'II', 'III', '2003', '2014'],
    default: 'II',
    source: 'ieee-1547-2018: Tables 11 to 13 and 18; UL 1741',
  },
  number('switching', 'µs', 16_000, 'What the switching itself takes of a clearing time.'),
  number(
    'enterService',
    'µs',
    300_000_000,
    'Good voltage and frequency for so long before it discharges.',
    'ieee-1547-2018: 4.10, Table 4',
  ),
  number('currentLimit', '1', 1.2, 'Discharge current limit over rated.', 'keller-kroposki-2010: 1.1 to 1.2', {
    min: 1,
    max: 3,
  }),
  number('loop', 'Hz', 6, 'Natural frequency of the phase-locked loop.', 'assumed', { min: 0.5, max: 13.9 }),
  number('loopDamping', '1', 0.9, 'Damping of the loop.', 'assumed', { min: 0.3, max: 2 }),
  number('filter', 'F', 10e-6, 'Output filter across L1-L2.', 'assumed: 5 to 15 µF', { min: 0, max: 1e-4 }),
  number('ceiling', '1', 1.33, 'd.c. ceiling of the crest, pu.', 'assumed', { min: 1 }),
  number(
    'chopping',
    '1',
    0.02,
    'Sandia frequency shift while discharging: chopping fraction at 60 Hz.',
    'lopes-sun-2006: 0.02 to 0.05 (from memory)',
    { min: -0.2, max: 0.2 },
  ),
  number('shiftGain', '1/Hz', 0.07, 'and its gain.', 'assumed: above the critical gain at quality factor 1', {
    min: 0,
    max: 0.5,
  }),
  number('noise', 'Hz', 0.001, 'Noise of the measured frequency where nobody forms.', 'assumed'),
];

const circuit: readonly ParamSpec[] = [
  number('bootTime', 'µs', 60_000_000, 'From waking to ready.', 'assumed: a minute at least', { min: 0 }),
  number('sleepAfter', 'µs', 1_800_000_000, 'Idle for so long it goes to sleep; 0: never.'),
  number(
    'contactorClose',
    'µs',
    500_000,
    'Supply contactor, from ready to closed.',
    'from memory: IEC 61851-1, within 3 s',
    { min: 0, max: 3_000_000 },
  ),
  number(
    'contactorOpen',
    'µs',
    50_000,
    'Supply contactor, from the end of the work to open.',
    'from memory: IEC 61851-1, within 100 ms',
    { min: 0, max: 100_000 },
  ),
  number('pilotLoss', 'µs', 50_000, 'From the loss of the pilot to open.', 'from memory: IEC 61851-1, within 100 ms', {
    min: 0,
    max: 100_000,
  }),
  number('easeTime', 'µs', 7_000_000, 'Longest wait for the current to fall before the contactor opens.', 'assumed'),
  number('easedCurrent', 'A', 1, 'Current at which the contactor may open.', 'assumed'),
  number('commandDelay', 'µs', 20_000, 'From an order of the gateway to the vehicle acting on it.'),
  number(
    'linkTimeout',
    'µs',
    500_000,
    'Without communication for so long, it acts by itself.',
    'iso-15118-20: Tables 216 and 217, energy transfer loop',
  ),
  {
    name: 'onLinkLoss',
    unit: 'choice',
    about: 'What it does then.',
    choices: ['stop', 'go on'],
    default: 'stop',
    source: 'assumed',
  },
  number('heartbeat', 'µs', 100_000, 'Period of the heartbeat.', 'assumed', { min: 1000 }),
  {
    name: 'interlock',
    unit: 'text',
    about: 'Relay whose open-proved contacts carry the enable, or none.',
    default: 'none',
    source: COMMON,
  },
  number('interlockTime', 'µs', 500, 'From the loss of the enable to no voltage.', 'assumed', { min: 0, max: 1_000 }),
  {
    name: 'neutralFormer',
    unit: 'text',
    about: 'Neutral former whose opening stops it, or none.',
    default: 'none',
    source: COMMON,
  },
  number(
    'neutralTime',
    'µs',
    150_000,
    'From its contact to no voltage.',
    'assumed: so that contact and stop together stay within 200 ms',
    { min: 0 },
  ),
  number('controlSupply', 'V', 24, 'Control supply that the charge equipment gives.', COMMON),
  { name: 'firmware', unit: 'text', about: 'Firmware of the charge equipment.', default: '4.2', source: 'assumed' },
  {
    name: 'firmwareMinimum',
    unit: 'text',
    about: 'Below this it gives no control supply.',
    default: '4.2',
    source: 'assumed',
  },
  {
    name: 'supplyCircuitDone',
    unit: 'bool',
    about: 'Commissioning record: supply circuit.',
    default: true,
    source: 'assumed',
  },
  {
    name: 'breakerSizeDone',
    unit: 'bool',
    about: 'Commissioning record: breaker size.',
    default: true,
    source: 'assumed',
  },
  {
    name: 'gridProfileDone',
    unit: 'bool',
    about: 'Commissioning record: grid profile.',
    default: true,
    source: 'assumed',
  },
  {
    name: 'recordsDone',
    unit: 'bool',
    about: 'Commissioning record: torque, photographs, signs.',
    default: true,
    source: 'assumed',
  },
];

/** A bidirectional vehicle with its charge equipment: loads, follows, or makes an island. */
export const vehicleSpec: KindSpec = {
  kind: 'vehicle',
  about: 'Bidirectional vehicle with its supply circuit: charges, discharges on grid, forms an island.',
  joins: 1,
  legs: [
    ['L1', 'L2'],
    ['L1', 'L2', 'N'],
  ],
  params: [...ratings, ...forming, ...overload, ...surplus, ...following, ...circuit],
  does: [
    { name: 'plug in', about: 'The plug goes in; the vehicle boots.', using: [], origin: 'person' },
    { name: 'unplug', about: 'The plug is pulled: the pilot is lost.', using: [], origin: 'person' },
    {
      name: 'charge',
      about: 'A person starts a charge at the vehicle.',
      using: [number('current', 'A', 0, 'Limit; 0: all it may.')],
      origin: 'person',
    },
    { name: 'stop', about: 'A person ends it at the vehicle.', using: [], origin: 'person' },
    {
      name: 'fault',
      about: 'It stops with a fault that a person must clear.',
      using: [number('code', '1', 8, 'Fault code, 1 to 8.', 'assumed', { min: 1, max: 8 })],
      origin: 'equipment',
    },
    { name: 'clear fault', about: 'A person clears the fault.', using: [], origin: 'person' },
    {
      name: 'lose communication',
      about: 'Orders no longer arrive, readings no longer change.',
      using: [],
      origin: 'equipment',
    },
    { name: 'restore communication', about: 'They do again.', using: [], origin: 'equipment' },
    { name: 'sleep', about: 'It goes to sleep, if idle.', using: [], origin: 'equipment' },
    { name: 'wake', about: 'It wakes and boots.', using: [], origin: 'person' },
    {
      name: 'set soc',
      about: 'Its state of charge is this from now on.',
      using: [number('soc', '1', 0.5, 'State of charge.', 'assumed', { min: 0, max: 1 })],
      origin: 'equipment',
    },
  ],
  start: [
    number('soc', '1', 0.7, 'State of charge.', 'assumed', { min: 0, max: 1 }),
    { name: 'plugged', unit: 'bool', about: 'Plugged in.', default: true, source: 'assumed' },
    { name: 'awake', unit: 'bool', about: 'Awake and ready.', default: true, source: 'assumed' },
    {
      name: 'mode',
      unit: 'choice',
      about: 'What it is doing.',
      choices: ['idle', 'charging', 'discharging', 'forming'],
      default: 'idle',
      source: 'assumed',
    },
  ],
};
