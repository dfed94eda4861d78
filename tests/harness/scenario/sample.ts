import type { ScenarioTables } from '../../../harness/scenario/reader/read-scenario.ts';
import type { DoesSpec, KindSpec, ParamSpec, ParamUnit, SiteDescription } from '../../../sim/site-description.ts';
import { type Channel, POLE, SUPPLY } from '../../../sim/telemetry.ts';

/** A small table of equipment, a site and a scenario that are sound: each test breaks them in one place. */

export const param = (name: string, unit: ParamUnit, more: Partial<ParamSpec> = {}): ParamSpec => ({
  name,
  unit,
  about: `About ${name}.`,
  source: 'assumed',
  ...more,
});

const does = (name: string, using: readonly ParamSpec[] = []): DoesSpec => ({
  name,
  about: `It ${name}s.`,
  using,
  origin: 'person',
});

const BOTH: KindSpec['legs'] = [['L1', 'L2']];
const kind = (name: string, joins: 1 | 2, more: Partial<KindSpec>): KindSpec => ({
  kind: name,
  about: `A ${name}.`,
  joins,
  legs: BOTH,
  params: [],
  does: [],
  start: [],
  ...more,
});

const rating = param('rating', 'A', { min: 0, max: 600, default: 200 });

export const KINDS: readonly KindSpec[] = [
  kind('utility', 1, {
    legs: [['L1', 'L2', 'N']],
    params: [param('rating', 'VA', { min: 1, default: 25_000 }), param('impedance', '%', { min: 0, default: 1.2 })],
    does: [does('fail'), does('restore', [param('angle', 'deg', { default: 0, min: -180, max: 180 })])],
  }),
  kind('conductor', 2, { legs: [['L1', 'L2', 'N']], params: [param('length', 'm', { min: 0, default: 30 })] }),
  kind('breaker', 2, {
    legs: [['L1', 'L2'], ['L1', 'L2', 'N'], ['L1'], ['L2']],
    params: [rating, param('aux', 'bool', { default: true })],
    does: [does('open'), does('close')],
    start: [param('closed', 'bool', { default: true })],
  }),
  kind('relay', 2, {
    legs: [
      ['L1', 'L2'],
      ['L1', 'L2', 'N'],
    ],
    params: [
      rating,
      param('supply', 'text', { default: 'own' }),
      param('type', 'choice', { choices: ['held-closed', 'held-open', 'latching'], default: 'held-closed' }),
      param('openTravel', 'µs', { min: 0, max: 1_000_000, default: 8500 }),
    ],
    does: [does('weld', [param('leg', 'choice', { choices: ['L1', 'L2'] })])],
  }),
  kind('bond', 1, {
    legs: [['N']],
    params: [param('when', 'choice', { choices: ['always', 'grid', 'island'], default: 'always' })],
  }),
  kind('pv', 1, {
    params: [param('rated', 'W', { min: 1 }), param('droop', '1/Hz', { min: 0, default: 0.07 })],
    does: [does('switch off')],
    start: [param('irradiance', '1', { min: 0, max: 1.5, default: 0 })],
  }),
  kind('vehicle', 1, {
    legs: [
      ['L1', 'L2'],
      ['L1', 'L2', 'N'],
    ],
    params: [
      param('rated', 'W', { min: 1, default: 11_500 }),
      param('neutral', 'bool', { default: false }),
      param('capacity', 'Wh', { min: 1, default: 80_000 }),
    ],
    start: [param('stateOfCharge', '%', { min: 0, max: 100, default: 60 })],
  }),
  kind('load', 1, {
    legs: [
      ['L1', 'N'],
      ['L2', 'N'],
      ['L1', 'L2'],
    ],
    params: [param('power', 'W', { min: 0 })],
    start: [param('power', 'W', { min: 0 })],
  }),
  kind('former', 1, {
    legs: [['L1', 'L2', 'N']],
    params: [param('heldBy', 'choice', { choices: ['control', 'bus'], default: 'control' })],
  }),
];

