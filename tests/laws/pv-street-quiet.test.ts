import { describe, expect, it } from 'vitest';
import { told } from './told.ts';

/** What may happen on the street; each comes at 5 s, and something else at 20 s where it must be ended. */
const DISTURBANCES: readonly (readonly [string, readonly string[]])[] = [
  ['a sag of 2 s to 0.6 pu', ['at: 5 s, do: utility sag, using: { voltage: 0.6, duration: 2 s }']],
  ['a sag of 1 s to 0.3 pu', ['at: 5 s, do: utility sag, using: { voltage: 0.3, duration: 1 s }']],
  ['a swell of 3 s to 1.15 pu', ['at: 5 s, do: utility swell, using: { voltage: 1.15, duration: 3 s }']],
  [
    'a frequency ramp to 61 Hz and back',
    [
      'at: 5 s, do: utility frequency ramp, using: { rate: 500 mHz/s, frequency: 61 Hz }',
      'at: 20 s, do: utility frequency ramp, using: { rate: 2 Hz/s, frequency: 60 Hz }',
    ],
  ],
  ['a phase jump of 40 degrees', ['at: 5 s, do: utility phase jump, using: { angle: 40 deg }']],
  [
    'one leg lost and mended',
    ['at: 5 s, do: utility lose leg, using: { leg: L2 }', 'at: 20 s, do: utility restore leg, using: { leg: L2 }'],
  ],
  ['flapping', ['at: 5 s, do: utility flap, using: { period: 700 ms, count: 4 }']],
  ['an outage of 15 s', ['at: 5 s, do: utility outage', 'at: 20 s, do: utility restore, using: { angle: 70 deg }']],
];
const METHODS = ['none', 'AFD', 'SFS', 'SMS', 'SVS'] as const;

interface Site {
  readonly motorShare: string;
  /** Its PV unit, or none. */
  readonly pv: string;
  readonly happenings: readonly string[];
}

/** A house without gateway orders that matter: nothing forms, so that what moves is the street and the inverter alone. */
const scenario = ({ motorShare, pv, happenings }: Site): string => `scenario: quiet
title: Quiet
site:
  site: quiet
  buses: { service: utility, house: premises, roof: premises }
  pieces:
    utility: { kind: utility, at: service, neighbours: 6 kW, motorShare: ${motorShare}, motorRestart: 10 s }
    main: { kind: breaker, at: [service, house], role: main, rating: 100 A }
    bond: { kind: bond, at: house }
    pv-breaker: { kind: breaker, at: [house, roof], rating: 30 A }
    house-load: { kind: load, at: house, legs: [L1, L2], power: 3 kW }
    light: { kind: load, at: house, legs: [L1, N], power: 400 W }
${pv === '' ? '' : `    pv: { kind: pv, at: roof, ${pv}, enterDelay: 8 s, rampTime: 10 s }`}
  settings: { handOpening: isolation }
end: 45 s
happenings:
${happenings.map((happening) => `  - { ${happening} }`).join('\n')}
`;

/** Rested and forced runs tell the same story, to the bit, and it is a story. */
function expectSame(site: Site): void {
  const text = scenario(site);
  const rested = told(text, false);
  const forced = told(text, true);
  expect(rested.length).toBeGreaterThan(20);
  expect(forced.find((line, i) => line !== rested[i])).toBeUndefined();
  expect(forced).toHaveLength(rested.length);
}

const CLOUDS = [
  'at: 2 s, do: pv irradiance, using: { value: 0.2 }',
  'at: 3 s, do: pv irradiance, using: { value: 0.9 }',
  'at: 30 s, do: pv irradiance, using: { value: 0 }',
  'at: 33 s, do: pv irradiance, using: { value: 1 }',
];
const SWITCHED = [
  'at: 6 s, do: pv-breaker open',
  'at: 12 s, do: pv-breaker close',
  'at: 28 s, do: main open',
  'at: 29 s, do: main close',
];

describe('a quiet stretch of PV alone', () => {
  const cases = METHODS.flatMap((detection) =>
    DISTURBANCES.map(([what, happenings]) => ({ detection, what, happenings })),
  );
  it.each(cases)(
    '$detection, $what: steps and scans forced at every instant change nothing that is recorded',
    (one) => {
      expectSame({ motorShare: '0 %', pv: `rated: 5 kW, detection: ${one.detection}`, happenings: one.happenings });
    },
  );

  it.each(METHODS)('%s: clouds, its breaker and the main: the same', (detection) => {
    expectSame({ motorShare: '0 %', pv: `rated: 5 kW, detection: ${detection}`, happenings: [...CLOUDS, ...SWITCHED] });
  });

  it.each(['I', 'II', 'III', '2003', '2014'])('category %s with a swell, a ramp and clouds: the same', (category) => {
    const happenings = [
      ...CLOUDS,
      ...DISTURBANCES[2]![1],
      'at: 12 s, do: utility frequency step, using: { frequency: 60.4 Hz }',
    ];
    expectSame({ motorShare: '0 %', pv: `rated: 5 kW, category: ${category}`, happenings });
  });
});

describe('a quiet stretch of street motors alone', () => {
  it.each(DISTURBANCES)(
    '%s: steps and scans forced at every instant change nothing that is recorded',
    (_, happenings) => {
      expectSame({ motorShare: '60 %', pv: '', happenings });
    },
  );

  it('the neighbours come and go, and the main is worked: the same', () => {
    const happenings = [
      'at: 3 s, do: utility neighbours, using: { power: 12 kW }',
      'at: 8 s, do: main open',
      'at: 9 s, do: main close',
      'at: 15 s, do: utility neighbours, using: { power: 2 kW }',
    ];
    expectSame({ motorShare: '60 %', pv: '', happenings });
  });
});

describe('a quiet stretch of PV beside street motors', () => {
  it.each(DISTURBANCES)(
    '%s: steps and scans forced at every instant change nothing that is recorded',
    (_, happenings) => {
      expectSame({ motorShare: '40 %', pv: 'rated: 5 kW', happenings: [...happenings, ...CLOUDS] });
    },
  );
});
