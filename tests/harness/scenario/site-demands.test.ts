import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { CODES, problemLine } from '../../../harness/scenario/reader/problem.ts';
import { readSiteText } from '../../../harness/scenario/reader/read-site.ts';
import { TABLES } from '../../helpers/sites.ts';
import { changed } from './sample.ts';

// What a site must satisfy beyond its wiring, told as the command line tells it. Each refusal stands beside the nearest site
// that is taken.

const JUNIPER = readFileSync('scenarios/sites/juniper-lane.yaml', 'utf8');
const MILL = readFileSync('scenarios/sites/mill-cottage.yaml', 'utf8');

type Change = readonly [from: string, to: string];

/** `[what is marked in the file] path: found …` for each problem of a built-in site with some of its text changed. */
function told(text: string, ...changes: readonly Change[]): readonly string[] {
  const site = changes.reduce((each, [from, to]) => changed(each, from, to), text);
  const read = readSiteText(site, 's.yaml', TABLES);
  return ('problems' in read ? read.problems : []).map((problem) => {
    const marked = problem.source.slice(problem.column - 1, problem.column - 1 + problem.width);
    return problemLine(problem).replace(`s.yaml:${problem.line}:${problem.column}`, `[${marked}]`);
  });
}
/** A line more among the pieces. */
const adding = (line: string): Change => ['settings:', `  ${line}\nsettings:`];

describe('the built-in sites', () => {
  it.each([
    ['juniper-lane', JUNIPER],
    ['mill-cottage', MILL],
  ])('%s is taken', (_, text) => {
    expect(told(text)).toEqual([]);
  });
});

describe('checkSite on ratings', () => {
  it('refuses a vehicle set above 0.80 of its supply breaker, with both numbers; exactly 0.80 is taken', () => {
    const share = (value: number): Change => ['supplyBreaker: 50 A', `supplyBreaker: 45 A, continuousShare: ${value}`];
    expect(told(JUNIPER, share(0.8))).toEqual([]);
    expect(told(JUNIPER, share(0.85))).toEqual([
      '[0.85] vehicle.continuousShare: found vehicle set to 38.25 A behind a supply breaker of 45 A; expected 36 A at most, 0.80 of it. Write "continuousShare: 0.8", or a larger supplyBreaker if one is fitted. [SITE-LIMIT]',
    ]);
  });

  it('takes a share above 0.80 where the rating or the cable is the smaller', () => {
    expect(told(JUNIPER, ['supplyBreaker: 50 A', 'supplyBreaker: 50 A, continuousShare: 1'])).toEqual([]);
    expect(told(JUNIPER, ['supplyBreaker: 50 A', 'supplyBreaker: 45 A, cable: 36 A, continuousShare: 1'])).toEqual([]);
  });

  it('refuses a vehicle of 40 A behind a branch breaker of 45 A, whatever supplyBreaker was typed in; 50 A is taken', () => {
    const behind = (rating_A: number): Change[] => [
      ['roof: premises', 'roof: premises, bay: premises'],
      ['vehicle, at: house', 'vehicle, at: bay'],
      adding(`ev-breaker: { kind: breaker, at: [house, bay], rating: ${rating_A} A }`),
    ];
    expect(told(JUNIPER, ...behind(50))).toEqual([]);
    expect(told(JUNIPER, ...behind(45))).toEqual([
      '[45 A] ev-breaker.rating: found vehicle with 40 A without end through breaker ev-breaker of 45 A; expected 36 A at most, 0.80 of the breaker. Write a smaller supplyBreaker for vehicle, or the rating that ev-breaker has. [SITE-LIMIT]',
    ]);
  });

  it('refuses PV behind its breaker of 30 A at 5.9 kW; at 5.76 kW it is taken', () => {
    expect(told(JUNIPER, ['rated: 5 kW', 'rated: 5.76 kW'])).toEqual([]);
    expect(told(JUNIPER, ['rated: 5 kW', 'rated: 5.9 kW'])).toEqual([
      '[30 A] pv-breaker.rating: found pv with 24.58 A without end through breaker pv-breaker of 30 A; expected 24 A at most, 0.80 of the breaker. Write a smaller rated for pv, or the rating that pv-breaker has. [SITE-LIMIT]',
    ]);
  });

  it('refuses a relay of 199 A behind a main of 200 A; a relay of 200 A is taken', () => {
    const relay = (rating_A: number): Change => ['held-closed, rating: 200 A', `held-closed, rating: ${rating_A} A`];
    expect(told(JUNIPER, relay(200))).toEqual([]);
    expect(told(JUNIPER, relay(199))).toEqual([
      '[199 A] relay.rating: found relay relay of 199 A in series with breaker main of 200 A; expected a relay of 200 A or more, or a smaller breaker in its way. Write the rating that is printed on it, or add the breaker that protects it. [SITE-LIMIT]',
    ]);
  });

  it('takes a relay smaller than the main behind a feeder breaker of its own rating', () => {
    const relay: Change = ['latching, rating: 100 A', 'latching, rating: 60 A'];
    const feeder: Change[] = [
      ['feeder-end: premises', 'feeder: premises, feeder-end: premises'],
      ['conductor, at: [panel, feeder-end]', 'conductor, at: [feeder, feeder-end]'],
      ['  feeder: {', '  feed: {'],
    ];
    const breaker = (rating_A: number) =>
      adding(`feeder-breaker: { kind: breaker, at: [panel, feeder], rating: ${rating_A} A }`);
    expect(told(MILL, relay, ...feeder, breaker(60))).toEqual([]);
    expect(told(MILL, relay, ...feeder, breaker(70))[0]).toContain(
      'relay relay of 60 A in series with breaker feeder-breaker of 70 A',
    );
  });

  it('holds a relay ahead of the main to the main behind it', () => {
    const swapped = (rating_A: number): Change[] => [
      ['at: [meter, panel], role', 'at: [panel, house], role'],
      [
        'relay, at: [panel, house], type: held-closed, rating: 200 A',
        `relay, at: [meter, panel], rating: ${rating_A} A`,
      ],
    ];
    expect(told(JUNIPER, ...swapped(200))).toEqual([]);
    expect(told(JUNIPER, ...swapped(150))[0]).toContain(
      'found relay relay of 150 A in series with breaker main of 200 A',
    );
  });

  it('refuses a busbar of 199 A behind a main of 200 A; 200 A, and nothing said of it, are taken', () => {
    expect(told(JUNIPER, [', busbar: 200 A', ''])).toEqual([]);
    expect(told(JUNIPER, ['busbar: 200 A', 'busbar: 199 A'])).toEqual([
      '[199 A] settings.busbar: found a busbar of 199 A behind main main of 200 A; expected a busbar of 200 A or more. Write the ratings that are printed on both. [SITE-LIMIT]',
    ]);
  });
});

