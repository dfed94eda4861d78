import type { Piece } from '../../sim/site-description.ts';
import {
  type Checked,
  chainBetween,
  everyClosed,
  isMain,
  LINES,
  namesOf,
  relaysOpen,
  type SiteFault,
  wayTo,
} from './site-graph.ts';

/** What the gateway must see and be able to stop for its settings to mean anything. */
export function gatewayFaults(checked: Checked): SiteFault[] {
  return [
    ...syncFaults(checked),
    ...mainFaults(checked),
    ...handFaults(checked),
    ...tapFaults(checked),
    ...lockFaults(checked),
  ];
}

function syncFaults({ site: { settings } }: Checked): SiteFault[] {
  if (settings.transition !== 'closed' || settings.syncCheck === true) return [];
  return [
    {
      code: 'SITE-SYNC',
      setting: 'transition',
      found: 'a closed transition without a sync check',
      expected: 'transition: open, or syncCheck: yes',
      mend: 'Write "transition: open"',
    },
  ];
}

/** The main is the breaker with that role: none of several, and none that only stands where a main would. */
function mainFaults(checked: Checked): SiteFault[] {
  const { site, forming } = checked;
  const marked = site.pieces.filter(isMain);
  const last = marked.at(-1);
  if (last !== undefined && marked.length > 1) {
    return [
      {
        code: 'SITE-MAIN',
        piece: last.id,
        key: 'role',
        found: `${marked.length} breakers of role main: ${namesOf(marked)}`,
        expected: 'one at most, the one whose auxiliary contact the gateway reads',
        mend: 'Write "role: branch" for the others',
      },
    ];
  }
  if (last !== undefined) return [];
  const unmarked = new Set(forming.map((source) => aheadOfRelay(wayTo(checked, source))));
  return [...unmarked]
    .filter((breaker) => breaker?.params.role === 'branch')
    .map((breaker) => ({
      code: 'SITE-MAIN',
      piece: breaker!.id,
      key: 'role',
      found: `breaker ${breaker!.id} between the service and the relay, and no breaker of role main`,
      expected: 'the main to be marked, so that the gateway reads its contact',
      mend: 'Write "role: main"',
    }));
}

/** The first breaker of a way that comes before any relay: a person would take it for the main. */
function aheadOfRelay(way: readonly Piece[]): Piece | undefined {
  const relay = way.findIndex(({ kind }) => kind === 'relay');
  return way.slice(0, Math.max(0, relay)).find(({ kind }) => kind === 'breaker');
}

function handFaults({ site, graph, serviceBus, forming }: Checked): SiteFault[] {
  // A site that forms for nothing that might be a hand keeps dark without knowing the position.
  if (site.settings.handOpening !== 'isolation' || site.settings.formWhenHandOpenedUnknown === false) return [];
  const marked = site.pieces.filter(isMain);
  const firstBreaker = (source: Piece): Piece | undefined =>
    LINES.map((leg) => chainBetween(graph.edges(leg, everyClosed), serviceBus, source.at[0]!))
      .find((way) => way !== undefined)
      ?.find(({ kind }) => kind === 'breaker');
  const mains = new Set(marked.length > 0 ? marked : forming.map(firstBreaker));
  return [...mains]
    .filter((main) => main !== undefined && main.params.aux !== true)
    .map((main) => ({
      code: 'SITE-HAND',
      piece: main!.id,
      key: 'aux',
      found: `handOpening: isolation, and breaker ${main!.id} without an auxiliary contact`,
      expected: 'the position of the main to be known',
      mend: 'Write "aux: yes", "handOpening: outage", or "formWhenHandOpenedUnknown: no"',
    }));
}

/** The gateway's voltage taps, legs and line to line, are on both sides of the first relay of the file. */
function tapFaults(checked: Checked): SiteFault[] {
  const tapped = checked.site.pieces.find(({ kind }) => kind === 'relay');
  if (tapped === undefined) return [];
  return checked.forming.flatMap((source): SiteFault[] => {
    const relays = wayTo(checked, source).filter(({ kind }) => kind === 'relay');
    // Without any relay in the way the cut is missing, which is told as such.
    if (relays.length === 0 || relays.includes(tapped)) return [];
    return [
      {
        code: 'SITE-TAPS',
        piece: tapped.id,
        found: `the voltage taps at relay ${tapped.id}, the first of the file, which does not stand between the service and ${source.id}`,
        expected: `a relay on the way to ${source.id} first: ${namesOf(relays)}`,
        mend: `Write ${relays[0]!.id} before ${tapped.id}`,
      },
    ];
  });
}

function lockFaults({ site, graph, serviceBus, forming }: Checked): SiteFault[] {
  const joined = (source: Piece, closed: (piece: Piece) => boolean): readonly Piece[] | undefined =>
    LINES.map((leg) => chainBetween(graph.edges(leg, closed), source.at[0]!, serviceBus)).find(
      (chain) => chain !== undefined,
    );
  return forming.flatMap((source): SiteFault[] => {
    const relay = site.pieces.find(({ id, kind }) => kind === 'relay' && id === source.params.interlock);
    // An interlock that names nothing is told as such, and a missing cut as well.
    if (relay === undefined || joined(source, relaysOpen) !== undefined) return [];
    const chain = joined(source, (piece) => piece !== relay);
    if (chain === undefined) return [];
    return [
      {
        code: 'SITE-LOCK',
        piece: source.id,
        key: 'interlock',
        found: `the enable of ${source.id} on relay ${relay.id}, with which open it is still joined to the service by way of ${namesOf(chain)}`,
        expected: 'the relay that isolates it by itself, or none',
        mend: 'Name another relay after "interlock:", or write "interlock: none"',
      },
    ];
  });
}
