import { describe, expect, it } from 'vitest';
import { problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readSiteText } from '../../../harness/scenario/reader/read-site.ts';
import { checkSite } from '../../../harness/scenario/site-check.ts';
import type { Bag, Conductor, Piece, SiteDescription } from '../../../sim/site-description.ts';
import { KINDS, SITE, tables } from './sample.ts';

const read = readSiteText(SITE, 'maple.yaml', tables());
if ('problems' in read) throw new Error(problemReport(read.problems));
const SOUND: SiteDescription = read.site;

const piece = (
  id: string,
  kind: string,
  at: readonly string[],
  legs: readonly Conductor[],
  params: Bag = {},
): Piece => ({
  id,
  kind,
  at,
  legs,
  params,
  sources: {},
});

/** The sound site with pieces put in the place of those of the same id, others added, and one taken out. */
function site(
  pieces: readonly Piece[],
  without: readonly string[] = [],
  more: Partial<SiteDescription> = {},
): SiteDescription {
  const replaced = SOUND.pieces.map((each) => pieces.find(({ id }) => id === each.id) ?? each);
  const added = pieces.filter(({ id }) => !SOUND.pieces.some((each) => each.id === id));
  return { ...SOUND, pieces: [...replaced, ...added].filter(({ id }) => !without.includes(id)), ...more };
}
const faults = (description: SiteDescription) =>
  checkSite(description, KINDS).map(({ code, found }) => `${code}: ${found}`);

const RELAY = { rating: 200, type: 'held-closed' };

describe('checkSite on sound sites', () => {
  it('has nothing against the sample', () => {
    expect(faults(SOUND)).toEqual([]);
  });

  it('takes the relay above the main, in front of a sub-panel, and PV tapped ahead of the main', () => {
    const above = [
      piece('main', 'breaker', ['panel', 'backup'], ['L1', 'L2'], { rating: 200, aux: true }),
      piece('relay', 'relay', ['meter', 'panel'], ['L1', 'L2'], RELAY),
    ];
    expect(faults(site(above))).toEqual([]);
    expect(faults(site([piece('pv', 'pv', ['meter'], ['L1', 'L2'], { rated: 5000 })]))).toEqual([]);
  });

  it('takes a site with neither vehicle nor relay', () => {
    expect(faults(site([piece('relay', 'conductor', ['panel', 'backup'], ['L1', 'L2', 'N'])], ['ev']))).toEqual([]);
  });

  it('takes one pole a device: two single-pole relays side by side are no loop', () => {
    const poles = [
      piece('relay', 'relay', ['panel', 'backup'], ['L1'], RELAY),
      piece('relay2', 'relay', ['panel', 'backup'], ['L2'], RELAY),
    ];
    expect(faults(site(poles))).toEqual([]);
  });

  it('takes a relay that switches the neutral where the island has a bond of its own, closed in the island only', () => {
    const relay = piece('relay', 'relay', ['panel', 'backup'], ['L1', 'L2', 'N'], RELAY);
    expect(faults(site([relay, piece('own', 'bond', ['backup'], ['N'], { when: 'island' })]))).toEqual([]);
  });

  it('takes a two-wire source with a neutral former on the house side', () => {
    const ev = piece('ev', 'vehicle', ['backup'], ['L1', 'L2'], { neutral: false });
    expect(faults(site([ev, piece('former', 'former', ['backup'], ['L1', 'L2', 'N'], { heldBy: 'control' })]))).toEqual(
      [],
    );
  });

  it('asks for no neutral where all load is from line to line', () => {
    const ev = piece('ev', 'vehicle', ['backup'], ['L1', 'L2'], { neutral: false });
    expect(faults(site([ev], ['kitchen']))).toEqual([]);
  });
});

