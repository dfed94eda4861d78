import { droopTarget } from '../../sim/equipment/pv-droop.ts';
import { categorySays } from '../../sim/equipment/pv-protection.ts';
import { CATEGORIES, tripSettings } from '../../sim/equipment/pv-trips.ts';
import { type Bag, type Id, numberOf, type Piece } from '../../sim/site-description.ts';
import { LINE_V, quantityText } from '../../sim/units.ts';
import { vehicleRatings } from './rating-check.ts';
import { type Checked, LINES, namesOf, reachedFrom, relaysOpen, type SiteFault } from './site-graph.ts';

const watts = (power_W: number): string => quantityText(power_W, 'W');

/** PV that an island holds together with what forms it, and what each can do about too much of it. */
export interface Surplus {
  readonly sources: readonly Piece[];
  readonly inverters: readonly Piece[];
  readonly rated_W: number;
  /** What the sources take while their batteries have room. */
  readonly room_W: number;
  /** What they bear for ever when their batteries are full. */
  readonly full_W: number;
  readonly highest_Hz: number;
  /** What the highest frequency leaves of all of it, and of those that no order of the gateway stops. */
  readonly left_W: number;
  readonly unstopped: readonly Piece[];
  readonly unstopped_W: number;
}

const NUMBERS = ['rated', 'droopDeadBand', 'droopSlope'];
const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
const isStopped = ({ params }: Piece): boolean => params.permitWired !== false || params.contactor === true;

/** One entry for each island with PV in it. What is not known of a piece is not judged. */
export function surplusesOf({ site, graph, forming }: Checked): readonly Surplus[] {
  const edges = LINES.map((leg) => graph.edges(leg, relaysOpen));
  const told = new Set<Id>();
  return forming.flatMap((first): Surplus[] => {
    if (told.has(first.id)) return [];
    const island = new Set(edges.flatMap((each) => [...reachedFrom(each, first.at[0]!)]));
    const sources = forming.filter(({ at }) => island.has(at[0]!));
    for (const { id } of sources) told.add(id);
    const inverters = site.pieces.filter(({ kind, at }) => kind === 'pv' && island.has(at[0]!));
    const known =
      sources.every(({ params }) => typeof params.overchargePower === 'number') &&
      inverters.every(({ params }) => NUMBERS.every((name) => typeof params[name] === 'number'));
    const ratings = sources.map(vehicleRatings);
    if (inverters.length === 0 || !known || ratings.includes(undefined)) return [];
    const highest_Hz = Math.max(...sources.map(({ params }) => numberOf(params, 'surplusHighest')));
    const left = (pieces: readonly Piece[]): number => sum(pieces.map(({ params }) => leftAt(highest_Hz, params)));
    const unstopped = inverters.filter((inverter) => !isStopped(inverter));
    return [
      {
        sources,
        inverters,
        rated_W: sum(inverters.map(({ params }) => numberOf(params, 'rated'))),
        room_W: sum(ratings.map((each) => (each?.continuous_A ?? 0) * LINE_V)),
        full_W: sum(sources.map(({ params }) => numberOf(params, 'overchargePower'))),
        highest_Hz,
        left_W: left(inverters),
        unstopped,
        unstopped_W: left(unstopped),
      },
    ];
  });
}

/** Power that an inverter still gives for ever at a frequency, W: less by its droop, none where it trips. */
function leftAt(f_Hz: number, params: Bag): number {
  const category = CATEGORIES.find((each) => each === params.category);
  if (category === undefined) return numberOf(params, 'rated');
  const rows = tripSettings(category, (row) => ({
    level: numberOf(params, row.toLowerCase()),
    time_us: numberOf(params, `${row.toLowerCase()}Time`),
  }));
  if (rows.some(({ of, side, level }) => of === 'frequency' && side === 'over' && f_Hz > level)) return 0;
  const drop = categorySays(params, 'droop', ['I', 'II', 'III'])
    ? droopTarget(f_Hz, numberOf(params, 'droopDeadBand'), numberOf(params, 'droopSlope'))
    : 0;
  return numberOf(params, 'rated') * (1 - Math.min(1, drop));
}

/** PV that neither frequency nor an order takes off is more than the forming source bears when it is full. */
export function surplusFaults(checked: Checked): SiteFault[] {
  return surplusesOf(checked).flatMap(({ sources, unstopped, unstopped_W, full_W, room_W, highest_Hz }) => {
    const bears_W = Math.min(full_W, room_W);
    const last = unstopped.at(-1);
    if (last === undefined || unstopped_W <= bears_W) return [];
    return [
      {
        code: 'SITE-SURPLUS',
        piece: last.id,
        key: 'permitWired',
        found: `${watts(unstopped_W)} of PV (${namesOf(unstopped)}) in the island of ${namesOf(sources)} that no order stops and that ${highest_Hz} Hz does not take off`,
        expected: `${watts(bears_W)} at most, which ${namesOf(sources)} bears when its battery is full`,
        mend: 'Write "permitWired: yes" if the permit of the gateway reaches it, or put it ahead of the relay',
      },
    ];
  });
}
