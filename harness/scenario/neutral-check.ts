import type { Id, Piece } from '../../sim/site-description.ts';
import { type Checked, LINES, namesOf, reachedFrom, relaysOpen, type SiteFault } from './site-graph.ts';

type Mode = 'grid' | 'island';

const MODE_TEXT: Readonly<Record<Mode, string>> = {
  grid: 'on the utility, all devices closed',
  island: 'in the island, isolation relays open',
};

const closedIn = (mode: Mode) => (mode === 'grid' ? () => true : relaysOpen);

/** A bond that is switched says `when: grid` or `when: island`; any other is always closed. */
const bondsIn = (mode: Mode) => (piece: Piece) =>
  piece.kind === 'bond' && (piece.params.when ?? 'always') !== (mode === 'grid' ? 'island' : 'grid');

/**
 * One bond from neutral to earth for each section with load that is energised, on the utility and in the island.
 *
 * Law: NEC 250.24 and 250.30, one main or system bonding jumper for each supply.
 */
export function bondFaults(checked: Checked): SiteFault[] {
  const { serviceBus, forming } = checked;
  const starts = forming.map(({ at }) => at[0]!);
  const grid = [...unswitched(checked), ...bondFault(checked, 'grid', [serviceBus])];
  // What is wrong on the utility is wrong in the island for the same reason: it is told once.
  return forming.length === 0 || grid.length > 0 ? grid : bondFault(checked, 'island', [serviceBus, ...starts]);
}

/** Bonds that are switched, by nothing. */
function unswitched({ site }: Checked): SiteFault[] {
  return site.pieces
    .filter(({ kind, params }) => kind === 'bond' && params.relay === 'none' && (params.when ?? 'always') !== 'always')
    .map(({ id, params }) => ({
      code: 'SITE-BOND',
      piece: id,
      key: 'when',
      found: `bond ${id} for the ${String(params.when)} only, switched by nothing`,
      expected: 'a relay whose opening switches it',
      mend: 'Write "relay: <id of the relay>", or "when: always"',
    }));
}

function bondFault({ site, graph }: Checked, mode: Mode, starts: readonly Id[]): SiteFault[] {
  const neutral = graph.edges('N', closedIn(mode));
  const lines = LINES.map((leg) => graph.edges(leg, closedIn(mode)));
  const faults: SiteFault[] = [];
  const seen = new Set<Id>();
  for (const start of starts) {
    if (seen.has(start)) continue;
    const section = reachedFrom(neutral, start);
    const feeds = starts.filter((each) => section.has(each));
    for (const each of feeds) seen.add(each);
    // What a feed of this section reaches by a line is energised; a load that none reaches is dark in this mode.
    const live = new Set(feeds.flatMap((feed) => lines.flatMap((edges) => [...reachedFrom(edges, feed)])));
    if (!site.pieces.some(({ kind, at }) => kind === 'load' && live.has(at[0]!))) continue;
    const bonds = site.pieces.filter((piece) => bondsIn(mode)(piece) && section.has(piece.at[0]!));
    if (bonds.length !== 1) faults.push(bondFaultOf(bonds, start, mode));
  }
  return faults;
}

function bondFaultOf(bonds: readonly Piece[], start: Id, mode: Mode): SiteFault {
  const last = bonds.at(-1);
  const where = `joined to the neutral of bus ${start} ${MODE_TEXT[mode]}`;
  const common = { code: 'SITE-BOND', expected: 'exactly one bond from neutral to earth' } as const;
  if (last !== undefined) {
    const found = `${bonds.length} bonds (${namesOf(bonds)}) ${where}`;
    return { ...common, piece: last.id, found, mend: 'Keep one of them' };
  }
  const mend = 'Add a bond there, or let the device in between pass the neutral';
  return { ...common, bus: start, found: `no bond ${where}`, mend };
}

/** True for what is connected between a line and the neutral. */
function isLegLoad({ kind, legs }: Piece): boolean {
  return kind === 'load' && (legs.includes('N') || legs.length === 1);
}

/** Something that makes the neutral in each island that has a load on one leg, and that does not hang on the island's own voltage. */
export function neutralFaults({ site, graph, forming }: Checked): SiteFault[] {
  const formers = site.pieces.filter(({ kind }) => kind === 'former');
  const faults: SiteFault[] = formers
    .filter(({ params }) => params.heldBy === 'bus')
    .map(({ id }) => ({
      code: 'SITE-FORMER',
      piece: id,
      key: 'heldBy',
      found: `the contactor of ${id} held by the voltage that it serves`,
      expected: 'a contactor held by another supply',
      mend: 'Write another supply after "heldBy:"',
    }));
  const edges = LINES.map((leg) => graph.edges(leg, relaysOpen));
  for (const source of forming) {
    const island = new Set(edges.flatMap((each) => [...reachedFrom(each, source.at[0]!)]));
    const here = (piece: Piece) => island.has(piece.at[0]!);
    const loads = site.pieces.filter((piece) => isLegLoad(piece) && here(piece));
    const own = forming.some((each) => here(each) && each.params.neutral === true);
    if (loads.length === 0 || own) continue;
    const former = formers.find(here);
    if (former !== undefined) {
      if (source.params.neutralFormer === 'none') faults.push(unguarded(source, former));
      continue;
    }
    faults.push({
      code: 'SITE-NEUTRAL',
      piece: source.id,
      key: 'neutral',
      found: `nothing that makes the neutral of the island of ${source.id}, with load from line to neutral (${namesOf(loads)})`,
      expected: 'a source with a neutral of its own, or a neutral former on the house side of the relay',
      mend: 'Write "neutral: yes" if the source has three terminals, or add a former',
    });
  }
  return faults;
}

/** A two-wire source must stop when its neutral former opens, or the legs fall apart with it still running. */
function unguarded(source: Piece, former: Piece): SiteFault {
  return {
    code: 'SITE-FORMER',
    piece: source.id,
    key: 'neutralFormer',
    found: `${source.id} running on when the neutral former ${former.id} opens`,
    expected: 'a source that the opening of its former stops',
    mend: `Write "neutralFormer: ${former.id}"`,
  };
}
