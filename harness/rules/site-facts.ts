import { mustBe } from '../../sim/check.ts';
import { type Id, numberOf, type Piece, type SiteDescription } from '../../sim/site-description.ts';
import type { DeviceFacts, SiteFacts, SourceFacts } from './facts.ts';

type Section = 'S' | 'M' | 'H';
const SWITCHES = ['breaker', 'relay'];

/**
 * What rules may know of a site, from its description alone.
 *
 * Sections by walking from the utility's bus: S until the first switching device is crossed, M until a relay is crossed, H
 * behind one. A branch breaker with neither relay nor main breaker beyond it opens no section of its own: what it feeds
 * (PV tapped ahead of the main) belongs to the section it hangs on. A bus that no walk reaches counts as H.
 *
 * @throws RangeError where there is not exactly one utility
 */
export function siteFacts(site: SiteDescription): SiteFacts {
  const utilities = site.pieces.filter((piece) => piece.kind === 'utility');
  mustBe(utilities.length === 1, 'siteFacts', 'number of utilities', utilities.length, 'exactly 1');
  const serviceBus = utilities[0]!.at[0]!;
  const { sectionOf, order } = walk(site, serviceBus);
  const devices = site.pieces.filter((piece) => SWITCHES.includes(piece.kind)).map((piece) => deviceOf(piece, order));
  const loads = site.pieces.filter((piece) => piece.kind === 'load');
  const sources = (kinds: readonly string[]): SourceFacts[] =>
    site.pieces.filter((piece) => kinds.includes(piece.kind)).map(sourceOf);
  return {
    site,
    serviceBus,
    sectionOf,
    devices,
    relays: devices.filter((device) => device.kind === 'relay'),
    following: sources(['pv', 'vehicle']),
    forming: sources(['vehicle']),
    legLoadAt: new Set(loads.filter((load) => load.legs.includes('N')).map((load) => load.at[0]!)),
    loadAt: new Set(loads.map((load) => load.at[0]!)),
  };
}

function deviceOf(piece: Piece, order: ReadonlyMap<Id, number>): DeviceFacts {
  const [a, b] = [piece.at[0]!, piece.at[1]!];
  const place = (bus: Id): number => order.get(bus) ?? Infinity;
  const at: readonly [Id, Id] = place(a) <= place(b) ? [a, b] : [b, a];
  return { id: piece.id, kind: piece.kind, at, legs: piece.legs, params: piece.params };
}

function sourceOf(piece: Piece): SourceFacts {
  const { id, kind, params } = piece;
  return { id, kind, at: piece.at[0]!, rated_W: numberOf(params, 'rated'), params };
}

/** Breadth first from the service bus, so that `order` grows away from the street. */
function walk(site: SiteDescription, serviceBus: Id): { sectionOf: Map<Id, Section>; order: Map<Id, number> } {
  const sectionOf = new Map<Id, Section>([[serviceBus, 'S']]);
  const order = new Map<Id, number>([[serviceBus, 0]]);
  const queue: Id[] = [serviceBus];
  for (let head = 0; head < queue.length; head += 1) {
    const bus = queue[head]!;
    for (const { piece, far } of neighbours(site, bus)) {
      if (sectionOf.has(far)) continue;
      sectionOf.set(far, sectionBeyond(site, piece, bus, far, sectionOf.get(bus)!));
      order.set(far, queue.length);
      queue.push(far);
    }
  }
  for (const bus of site.buses) if (!sectionOf.has(bus.id)) sectionOf.set(bus.id, 'H');
  return { sectionOf, order };
}

function sectionBeyond(site: SiteDescription, piece: Piece, near: Id, far: Id, section: Section): Section {
  if (piece.kind === 'relay') return 'H';
  if (section !== 'S' || piece.kind !== 'breaker') return section;
  if (piece.params.role !== 'branch') return 'M';
  return leadsToSwitch(site, near, far) ? 'M' : 'S';
}

/** Whether a relay or a main breaker stands beyond `far`, without going back over `near`. */
function leadsToSwitch(site: SiteDescription, near: Id, far: Id): boolean {
  const seen = new Set([near, far]);
  const queue: Id[] = [far];
  for (let head = 0; head < queue.length; head += 1) {
    for (const { piece, far: next } of neighbours(site, queue[head]!)) {
      if (seen.has(next)) continue;
      if (piece.kind === 'relay' || (piece.kind === 'breaker' && piece.params.role !== 'branch')) return true;
      seen.add(next);
      queue.push(next);
    }
  }
  return false;
}

/** Pieces that join a bus to another, with the bus at their far end. */
export function neighbours(site: SiteDescription, bus: Id): { readonly piece: Piece; readonly far: Id }[] {
  const found: { piece: Piece; far: Id }[] = [];
  for (const piece of site.pieces) {
    const [a, b] = piece.at;
    if (a === undefined || b === undefined) continue;
    if (a === bus) found.push({ piece, far: b });
    else if (b === bus) found.push({ piece, far: a });
  }
  return found;
}
