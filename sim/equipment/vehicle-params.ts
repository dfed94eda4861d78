import type { KindSpec, ParamSpec } from '../site-description.ts';
import { circuit, following } from './vehicle-circuit-params.ts';
import { COMMON, number } from './vehicle-param.ts';

const NEC = 'nec, 210.20(A) and 625.41, continuous load at most 80 % of the breaker';

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
  number(
    'voltage',
    'V',
    240,
    'Voltage of the island unless the gateway orders another.',
    'ansi-c84-1, nominal voltage',
    {
      min: 100,
      max: 300,
    },
  ),
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
    'assumed: below the 61.2 Hz trip value of ieee-1547-2018, Table 18',
    { min: 60, max: 66 },
  ),
  number(
    'surplusRange',
    'µs',
    20_000_000,
    'Shortest time for the whole way up.',
    'assumed: slow against the 5 s response of the droop in ieee-1547-2018, 6.5.2.7',
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
    {
      name: 'unplug',
      about: 'The plug is pulled: the pilot is lost; a lock that holds keeps it in.',
      using: [],
      origin: 'person',
    },
    {
      name: 'pull by force',
      about: 'The plug is torn out, its lock broken where it held: the pilot is lost.',
      using: [],
      origin: 'person',
    },
    {
      name: 'leave',
      about:
        'A person at the vehicle wants to go: work ends by its ramp, contactor opens, lock lets go, plug comes out.',
      using: [],
      origin: 'person',
    },
    { name: 'lose lock', about: 'The lock of the plug no longer holds.', using: [], origin: 'equipment' },
    { name: 'mend lock', about: 'It does again.', using: [], origin: 'person' },
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
    {
      name: 'fail to detect',
      about: 'Its active method stops working.',
      using: [],
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
