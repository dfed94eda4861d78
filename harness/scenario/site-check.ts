import type { Id, KindSpec, Piece, SiteDescription } from '../../sim/site-description.ts';
import { gatewayFaults } from './gateway-check.ts';
import { bondFaults, neutralFaults } from './neutral-check.ts';
import { ratingFaults, zeroFaults } from './rating-check.ts';
import { didYouMean, oneOf } from './reader/nearest.ts';
import { quoted } from './reader/problem.ts';
import {
  type Checked,
  chainBetween,
  type Edge,
  everyClosed,
  formingOf,
  graphOf,
  LINES,
  namesOf,
  reachedFrom,
  relaysOpen,
  type SiteFault,
  type SiteGraph,
} from './site-graph.ts';
import { surplusFaults } from './surplus-check.ts';

/**
 * All reasons why a site must not run: radial and whole, a cut between each forming source and the service, one bond and a
 * neutral in each mode, settings that need equipment which is not there, ratings that do not fit, sun that nothing takes.
 *
 * What is allowed and must be said all the same is in `notesOfSite`.
 *
 * Expects ids, kinds and conductors to be sound; parameters may be missing, and what they would have decided is then not
 * judged. While a piece stands on no bus or the utility is in doubt, what rests on the whole network is not judged either.
 */
export function checkSite(site: SiteDescription, kinds: readonly KindSpec[]): readonly SiteFault[] {
  const graph = graphOf(site, kinds);
  const local = [...busFaults(site, kinds), ...zeroFaults(site), ...referenceFaults(site), ...loopFaults(graph)];
  const utilities = site.pieces.filter(({ kind }) => kind === 'utility');
  const doubts = utilityFaults(site, utilities);
  const serviceBus = utilities[0]?.at[0];
  if (serviceBus === undefined || doubts.length > 0 || local.some(({ code }) => code === 'SITE-BUS')) {
    return [...local, ...doubts];
  }
  const checked = { site, graph, serviceBus, forming: formingOf(site) };
  return [
    ...local,
    ...reachFaults(checked),
    ...cutFaults(checked),
    ...bondFaults(checked),
    ...neutralFaults(checked),
    ...gatewayFaults(checked),
    ...ratingFaults(checked),
    ...surplusFaults(checked),
  ];
}

function busFaults(site: SiteDescription, kinds: readonly KindSpec[]): SiteFault[] {
  const buses = site.buses.map(({ id }) => id);
  const joins = new Map(kinds.map((each) => [each.kind, each.joins]));
  return site.pieces.flatMap((piece): SiteFault[] => {
    const due = joins.get(piece.kind);
    const common = { code: 'SITE-BUS', piece: piece.id, key: 'at' } as const;
    // What stands on no bus by its nature (the gateway) is of no kind of the table.
    if (due === undefined) return [];
    if (piece.at.length !== due) {
      const found =
        piece.at.length === 0
          ? `${piece.id} on no bus`
          : `${piece.id} on ${piece.at.length} buses (${piece.at.join(', ')})`;
      const mend = due === 1 ? 'Write "at: <bus>"' : 'Write "at: [<bus towards the street>, <bus>]"';
      return [{ ...common, found, expected: due === 1 ? 'one bus' : 'two buses, the first towards the street', mend }];
    }
    return piece.at
      .filter((id) => !buses.includes(id))
      .map((id) => ({
        ...common,
        found: `unknown bus ${quoted(id)}`,
        expected: oneOf(buses),
        mend: didYouMean(id, buses),
      }));
  });
}

/** Parameters that name another piece: what they are called, of which kind it must be, and the word that stands for none. */
const REFERENCES = [
  { kind: 'relay', key: 'supply', to: 'vehicle', none: 'own' },
  { kind: 'bond', key: 'relay', to: 'relay', none: 'none' },
  { kind: 'vehicle', key: 'interlock', to: 'relay', none: 'none' },
  { kind: 'vehicle', key: 'neutralFormer', to: 'former', none: 'none' },
] as const;

function referenceFaults({ pieces }: SiteDescription): SiteFault[] {
  return REFERENCES.flatMap(({ kind, key, to, none }) => {
    const known = [none, ...pieces.filter((each) => each.kind === to).map(({ id }) => id)];
    return pieces.flatMap((piece): SiteFault[] => {
      const name = piece.kind === kind ? piece.params[key] : undefined;
      if (typeof name !== 'string' || known.includes(name)) return [];
      const found = `unknown ${to} ${quoted(name)}`;
      return [{ code: 'SITE-REF', piece: piece.id, key, found, expected: oneOf(known), mend: didYouMean(name, known) }];
    });
  });
}