describe('checkSite on the network', () => {
  it('names all pieces that close a loop', () => {
    expect(
      faults(site([piece('bypass', 'breaker', ['meter', 'backup'], ['L1', 'L2'], { rating: 100, aux: true })])),
    ).toEqual([
      'SITE-LOOP: a loop on L1: main, relay, bypass',
      'SITE-CUT: ev joined to the service on L1 with every isolation relay open, by way of bypass, drop',
    ]);
  });

  it('finds a loop on L2 alone, and a piece from a bus to itself', () => {
    expect(faults(site([piece('tie', 'breaker', ['meter', 'panel'], ['L2'], { rating: 20 })]))).toEqual([
      'SITE-LOOP: a loop on L2: main, tie',
    ]);
    expect(faults(site([piece('tie', 'breaker', ['panel', 'panel'], ['L1'], { rating: 20 })]))).toEqual([
      'SITE-LOOP: tie from bus panel to itself',
    ]);
  });

  it('wants each piece on as many buses as its kind joins, and on known ones', () => {
    expect(faults(site([piece('pv', 'pv', [], ['L1', 'L2'])]))).toEqual(['SITE-BUS: pv on no bus']);
    expect(faults(site([piece('main', 'breaker', ['meter'], ['L1', 'L2'])]))).toEqual([
      'SITE-BUS: main on 1 buses (meter)',
    ]);
    expect(faults(site([piece('pv', 'pv', ['garage'], ['L1', 'L2'])]))).toEqual(['SITE-BUS: unknown bus "garage"']);
  });

  it('wants exactly one utility, on a bus of its side', () => {
    expect(faults(site([], ['utility']))).toEqual(['SITE-UTILITY: no utility']);
    expect(faults(site([piece('second', 'utility', ['meter'], ['L1', 'L2', 'N'])]))).toEqual([
      'SITE-UTILITY: 2 utilities: utility, second',
    ]);
    expect(faults(site([piece('utility', 'utility', ['meter'], ['L1', 'L2', 'N'])]))[0]).toBe(
      'SITE-UTILITY: the utility on bus meter of the premises',
    );
  });

  it('wants each bus joined to the utility', () => {
    const buses = [...SOUND.buses, { id: 'shed', side: 'premises' } as const];
    expect(faults(site([], [], { buses }))).toEqual(['SITE-REACH: bus shed without a way to the utility']);
  });

  it('wants a piece of the right kind where a parameter names one', () => {
    const supplied = (supply: string) =>
      site([piece('relay', 'relay', ['panel', 'backup'], ['L1', 'L2'], { ...RELAY, supply })]);
    expect(faults(supplied('ev'))).toEqual([]);
    expect(faults(supplied('own'))).toEqual([]);
    expect(faults(supplied('vehicle'))).toEqual(['SITE-REF: unknown vehicle "vehicle"']);
    expect(faults(supplied('pv'))).toEqual(['SITE-REF: unknown vehicle "pv"']);
    expect(faults(site([piece('earth', 'bond', ['panel'], ['N'], { relay: 'main' })]))).toEqual([
      'SITE-REF: unknown relay "main"',
    ]);
  });

  it('refuses breakers and relays of 0 A', () => {
    expect(
      faults(site([piece('main', 'breaker', ['meter', 'panel'], ['L1', 'L2'], { rating: 0, aux: true })])),
    ).toEqual(['SITE-RATING: a breaker of 0 A']);
  });
});

describe('checkSite on isolation', () => {
  it('names the chain that joins a forming source to the service with the relay open', () => {
    const relay = piece('relay', 'breaker', ['panel', 'backup'], ['L1', 'L2'], { rating: 200, aux: true });
    expect(faults(site([relay]))).toEqual([
      'SITE-CUT: ev joined to the service on L1 with every isolation relay open, by way of relay, main, drop',
    ]);
  });

  it('finds the one line that the relay does not switch', () => {
    const halves = [
      piece('relay', 'relay', ['panel', 'backup'], ['L1'], RELAY),
      piece('other', 'breaker', ['panel', 'backup'], ['L2'], { rating: 200 }),
    ];
    expect(faults(site(halves))).toEqual([
      'SITE-CUT: ev joined to the service on L2 with every isolation relay open, by way of other, main, drop',
    ]);
  });

  it('refuses a held-open relay as the isolation, but not as one more in the same line', () => {
    const weak = { rating: 200, type: 'held-open' };
    const relay = piece('relay', 'relay', ['panel', 'backup'], ['L1', 'L2'], weak);
    const sound = piece('main', 'relay', ['meter', 'panel'], ['L1', 'L2'], RELAY);
    expect(faults(site([relay]))[0]).toMatch(/^SITE-RELAY: held-open relay relay as the isolation of ev/);
    expect(faults(site([relay, sound]))).toEqual([]);
  });
});

