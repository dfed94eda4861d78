import type { Conductor, Id, KindSpec, Leg, Piece, SiteDescription } from '../../sim/site-description.ts';
import type { Fault } from './reader/problem.ts';

export const LINES: readonly Leg[] = ['L1', 'L2'];

/** Two buses joined on one conductor by one piece. */
export interface Edge {
  readonly piece: Piece;
  readonly from: Id;
  readonly to: Id;
}

/** A site's buses and what joins them, conductor by conductor. */
export interface SiteGraph {
  /** Pieces that join two buses of the site on this conductor while `closed` says so of each device with poles. */
  edges(conductor: Conductor, closed: (piece: Piece) => boolean): readonly Edge[];
}

const HAS_POLES: readonly string[] = ['breaker', 'relay'];

/**
 * The graph of a site.
 *
 * Devices switch the conductors that they list and pass the neutral on unswitched where they do not list it. A conductor carries
 * what it lists, and the neutral as well where its kind never lists one or `neutral: no` does not say otherwise.
 */
export function graphOf(site: SiteDescription, kinds: readonly KindSpec[]): SiteGraph {
  const buses = new Set(site.buses.map(({ id }) => id));
  const listsNeutral = new Set(
    kinds.filter(({ legs }) => legs.some((set) => set.includes('N'))).map(({ kind }) => kind),
  );
  const joining = site.pieces.filter(({ at }) => at.length === 2 && at.every((id) => buses.has(id)));
  const carries = (piece: Piece, conductor: Conductor, closed: (piece: Piece) => boolean): boolean => {
    const lists = piece.legs.includes(conductor);
    if (HAS_POLES.includes(piece.kind)) return lists ? closed(piece) : conductor === 'N';
    if (conductor === 'N' && piece.params.neutral === false) return false;
    return lists || (conductor === 'N' && !listsNeutral.has(piece.kind));
  };
  return {
    edges: (conductor, closed) =>
      joining
        .filter((piece) => carries(piece, conductor, closed))
        .map((piece) => ({ piece, from: piece.at[0]!, to: piece.at[1]! })),
  };
}

/** For each bus reached from `start`, the edge by which it was reached first and the bus before it. */
function spread(
  edges: readonly Edge[],
  start: Id,
): ReadonlyMap<Id, { readonly edge: Edge; readonly before: Id } | undefined> {
  const at = new Map<Id, Edge[]>();
  for (const edge of edges) {
    for (const end of [edge.from, edge.to]) {
      const here = at.get(end);
      if (here === undefined) at.set(end, [edge]);
      else here.push(edge);
    }
  }
  const reached = new Map<Id, { readonly edge: Edge; readonly before: Id } | undefined>([[start, undefined]]);
  // A map is walked in order of insertion, those added on the way included: that is the queue.
  for (const bus of reached.keys()) {
    for (const edge of at.get(bus) ?? []) {
      const next = edge.from === bus ? edge.to : edge.from;
      if (!reached.has(next)) reached.set(next, { edge, before: bus });
    }
  }
  return reached;
}

/** Buses that hang together with `start`, itself included. */
export function reachedFrom(edges: readonly Edge[], start: Id): ReadonlySet<Id> {
  return new Set(spread(edges, start).keys());
}

/** The pieces of the shortest chain from one bus to another, in order; none if there is no chain. */
export function chainBetween(edges: readonly Edge[], from: Id, to: Id): readonly Piece[] | undefined {
  const reached = spread(edges, from);
  if (!reached.has(to)) return undefined;
  const chain: Piece[] = [];
  for (let step = reached.get(to); step !== undefined; step = reached.get(step.before)) chain.unshift(step.edge.piece);
  return chain;
}

/** Why a site must not run, and what of it is meant: a piece (and the key of it), a bus or a setting; none: the whole site. */
export interface SiteFault extends Fault {
  readonly piece?: Id;
  readonly bus?: Id;
  readonly setting?: string;
  readonly key?: string;
}

/** What the checks share. */
export interface Checked {
  readonly site: SiteDescription;
  readonly graph: SiteGraph;
  readonly serviceBus: Id;
  readonly forming: readonly Piece[];
}

/** Sources that can make the voltage of an island. */
export const formingOf = ({ pieces }: SiteDescription): readonly Piece[] =>
  pieces.filter(({ kind, params }) => kind === 'vehicle' && params.forms !== false);
/** A breaker that the file marks as the main: the one whose contact the gateway reads. */
export const isMain = ({ kind, params }: Piece): boolean => kind === 'breaker' && params.role === 'main';

/** The devices that a source's current passes on its way from the service, in order; one chain a line where they differ. */
export function wayTo({ graph, serviceBus }: Checked, source: Piece): readonly Piece[] {
  const ways = LINES.map((leg) => chainBetween(graph.edges(leg, everyClosed), serviceBus, source.at[0]!) ?? []);
  return [...new Set(ways.flat())];
}

export const everyClosed = (): boolean => true;
export const relaysOpen = (piece: Piece): boolean => piece.kind !== 'relay';
export const namesOf = (pieces: readonly Piece[]): string => pieces.map(({ id }) => id).join(', ');
