import type { KindSpec, ParamSpec } from '../site-description.ts';

const POLE: ParamSpec = {
  name: 'pole',
  unit: 'choice',
  about: 'Which pole.',
  default: 'both',
  choices: ['L1', 'L2', 'both'],
  source: 'assumed',
};
const time = (name: string, about: string, value_us: number, source: string, max = 10_000_000): ParamSpec => ({
  name,
  unit: 'µs',
  about,
  default: value_us,
  min: 0,
  max,
  source,
});

/** What a relay's file entry may say. */
export const RELAY_SPEC: KindSpec = {
  kind: 'relay',
  about:
    'Isolation relay. The order relayCoil is the wanted position of its contacts, 1 closed and 0 open, whatever its type.',
  joins: 2,
  legs: [
    ['L1', 'L2'],
    ['L1', 'L2', 'N'],
  ],
  params: [
    {
      name: 'type',
      unit: 'choice',
      about:
        'held-closed: its coil holds it closed, without supply it falls open; held-open: its coil holds it open, without ' +
        'supply it falls closed; latching: without supply it stays where it is.',
      default: 'held-closed',
      choices: ['held-closed', 'held-open', 'latching'],
      source: 'assumed',
    },
    { name: 'rating', unit: 'A', about: 'Rated current of a pole.', default: 200, min: 0, source: 'assumed' },
    {
      name: 'supply',
      unit: 'text',
      about: 'What feeds its coil: own, or the id of the vehicle whose charge equipment does.',
      default: 'own',
      source: 'assumed',
    },
    {
      name: 'supplyVoltage',
      unit: 'V',
      about: 'Own control supply.',
      default: 12,
      min: 1,
      max: 240,
      source: 'assumed',
    },
    {
      name: 'supplyMin',
      unit: 'V',
      about: 'Below this control voltage it cannot be operated.',
      default: 9,
      min: 0.1,
      max: 240,
      source: 'assumed',
    },
    time('pickUp', 'From the coil until L1 touches.', 25_000, 'common practice, no source'),
    time('pickUpSpread', 'By how much L2 (and N) touches later.', 0, 'assumed'),
    time('dropOut', 'From the coil until L1 parts.', 15_000, 'common practice, no source'),
    time('dropOutSpread', 'By how much L2 (and N) parts later.', 0, 'assumed'),
    {
      name: 'bounceCount',
      unit: '1',
      about: 'How often a pole parts again after its first touch; shorter than the phasor level tells apart.',
      default: 0,
      min: 0,
      max: 10,
      source: 'assumed',
    },
    time('bounce', 'Time together, and the same apart, of one bounce.', 1_000, 'assumed', 100_000),
    time(
      'proofLag',
      'By how much proving contacts follow, and mirror contacts lead, their pole.',
      3_000,
      'assumed',
      5_000,
    ),
  ],
  does: [
    {
      name: 'weld',
      about: 'The pole welds: now if it touches, else at its next touch.',
      using: [POLE],
      origin: 'equipment',
    },
    { name: 'mend', about: 'Weld, stick, slowness and lies of the pole end.', using: [POLE], origin: 'equipment' },
    {
      name: 'slow',
      about: 'The pole makes and parts later by this much.',
      using: [POLE, { name: 'extra', unit: 'µs', about: 'How much later.', min: 0, source: 'assumed' }],
      origin: 'equipment',
    },
    { name: 'stick', about: 'The pole does not move.', using: [POLE], origin: 'equipment' },
    {
      name: 'lie',
      about: 'A proving contact is stuck.',
      using: [
        {
          name: 'contact',
          unit: 'choice',
          about: 'Which.',
          choices: ['openProved1', 'openProved2', 'closedProved1', 'closedProved2'],
          source: 'assumed',
        },
        { name: 'shows', unit: '1', about: 'What it shows from now on: 0 or 1.', min: 0, max: 1, source: 'assumed' },
      ],
      origin: 'equipment',
    },
    {
      name: 'chatter',
      about: 'The pole parts and touches again and again, and ends where it began.',
      using: [
        POLE,
        { name: 'count', unit: '1', about: 'How often.', default: 5, min: 1, max: 1000, source: 'assumed' },
        { name: 'period', unit: 'µs', about: 'Of one round.', default: 20_000, min: 1_000, source: 'assumed' },
      ],
      origin: 'equipment',
    },
    {
      name: 'operate',
      about: 'It moves without an order, and stays so until the next order.',
      using: [{ name: 'to', unit: 'choice', about: 'Where to.', choices: ['open', 'closed'], source: 'assumed' }],
      origin: 'equipment',
    },
    { name: 'lose supply', about: 'Its control supply is gone.', using: [], origin: 'equipment' },
    { name: 'restore supply', about: 'Its control supply is back.', using: [], origin: 'equipment' },
  ],
  start: [
    { name: 'closed', unit: 'bool', about: 'Position, and order, at the start.', default: true, source: 'assumed' },
  ],
};