describe('checkSite on PV in an island', () => {
  const alone = (rated: string, more: string): Change => ['rated: 5 kW', `rated: ${rated}, permitWired: no, ${more}`];

  it('refuses 1.1 kW that neither order nor frequency takes off; the 1 kW that a full vehicle bears is taken', () => {
    expect(told(JUNIPER, alone('1 kW', 'droop: no'))).toEqual([]);
    expect(told(JUNIPER, alone('1.1 kW', 'droop: no'))).toEqual([
      '[no] pv.permitWired: found 1.1 kW of PV (pv) in the island of vehicle that no order stops and that 61.1 Hz does not take off; expected 1 kW at most, which vehicle bears when its battery is full. Write "permitWired: yes" if the permit of the gateway reaches it, or put it ahead of the relay. [SITE-SURPLUS]',
    ]);
  });

  it('counts what the droop leaves at 61.1 Hz, 0.645 of it, and nothing of what trips below that', () => {
    // 1 - (1.1 - 0.036)/(60 * 0.05) = 0.6453: IEEE 1547-2018, 6.5.2.7, with its default slope and dead band.
    expect(told(JUNIPER, alone('1.54 kW', 'droop: yes'))).toEqual([]);
    expect(told(JUNIPER, alone('1.56 kW', 'droop: yes'))[0]).toContain('found 1.007 kW of PV');
    const older: Change = ['category: II', 'category: "2003"'];
    expect(told(JUNIPER, alone('5 kW', 'droop: no'), older)).toEqual([]);
    expect(
      told(JUNIPER, alone('5 kW', 'droop: no'), older, ['rated: 9.6 kW', 'rated: 9.6 kW, surplusHighest: 60.5 Hz'])[0],
    ).toContain('and that 60.5 Hz does not take off');
  });

  it('takes as much behind a permit or a contactor, ahead of the relay, and where nothing forms', () => {
    expect(told(JUNIPER, ['rated: 5 kW', 'rated: 5 kW, droop: no'])).toEqual([]);
    expect(told(JUNIPER, alone('5 kW', 'droop: no, contactor: yes'))).toEqual([]);
    expect(told(MILL, ['rated: 6 kW', 'rated: 6 kW, droop: no, permitWired: no'])).toEqual([]);
    expect(told(JUNIPER, alone('5 kW', 'droop: no'), ['rated: 9.6 kW', 'rated: 9.6 kW, forms: no'])).toEqual([]);
  });
});

