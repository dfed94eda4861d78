import type { Id, KindSpec, Piece, Plain, SiteDescription } from '../../sim/site-description.ts';
import { quantityText } from '../../sim/units.ts';
import { vehicleRatings } from './rating-check.ts';
import { type Checked, formingOf, graphOf, isMain, LINES, namesOf, reachedFrom, relaysOpen } from './site-graph.ts';
import { surplusesOf } from './surplus-check.ts';

/** What a site may do that every report must say, by its stable code, in one sentence each. */
export const NOTES = {
  'NOTE-INTERLOCK': 'No contact of the relay keeps a forming source off while it is closed.',
  'NOTE-MAIN': 'The position of the main is unknown to the gateway.',
  'NOTE-HAND': 'A hand that opens the main does not leave the house dark.',
  'NOTE-PV': 'An inverter is where an opening does not part it, or looks after itself less than others.',
  'NOTE-SURPLUS': 'PV in the island can bring more than its forming source takes.',
  'NOTE-LIMIT': 'Something smaller than its own rating holds a vehicle back.',
  'NOTE-TAPS': 'The gateway reads one of several pieces.',
  'NOTE-UNSAID': 'The file leaves out what nobody else can know.',
} as const;

export type NoteCode = keyof typeof NOTES;

/** Something of a site that is allowed and said in every report. */
export interface SiteNote {
  readonly code: NoteCode;
  /** The pieces that it is about; none: the site. */
  readonly pieces: readonly Id[];
  /** One sentence without its full stop. */
  readonly text: string;
}

/** All notes of a site that has passed its check; none where it has no utility to be seen from. */
export function notesOfSite(site: SiteDescription, kinds: readonly KindSpec[]): readonly SiteNote[] {
  const serviceBus = site.pieces.find(({ kind }) => kind === 'utility')?.at[0];
  if (serviceBus === undefined) return [];
  const checked: Checked = { site, graph: graphOf(site, kinds), serviceBus, forming: formingOf(site) };
  return [
    ...interlockNotes(checked),
    ...mainNotes(checked),
    ...pvNotes(checked),
    ...surplusNotes(checked),
    ...limitNotes(checked),
    ...tapNotes(checked),
    ...unsaidNotes(checked),
  ];
}

const amps = (current_A: number): string => quantityText(current_A, 'A');
const watts = (power_W: number): string => quantityText(power_W, 'W');
const about = (code: NoteCode, pieces: readonly Piece[], text: string): SiteNote => ({
  code,
  pieces: pieces.map(({ id }) => id),
  text,
});

function interlockNotes({ forming }: Checked): SiteNote[] {
  return forming
    .filter(({ params }) => params.interlock === 'none')
    .map((source) =>
      about('NOTE-INTERLOCK', [source], 'interlock: none; only the gateway keeps it from forming on a closed relay'),
    );
}

function mainNotes({ site, forming }: Checked): SiteNote[] {
  if (forming.length === 0) return [];
  const mains = site.pieces.filter(isMain);
  const blind = mains.filter(({ params }) => params.aux === false);
  const { handOpening, formWhenHandOpenedUnknown } = site.settings;
  const waits = handOpening === 'isolation' && formWhenHandOpenedUnknown === false;
  return [
    ...blind.map((main) =>
      about(
        'NOTE-MAIN',
        [main],
        waits
          ? 'main position unknown: no auxiliary contact, so that the house stays dark in every outage until a person asks'
          : 'main position unknown: no auxiliary contact, so that the gateway takes an opening for an outage',
      ),
    ),
    ...(handOpening === 'outage'
      ? [
          about(
            'NOTE-HAND',
            mains,
            'handOpening: outage; the house comes alive again after a hand has opened the main, and a sign there must say so',
          ),
        ]
      : []),
  ];
}