/** Each piece that joins two buses which are joined already, with the chain that it closes. One report a piece. */
function loopFaults(graph: SiteGraph): SiteFault[] {
  const faults = new Map<Id, SiteFault>();
  for (const leg of LINES) {
    const tree: Edge[] = [];
    for (const edge of graph.edges(leg, everyClosed)) {
      const chain = chainBetween(tree, edge.from, edge.to);
      if (chain === undefined) tree.push(edge);
      else if (!faults.has(edge.piece.id)) {
        const ring = namesOf([...chain, edge.piece]);
        const found =
          chain.length === 0 ? `${edge.piece.id} from bus ${edge.from} to itself` : `a loop on ${leg}: ${ring}`;
        faults.set(edge.piece.id, {
          code: 'SITE-LOOP',
          piece: edge.piece.id,
          key: 'at',
          found,
          expected: 'a radial network, one way to each bus',
          mend: 'Take one of these pieces out',
        });
      }
    }
  }
  return [...faults.values()];
}

function utilityFaults(site: SiteDescription, utilities: readonly Piece[]): SiteFault[] {
  const [first, ...others] = utilities;
  const expected = 'exactly one piece of kind utility';
  if (first === undefined)
    return [{ code: 'SITE-UTILITY', found: 'no utility', expected, mend: 'Add one on the service bus' }];
  const faults: SiteFault[] = others.map(({ id }) => ({
    code: 'SITE-UTILITY',
    piece: id,
    found: `${others.length + 1} utilities: ${namesOf(utilities)}`,
    expected,
    mend: 'A second feed is not simulated; take it out',
  }));
  const bus = site.buses.find(({ id }) => id === first.at[0]);
  if (bus !== undefined && bus.side !== 'utility') {
    faults.push({
      code: 'SITE-UTILITY',
      piece: first.id,
      key: 'at',
      found: `the utility on bus ${bus.id} of the premises`,
      expected: 'a bus of side utility',
      mend: `Write "${bus.id}: utility" under buses`,
    });
  }
  return faults;
}

function reachFaults({ site, graph, serviceBus }: Checked): SiteFault[] {
  const reached = new Set(LINES.flatMap((leg) => [...reachedFrom(graph.edges(leg, everyClosed), serviceBus)]));
  return site.buses
    .filter(({ id }) => !reached.has(id))
    .map(({ id }) => ({
      code: 'SITE-REACH',
      bus: id,
      found: `bus ${id} without a way to the utility`,
      expected: 'each bus joined to the service by line conductors when all devices are closed',
      mend: 'Add a conductor, a breaker or a relay towards it, or take the bus out',
    }));
}

/** With the isolation relays open no chain of line conductors joins a forming source to the service; the chain is named. */
function cutFaults({ graph, serviceBus, forming }: Checked): SiteFault[] {
  const isolates = (piece: Piece) => piece.kind === 'relay' && piece.params.type !== 'held-open';
  return forming.flatMap((source): SiteFault[] => {
    for (const leg of LINES) {
      const chain = chainBetween(graph.edges(leg, relaysOpen), source.at[0]!, serviceBus);
      if (chain === undefined) continue;
      const way = chain.length === 0 ? `on the service bus itself` : `by way of ${namesOf(chain)}`;
      return [
        {
          code: 'SITE-CUT',
          piece: source.id,
          key: 'at',
          found: `${source.id} joined to the service on ${leg} with every isolation relay open, ${way}`,
          expected: 'an isolation relay with a pole in each line between a forming source and the service',
          mend: 'Put a relay into that chain, or open it',
        },
      ];
    }
    const weak = LINES.flatMap(
      (leg) =>
        chainBetween(
          graph.edges(leg, (piece) => !isolates(piece)),
          source.at[0]!,
          serviceBus,
        ) ?? [],
    ).filter(({ kind }) => kind === 'relay');
    return [...new Set(weak)].map((relay) => ({
      code: 'SITE-RELAY',
      piece: relay.id,
      key: 'type',
      found: `held-open relay ${relay.id} as the isolation of ${source.id}: on loss of its supply it falls closed onto the utility`,
      expected: 'held-closed or latching',
      mend: 'Write "type: held-closed" or "type: latching"',
    }));
  });
}
