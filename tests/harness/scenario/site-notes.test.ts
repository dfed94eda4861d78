import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { CODES, problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readSiteText } from '../../../harness/scenario/reader/read-site.ts';
import { NOTES, notesOfSite } from '../../../harness/scenario/site-notes.ts';
import { play, scenarioText, TABLES } from '../../helpers/sites.ts';
import { changed } from './sample.ts';

const JUNIPER = readFileSync('scenarios/sites/juniper-lane.yaml', 'utf8');
const MILL = readFileSync('scenarios/sites/mill-cottage.yaml', 'utf8');

type Change = readonly [from: string, to: string];

/** `CODE pieces: text` of each note of a site that the reader takes. */
function notes(text: string, ...changes: readonly Change[]): readonly string[] {
  const site = changes.reduce((each, [from, to]) => changed(each, from, to), text);
  const read = readSiteText(site, 's.yaml', TABLES);
  if ('problems' in read) throw new Error(problemReport(read.problems));
  return notesOfSite(read.site, TABLES.kinds).map(
    ({ code, pieces, text: said }) => `${code} ${pieces.join(', ')}: ${said}`,
  );
}
const SURPLUS =
  'NOTE-SURPLUS pv: with a full battery 61.1 Hz leaves 3.227 kW of PV, and vehicle bears 1 kW: load must take the rest, or an order end it';
/** Notes that a change brings about at juniper-lane, and that it takes away with a minus. */
function brought(...changes: readonly Change[]): readonly string[] {
  const [before, after] = [notes(JUNIPER), notes(JUNIPER, ...changes)];
  const gone = before.filter((note) => !after.includes(note)).map((note) => `- ${note}`);
  return [...gone, ...after.filter((note) => !before.includes(note))];
}