function pvNotes({ site, graph, serviceBus }: Checked): SiteNote[] {
  const inverters = site.pieces.filter(({ kind }) => kind === 'pv');
  const behindMain = (piece: Piece): boolean => relaysOpen(piece) && !isMain(piece);
  const street = new Set(LINES.flatMap((leg) => [...reachedFrom(graph.edges(leg, behindMain), serviceBus)]));
  const ahead = site.pieces.some(isMain) ? inverters.filter(({ at }) => street.has(at[0]!)) : [];
  const note = (pieces: readonly Piece[], text: string): SiteNote[] =>
    pieces.length === 0 ? [] : [about('NOTE-PV', pieces, text)];
  const where = (name: string, ...values: Plain[]): Piece[] =>
    inverters.filter(({ params }) => values.includes(params[name] ?? ''));
  return [
    ...note(ahead, 'ahead of the main: no opening in the house parts it from the street'),
    ...note(where('detection', 'none'), 'detection: none; only its limits of voltage and frequency end an island'),
    ...note(where('category', '2003', '2014'), 'category of an older edition: it does not ride through'),
    ...note(where('permitWired', false), 'permitWired: no; the gateway cannot take it off'),
  ];
}

function surplusNotes(checked: Checked): SiteNote[] {
  return surplusesOf(checked).flatMap(({ sources, inverters, rated_W, room_W, full_W, left_W, highest_Hz }) => {
    const names = namesOf(sources);
    return [
      ...(rated_W > room_W
        ? [
            about(
              'NOTE-SURPLUS',
              inverters,
              `${watts(rated_W)} of PV in the island of ${names}, which takes ${watts(room_W)} at most`,
            ),
          ]
        : []),
      ...(left_W > full_W
        ? [
            about(
              'NOTE-SURPLUS',
              inverters,
              `with a full battery ${highest_Hz} Hz leaves ${watts(left_W)} of PV, and ${names} bears ${watts(full_W)}: load must take the rest, or an order end it`,
            ),
          ]
        : []),
    ];
  });
}

function limitNotes({ site }: Checked): SiteNote[] {
  return site.pieces.flatMap((source): SiteNote[] => {
    const ratings = source.kind === 'vehicle' ? vehicleRatings(source) : undefined;
    if (ratings === undefined || ratings.continuous_A >= ratings.own_A) return [];
    const { continuous_A, own_A, cable_A, breaker_A } = ratings;
    const by = continuous_A === cable_A ? `its cable of ${amps(cable_A)}` : `its supply breaker of ${amps(breaker_A)}`;
    return [about('NOTE-LIMIT', [source], `rated ${amps(own_A)}, held to ${amps(continuous_A)} by ${by}`)];
  });
}

function tapNotes({ site }: Checked): SiteNote[] {
  return ['relay', 'former', 'vehicle'].flatMap((kind) => {
    const all = site.pieces.filter((piece) => piece.kind === kind);
    const text = `${all.length} of kind ${kind}: the gateway reads ${all[0]?.id ?? ''} alone`;
    return all.length > 1 ? [about('NOTE-TAPS', all, text)] : [];
  });
}

/** What the file leaves to a default though only who stands before it can know: of each inverter, and of the busbar. */
function unsaidNotes({ site, forming }: Checked): SiteNote[] {
  const bySaying = new Map<string, Piece[]>();
  for (const inverter of site.pieces.filter(({ kind }) => kind === 'pv')) {
    const left = ['leads', 'category', 'detection'].filter((name) => Object.hasOwn(inverter.sources, name));
    if (left.length === 0) continue;
    const text = `${left.join(', ')} not said; taken as ${left.map((name) => String(inverter.params[name])).join(', ')}`;
    bySaying.set(text, [...(bySaying.get(text) ?? []), inverter]);
  }
  const notes = [...bySaying].map(([text, pieces]) => about('NOTE-UNSAID', pieces, text));
  const mains = site.pieces.filter(isMain);
  const unsaid = forming.length > 0 && mains.length > 0 && site.settings.busbar === 0;
  return unsaid ? [...notes, about('NOTE-UNSAID', mains, 'busbar not said, and not judged')] : notes;
}