describe('checkSite on the neutral', () => {
  it('refuses no bond and two bonds', () => {
    expect(faults(site([], ['earth']))).toEqual([
      'SITE-BOND: no bond joined to the neutral of bus service on the utility, all devices closed',
    ]);
    expect(faults(site([piece('second', 'bond', ['backup'], ['N'])]))).toEqual([
      'SITE-BOND: 2 bonds (earth, second) joined to the neutral of bus service on the utility, all devices closed',
    ]);
  });

  it('refuses an island that loses its bond with the neutral pole of the relay', () => {
    expect(faults(site([piece('relay', 'relay', ['panel', 'backup'], ['L1', 'L2', 'N'], RELAY)]))).toEqual([
      'SITE-BOND: no bond joined to the neutral of bus backup in the island, isolation relays open',
    ]);
  });

  it('refuses a bond that opens in the island, and one that closes beside another', () => {
    expect(faults(site([piece('earth', 'bond', ['panel'], ['N'], { when: 'grid' })]))).toEqual([
      'SITE-BOND: no bond joined to the neutral of bus service in the island, isolation relays open',
    ]);
    expect(faults(site([piece('own', 'bond', ['backup'], ['N'], { when: 'island' })]))).toEqual([
      'SITE-BOND: 2 bonds (earth, own) joined to the neutral of bus service in the island, isolation relays open',
    ]);
  });

  it('refuses a bond that is switched by nothing', () => {
    const own = piece('own', 'bond', ['backup'], ['N'], { when: 'island', relay: 'none' });
    expect(faults(site([own]))[0]).toBe('SITE-BOND: bond own for the island only, switched by nothing');
  });

  it('refuses an island with load from line to neutral and nothing that makes it', () => {
    const ev = piece('ev', 'vehicle', ['backup'], ['L1', 'L2'], { neutral: false });
    const found = [
      'SITE-NEUTRAL: nothing that makes the neutral of the island of ev, with load from line to neutral (kitchen)',
    ];
    expect(faults(site([ev]))).toEqual(found);
    expect(faults(site([ev, piece('former', 'former', ['panel'], ['L1', 'L2', 'N'], { heldBy: 'control' })]))).toEqual(
      found,
    );
  });

  it('refuses a two-wire source that its former does not stop', () => {
    const former = piece('former', 'former', ['backup'], ['L1', 'L2', 'N'], { heldBy: 'control' });
    const ev = (neutralFormer: string) =>
      piece('ev', 'vehicle', ['backup'], ['L1', 'L2'], { neutral: false, neutralFormer });
    expect(faults(site([ev('none'), former]))).toEqual([
      'SITE-FORMER: ev running on when the neutral former former opens',
    ]);
    expect(faults(site([ev('former'), former]))).toEqual([]);
    expect(faults(site([ev('fromer'), former]))).toEqual(['SITE-REF: unknown former "fromer"']);
  });

  it('refuses a former whose contactor hangs on the voltage that it serves', () => {
    const former = piece('former', 'former', ['backup'], ['L1', 'L2', 'N'], { heldBy: 'bus' });
    expect(faults(site([former]))).toEqual(['SITE-FORMER: the contactor of former held by the voltage that it serves']);
  });
});

describe('checkSite on settings', () => {
  const settings = (more: Bag) => site([], [], { settings: { ...SOUND.settings, ...more } });

  it('takes a closed transition with a sync check only', () => {
    expect(faults(settings({ transition: 'closed' }))).toEqual(['SITE-SYNC: a closed transition without a sync check']);
    expect(faults(settings({ transition: 'closed', syncCheck: true }))).toEqual([]);
  });

  it('wants an auxiliary contact on the main to stay dark after an opening by hand', () => {
    const main = piece('main', 'breaker', ['meter', 'panel'], ['L1', 'L2'], { rating: 200, aux: false });
    expect(faults(site([main]))).toEqual([
      'SITE-HAND: handOpening: isolation, and breaker main without an auxiliary contact',
    ]);
    expect(faults({ ...site([main]), settings: { ...SOUND.settings, handOpening: 'outage' } })).toEqual([]);
  });
});
