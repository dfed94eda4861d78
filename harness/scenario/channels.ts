import { INPUT_NAMES, INPUTS, OUTPUT_NAMES, OUTPUTS } from '../../sim/gateway/boundary.ts';
import type { Id, Piece, SiteDescription } from '../../sim/site-description.ts';
import { type Channel, POLE, SUPPLY, type Unit } from '../../sim/telemetry.ts';

/** One kind of channel of docs/telemetry.md: names, their unit, the states where that is the unit. */
type Row = readonly [names: string, unit: Unit, states?: readonly string[]];

const BUS: readonly Row[] = [
  ['v1 v2 v12 u1 u2 u12', 'V'],
  ['legAngle', 'deg'],
  ['f', 'Hz'],
  ['supply', 'state', SUPPLY],
  ['present1 present2 neutralHeld', 'bit'],
  ['part following forming nIsl bonds', '1'],
];
/** Of a device with poles; only those of the conductors that it switches are there. */
const POLES: readonly Row[] = [
  ['L1 L2 N', 'state', POLE],
  ['dv1 dv2', 'V'],
  ['da1 da2', 'deg'],
  ['df', 'Hz'],
  ['i1 i2', 'A'],
];
const SOURCE: readonly Row[] = [
  ['p', 'W'],
  ['q', 'var'],
  ['i', 'A'],
  ['mode', 'state'],
  ['energises tripped path1 path2', 'bit'],
];
const KINDS: Readonly<Record<string, readonly Row[]>> = {
  utility: [
    ['on neutral', 'bit'],
    ['voltage', '1'],
    ['frequency', 'Hz'],
    ['L1 L2', 'state', POLE],
    ['neighbours', 'W'],
    ['i1 i2', 'A'],
  ],
  conductor: [['neutral', 'bit']],
  bond: [['joined', 'bit']],
  breaker: [...POLES, ['thermal', '1'], ['aux', 'code']],
  relay: [...POLES, ['openProved1 openProved2 closedProved1 closedProved2 coil', 'bit'], ['controlSupply', 'V']],
  former: [
    ['contactor', 'state', POLE],
    ['neutralCurrent', 'A'],
    ['thermal', '1'],
  ],
  pv: [...SOURCE, ['permit', 'bit'], ['irradiance', '1'], ['fMeasured', 'Hz']],
  vehicle: [
    ...SOURCE,
    ['forms plugged contactor limitReached', 'bit'],
    ['reference soc', '1'],
    ['fault', 'code'],
    ['restarts', 'count'],
  ],
  load: [
    ['p', 'W'],
    ['on', 'bit'],
    ['state', 'state'],
  ],
  fault: [
    ['struck', 'bit'],
    ['i', 'A'],
  ],
};

const GATEWAY: readonly Channel[] = [
  ...OUTPUT_NAMES.map((name): Channel => ({ name: `gateway.${name}`, unit: OUTPUTS[name] })),
  ...INPUT_NAMES.flatMap((name): Channel[] => [
    { name: `gateway.in.${name}`, unit: INPUTS[name] },
    { name: `gateway.in.${name}.state`, unit: 'state', states: ['fresh', 'stale', 'not fitted'] },
    { name: `gateway.in.${name}.age`, unit: 'µs' },
    { name: `gateway.in.${name}.heldFrom`, unit: 'µs' },
    { name: `gateway.in.${name}.heldFrom`, unit: 'µs' },
  ]),
];

/**
 * What a statement or a condition about a site may name, worked out from its description alone, by docs/telemetry.md.
 *
 * Whoever has the running site at hand takes the channels of its head instead: equipment may show more than stands here.
 */
export function channelsOf(site: SiteDescription): readonly Channel[] {
  return [...site.buses.flatMap(({ id }) => channels(id, BUS)), ...site.pieces.flatMap(channelsOfPiece), ...GATEWAY];
}

function channelsOfPiece({ id, kind, legs }: Piece): readonly Channel[] {
  const rows = Object.hasOwn(KINDS, kind) ? KINDS[kind] : undefined;
  const all = channels(id, rows ?? []);
  if (kind !== 'breaker' && kind !== 'relay') return all;
  const absent = (['L1', 'L2', 'N'] as const).filter((leg) => !legs.includes(leg));
  const gone = absent.flatMap((leg) => [
    leg,
    ...(leg === 'N' ? [] : ['dv', 'da', 'i'].map((name) => name + leg.slice(1))),
  ]);
  return all.filter(({ name }) => !gone.includes(name.slice(id.length + 1)));
}

function channels(owner: Id, rows: readonly Row[]): readonly Channel[] {
  return rows.flatMap(([names, unit, states]) =>
    names
      .split(' ')
      .map((name): Channel => ({ name: `${owner}.${name}`, unit, ...(states === undefined ? {} : { states }) })),
  );
}