describe('notesOfSite', () => {
  it('says of the built-in sites what a full battery does to PV in the island, and nothing else', () => {
    // 1 - (1.1 - 0.036)/(60 * 0.05) = 0.6453 of 5 kW.
    expect(notes(JUNIPER)).toEqual([SURPLUS]);
    expect(notes(MILL)).toEqual([]);
  });

  it('says that there is no interlock, and nothing of one that is there', () => {
    expect(brought(['interlock: relay', 'interlock: none'])).toEqual([
      'NOTE-INTERLOCK vehicle: interlock: none; only the gateway keeps it from forming on a closed relay',
    ]);
    expect(brought(['interlock: relay, ', ''])).toHaveLength(1);
  });

  it('says that the position of the main is unknown, and that a hand does not keep the house dark', () => {
    const outage: Change = ['handOpening: isolation', 'handOpening: outage'];
    const sign =
      'NOTE-HAND main: handOpening: outage; the house comes alive again after a hand has opened the main, and a sign there must say so';
    expect(brought(outage)).toEqual([sign]);
    expect(brought(outage, ['role: main', 'role: main, aux: no'])).toEqual([
      'NOTE-MAIN main: main position unknown: no auxiliary contact, so that the gateway takes an opening for an outage',
      sign,
    ]);
    const waits: Change = ['handOpening: isolation', 'handOpening: isolation, formWhenHandOpenedUnknown: no'];
    expect(brought(waits, ['role: main', 'role: main, aux: no'])).toEqual([
      'NOTE-MAIN main: main position unknown: no auxiliary contact, so that the house stays dark in every outage until a person asks',
    ]);
  });

  it('says of PV ahead of the main, without a method, of an older edition and without a permit', () => {
    expect(brought(['pv, at: roof', 'pv, at: meter'])).toEqual([
      `- ${SURPLUS}`,
      'NOTE-PV pv: ahead of the main: no opening in the house parts it from the street',
    ]);
    expect(brought(['pv, at: roof', 'pv, at: panel'])).toEqual([`- ${SURPLUS}`]);
    expect(brought(['detection: SFS', 'detection: none'])).toEqual([
      'NOTE-PV pv: detection: none; only its limits of voltage and frequency end an island',
    ]);
    // At 60.5 Hz the older inverter trips, so that it brings nothing at 61.1 Hz.
    expect(brought(['category: II', 'category: "2014"'])).toEqual([
      `- ${SURPLUS}`,
      'NOTE-PV pv: category of an older edition: it does not ride through',
    ]);
    expect(brought(['rated: 5 kW', 'rated: 1 kW, permitWired: no'])).toEqual([
      `- ${SURPLUS}`,
      'NOTE-PV pv: permitWired: no; the gateway cannot take it off',
    ]);
  });

  it('says of PV above what the vehicle takes; exactly as much needs no word of it', () => {
    const small = (breaker_A: number): Change[] => [
      ['supplyBreaker: 50 A', `supplyBreaker: ${breaker_A} A`],
      ['rated: 5 kW', 'rated: 4.8 kW'],
    ];
    const of = (code: string, found: readonly string[]) => found.filter((note) => note.includes(code));
    expect(of('which takes', brought(...small(25)))).toEqual([]);
    expect(of('which takes', brought(...small(24)))).toEqual([
      'NOTE-SURPLUS pv: 4.8 kW of PV in the island of vehicle, which takes 4.608 kW at most',
    ]);
  });

  it('says what holds a vehicle below its own rating: breaker or cable', () => {
    expect(brought(['supplyBreaker: 50 A', 'supplyBreaker: 45 A'])).toEqual([
      'NOTE-LIMIT vehicle: rated 40 A, held to 36 A by its supply breaker of 45 A',
    ]);
    expect(brought(['supplyBreaker: 50 A', 'supplyBreaker: 50 A, cable: 32 A'])).toEqual([
      'NOTE-LIMIT vehicle: rated 40 A, held to 32 A by its cable of 32 A',
    ]);
    expect(brought(['supplyBreaker: 50 A', 'supplyBreaker: 50 A, cable: 40 A'])).toEqual([]);
  });

  it('says which of several relays the gateway reads', () => {
    expect(
      brought(
        ['roof: premises', 'roof: premises, shed: premises'],
        ['settings:', '  other: { kind: relay, at: [panel, shed] }\nsettings:'],
      ),
    ).toEqual(['NOTE-TAPS relay, other: 2 of kind relay: the gateway reads relay alone']);
  });

  it('says what the file leaves out of an inverter and of the busbar', () => {
    expect(brought([', leads: 2', ''], [', detection: SFS', ''], [', busbar: 200 A', ''])).toEqual([
      'NOTE-UNSAID pv: leads, detection not said; taken as 2, SFS',
      'NOTE-UNSAID main: busbar not said, and not judged',
    ]);
  });

  it('has a sentence for each code, and tells nothing of a site without a utility', () => {
    for (const about of Object.values(NOTES)) expect(about).toMatch(/\.$/);
    expect(notesOfSite({ schema: 1, id: 'bare', buses: [], pieces: [], settings: {} }, TABLES.kinds)).toEqual([]);
  });
});

describe('docs/sites.md', () => {
  it('names each code of a refused site and of a note, and none that is not there', () => {
    const page = readFileSync('docs/sites.md', 'utf8');
    const named = new Set([...page.matchAll(/`((?:SITE|NOTE)-[A-Z]+)`/g)].map(([, code]) => code));
    const codes = [...Object.keys(CODES).filter((code) => code.startsWith('SITE-')), ...Object.keys(NOTES)];
    expect([...named].sort()).toEqual(codes.sort());
  });
});

describe('runScenario', () => {
  it('hands on the notes of its site, those of an override as well', () => {
    const scenario = scenarioText(
      'scenario: short\ntitle: Nothing\nsite: juniper-lane.yaml\noverride:\n  vehicle: { interlock: none }\nend: 1 s\n',
    );
    expect(play(scenario).siteNotes.map(({ code }) => code)).toEqual(['NOTE-INTERLOCK', 'NOTE-SURPLUS']);
  });
});