export const SETTINGS: readonly ParamSpec[] = [
  param('transition', 'choice', { choices: ['open', 'closed'], default: 'open' }),
  param('syncCheck', 'bool', { default: false }),
  param('handOpening', 'choice', { choices: ['isolation', 'outage'], default: 'isolation' }),
];

export const GATEWAY_KIND: KindSpec = kind('gateway', 1, {
  does: [does('restart'), does('request', [param('what', 'choice', { choices: ['none', 'form', 'return'] })])],
});

export const RULES = [
  'no-backfeed',
  'dead-bus-form',
  'sync-close',
  'reference-order',
  'manual-order',
  'leg-voltage',
  'cease-on-island',
];

export const SITE = `site: maple-street-4
buses: { service: utility, meter: premises, panel: premises, backup: premises }
pieces:
  utility: { kind: utility, at: service, rating: 25 kVA }
  drop: { kind: conductor, at: [service, meter], length: 100 ft }
  main: { kind: breaker, at: [meter, panel], rating: 200 A, legs: [L1, L2] }
  relay: { kind: relay, at: [panel, backup], openTravel: 8.5 ms }
  earth: { kind: bond, at: panel }
  pv: { kind: pv, at: backup, rated: 7.6 kW }
  ev: { kind: vehicle, at: backup, neutral: yes }
  kitchen: { kind: load, at: backup, legs: [L1, N], power: 900 W }
  heater: { kind: load, at: backup, legs: [L1, L2], power: 4.5 kW }
settings: { transition: open }
`;

export const SCENARIO = `# yaml-language-server: $schema=../docs/schemas/scenario.schema.json
scenario: main-opened-with-sun
title: Main opened by hand with PV left on, unequal legs
tags: [hand, pv]
site: sites/maple.yaml
override:
  pv: { rated: 5 kW }
seed: 7
start: { pv.irradiance: 0.7, kitchen.power: 1.2 kW }
end: 20 s
happenings:
  - { at: 2 s, do: main open }
  - { id: back, after: main-open, delay: 5 s, do: main close }
  - { after: { channel: backup.u12, is: '<', value: 60 V, held: 20 ms }, delay: 0 s, do: utility restore, using: { angle: 30 deg } }
waveforms: none
expect:
  pass: [no-backfeed]
  fail:
    - { rule: manual-order, because: PV was running }
  statements:
    - { never: { channel: backup.u2, is: '>', value: 132 V }, from: 2 s }
    - { within: 2 s, of: main-open, what: { channel: pv.energises, is: '=', value: 0 } }
    - { at the end: { channel: panel.supply, is: '=', value: utility } }
`;

/** Channels that a made-up site might have: nobody can build it. */
function channelsOf({ buses, pieces }: SiteDescription): readonly Channel[] {
  const bus = (id: string): Channel[] => [
    { name: `${id}.u2`, unit: 'V' },
    { name: `${id}.u12`, unit: 'V' },
    { name: `${id}.supply`, unit: 'state', states: SUPPLY },
  ];
  const piece = (id: string): Channel[] => [
    { name: `${id}.L1`, unit: 'state', states: POLE },
    { name: `${id}.p`, unit: 'W' },
    { name: `${id}.energises`, unit: 'bit' },
  ];
  const gateway: Channel = { name: 'gateway.relayCoil', unit: 'bit' };
  return [...buses.flatMap(({ id }) => bus(id)), ...pieces.flatMap(({ id }) => piece(id)), gateway];
}

export const tables = (site: string | Uint8Array = SITE): ScenarioTables => ({
  kinds: KINDS,
  settings: SETTINGS,
  gateway: GATEWAY_KIND,
  rules: RULES,
  channelsOf,
  loadSite: () => site,
});

/** A text with one part of it put in place of another, which must be there. */
export function changed(text: string, from: string, to: string): string {
  if (!text.includes(from)) throw new Error(`the sample does not hold ${from}`);
  return text.replace(from, () => to);
}