describe('checkSite on what the gateway sees', () => {
  it('refuses a main that is not marked, and a second one that is', () => {
    expect(told(JUNIPER, ['role: main', 'role: branch'])).toEqual([
      '[branch] main.role: found breaker main between the service and the relay, and no breaker of role main; expected the main to be marked, so that the gateway reads its contact. Write "role: main". [SITE-MAIN]',
    ]);
    expect(told(JUNIPER, ['rating: 30 A', 'role: main, rating: 30 A'])[0]).toContain(
      'found 2 breakers of role main: main, pv-breaker; expected one at most',
    );
  });

  it('refuses to stay dark after an opening by hand where the main is blind; to form as in an outage is taken', () => {
    const blind: Change = ['role: main, rating: 200 A', 'role: main, rating: 200 A, aux: no'];
    expect(told(JUNIPER, blind)[0]).toMatch(/^\[no\] main.aux: found handOpening: isolation, .*SITE-HAND\]$/);
    expect(told(JUNIPER, blind, ['handOpening: isolation', 'handOpening: outage'])).toEqual([]);
    const waits = 'handOpening: isolation, formWhenHandOpenedUnknown: no';
    expect(told(JUNIPER, blind, ['handOpening: isolation', waits])).toEqual([]);
  });

  it('refuses a closed transition without a sync check; with one it is taken', () => {
    const closed: Change = ['transition: open', 'transition: closed'];
    expect(told(JUNIPER, closed)[0]).toMatch(
      /^\[closed\] settings.transition: found a closed transition .*SITE-SYNC\]$/,
    );
    expect(told(JUNIPER, closed, ['handOpening', 'syncCheck: yes, handOpening'])).toEqual([]);
  });

  const shed: Change = ['roof: premises', 'roof: premises, shed: premises'];
  const relay = 'kind: relay, at: [panel, shed], type: latching';

  it('refuses taps at a relay that stands elsewhere; behind the right one in the file it is taken', () => {
    expect(told(JUNIPER, shed, adding(`other: { ${relay} }`))).toEqual([]);
    expect(told(JUNIPER, shed, ['  relay: {', `  other: { ${relay} }\n  relay: {`])).toEqual([
      '[other] other: found the voltage taps at relay other, the first of the file, which does not stand between the service and vehicle; expected a relay on the way to vehicle first: relay. Write relay before other. [SITE-TAPS]',
    ]);
  });

  it('refuses an interlock on a relay that does not isolate the vehicle; on the one that does, and none, are taken', () => {
    const on = (name: string): Change => ['interlock: relay', `interlock: ${name}`];
    expect(told(JUNIPER, shed, adding(`other: { ${relay} }`), on('other'))).toEqual([
      '[other] vehicle.interlock: found the enable of vehicle on relay other, with which open it is still joined to the service by way of relay, main, drop; expected the relay that isolates it by itself, or none. Name another relay after "interlock:", or write "interlock: none". [SITE-LOCK]',
    ]);
    expect(told(JUNIPER, on('none'))).toEqual([]);
  });

  it('tells all that is wrong at once, in the order of the file', () => {
    const lines = told(
      JUNIPER,
      ['role: main', 'role: branch'],
      ['held-closed, rating: 200 A', 'held-closed, rating: 100 A'],
      ['supplyBreaker: 50 A', 'supplyBreaker: 45 A, continuousShare: 1'],
      ['transition: open', 'transition: closed'],
    );
    expect(lines.map((line) => line.replace(/\] .*\[/, '] ['))).toEqual([
      '[branch] [SITE-MAIN]',
      '[100 A] [SITE-LIMIT]',
      '[1] [SITE-LIMIT]',
      '[closed] [SITE-SYNC]',
    ]);
    expect(Object.keys(CODES)).toEqual(expect.arrayContaining(['SITE-MAIN', 'SITE-LIMIT', 'SITE-SYNC']));
  });
});
