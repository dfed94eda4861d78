import { describe, expect, it } from 'vitest';
import { problemLine, problemReport } from '../../../harness/scenario/reader/problem.ts';
import { readScenarioText, type ScenarioTables } from '../../../harness/scenario/reader/read-scenario.ts';
import { writeScenario } from '../../../harness/scenario/reader/write-scenario.ts';
import { changed, SCENARIO, SITE, tables } from './sample.ts';

const FILE = 'scenarios/sun.yaml';

/** The problems of a scenario or its site as one line each, without the frames. */
const lines = (scenario: string | Uint8Array, site: string | Uint8Array = SITE) => {
  const read = readScenarioText(scenario, FILE, tables(site));
  return 'problems' in read ? read.problems.map(problemLine) : [];
};
const inScenario = (from: string, to: string) => lines(changed(SCENARIO, from, to));
const inSite = (from: string, to: string) => lines(SCENARIO, changed(SITE, from, to));

const scenarioOf = (text: string, given: ScenarioTables = tables()) => {
  const read = readScenarioText(text, FILE, given);
  if ('problems' in read) throw new Error(problemReport(read.problems));
  return read.scenario;
};

describe('readScenarioText on a sound file', () => {
  it('gives SI numbers, whole µs and ids for what has none', () => {
    const { seed, end_us, happenings, expect: expected, title } = scenarioOf(SCENARIO);
    expect({ seed, end_us, title }).toEqual({
      seed: 7,
      end_us: 20_000_000,
      title: 'Main opened by hand with PV left on, unequal legs',
    });
    expect(happenings).toEqual([
      { id: 'main-open', when: { at_us: 2_000_000 }, piece: 'main', does: 'open', using: {} },
      { id: 'back', when: { after: 'main-open', delay_us: 5_000_000 }, piece: 'main', does: 'close', using: {} },
      {
        id: 'utility-restore',
        when: { after: { channel: 'backup.u12', is: '<', value: 60, held_us: 20_000 }, delay_us: 0 },
        piece: 'utility',
        does: 'restore',
        using: { angle: 30 },
      },
    ]);
    expect(expected.fail).toEqual([{ rule: 'manual-order', because: 'PV was running' }]);
    expect(expected.statements).toEqual([
      { says: 'never', what: { channel: 'backup.u2', is: '>', value: 132, held_us: 0 }, from: { at_us: 2_000_000 } },
      {
        says: 'within',
        what: { channel: 'pv.energises', is: '=', value: 0, held_us: 0 },
        from: { after: 'main-open', delay_us: 0 },
        limit_us: 2_000_000,
      },
      { says: 'at the end', what: { channel: 'panel.supply', is: '=', value: 'utility', held_us: 0 } },
    ]);
  });

  it('fills defaults and keeps the source of each, but none for what the site or the override gives', () => {
    const { site, start } = scenarioOf(SCENARIO);
    const piece = (id: string) => site.pieces.find((each) => each.id === id);
    expect(piece('pv')).toMatchObject({ params: { rated: 5000, droop: 0.07 }, sources: { droop: 'assumed' } });
    expect(piece('drop')).toMatchObject({
      at: ['service', 'meter'],
      legs: ['L1', 'L2', 'N'],
      params: { length: 30.48 },
      sources: {},
    });
    expect(site.settings).toEqual({ transition: 'open', syncCheck: false, handOpening: 'isolation' });
    expect(start).toEqual({ 'main.closed': true, 'pv.irradiance': 0.7, 'ev.stateOfCharge': 60, 'kitchen.power': 1200 });
  });

  it('numbers the ids of the same thing done twice', () => {
    const text = changed(SCENARIO, 'id: back, after: main-open, delay: 5 s, do: main close', 'at: 3 s, do: main open');
    expect(scenarioOf(text).happenings.map(({ id }) => id)).toEqual(['main-open', 'main-open-2', 'utility-restore']);
  });

  it('lets scenarios act on the gateway, which is no piece of the site', () => {
    const text = changed(SCENARIO, 'do: main close', 'do: gateway request, using: { what: form }');
    expect(scenarioOf(text).happenings[1]).toMatchObject({
      piece: 'gateway',
      does: 'request',
      using: { what: 'form' },
    });
  });

  it('takes the site inline, with aliases and Windows line ends', () => {
    const inline = SITE.trimEnd().replaceAll('\n', '\n  ');
    const text = changed(SCENARIO, 'site: sites/maple.yaml', `site:\n  ${inline}`);
    const whole = scenarioOf(SCENARIO);
    expect(scenarioOf(text)).toEqual(whole);
    expect(scenarioOf(text.replaceAll('\n', '\r\n'))).toEqual(whole);
    const aliased = changed(changed(SCENARIO, 'delay: 5 s', 'delay: &wait 5 s'), 'delay: 0 s', 'delay: *wait');
    expect(scenarioOf(aliased).happenings[2]?.when).toMatchObject({ delay_us: 5_000_000 });
  });

  it('reads values to vary, by piece, starting state and setting', () => {
    const text = `${SCENARIO}vary: { relay.openTravel: [5 ms, 8.5 ms], pv.irradiance: [0.2], settings.handOpening: [isolation, outage] }\n`;
    expect(scenarioOf(text).vary).toEqual({
      'relay.openTravel': [5000, 8500],
      'pv.irradiance': [0.2],
      'settings.handOpening': ['isolation', 'outage'],
    });
  });

  it('is written and read again to the same scenario', () => {
    const text = `${SCENARIO}vary: { relay.openTravel: [5 ms, 8.5 ms] }\n`;
    const scenario = scenarioOf(text);
    expect(scenarioOf(writeScenario(scenario, tables()))).toEqual(scenario);
  });
});

describe('readScenarioText on a slip', () => {
  it.each<[string, string, string, string]>([
    [
      'an unknown key',
      'end: 20 s',
      'ennd: 20 s',
      ':10:1: found unknown key "ennd"; expected scenario, title, tags, site, override, seed, start, end, happenings, waveforms, vary or expect. Did you mean "end"? [SCN-KEY]',
    ],
    ['a missing key', 'end: 20 s\n', '', ':2:1: found no "end"; expected it to be given. Add "end: …". [SCN-MISSING]'],
    [
      'a missing unit',
      'end: 20 s',
      'end: 20',
      ':10:6 end: found 20 with no unit; expected µs, ms, s, min or h. Write "20 s". [SCN-UNIT]',
    ],
    [
      'a wrong unit',
      'value: 60 V',
      'value: 60 Hz',
      ':14:53 happenings[2].after.value: found "60 Hz"; expected mV, V or kV. [SCN-UNIT]',
    ],
    [
      'a time before the start',
      'at: 2 s',
      'at: -2 s',
      ':12:11 happenings[0].at: found "-2 s", a time before the start; expected 0 s or later. Write "2 s", or shift everything else. [SCN-TIME]',
    ],
    [
      'a time after the end',
      'at: 2 s',
      'at: 21 s',
      ':12:11 happenings[0].at: found "21 s"; expected a time not after the end, 20 s. Move "end" or this. [SCN-TIME]',
    ],
    [
      'a chain past the end',
      'delay: 5 s',
      'delay: 50 s',
      ':13:42 happenings[1].delay: found back at 52 s; expected a time not after the end, 20 s. Move "end" or this. [SCN-TIME]',
    ],
    [
      'a part of a microsecond',
      'held: 20 ms',
      'held: 0.0005 ms',
      ':14:65 happenings[2].after.held: found "0.0005 ms"; expected a whole number of microseconds. Write "1 µs". [SCN-TIME]',
    ],
    [
      'an end at the start',
      'end: 20 s',
      'end: 0 s',
      ':10:6 end: found "0 s"; expected a time after the start. [SCN-TIME]',
    ],
    [
      'an unknown piece',
      'do: main open',
      'do: mian open',
      ':12:20 happenings[0].do: found unknown piece "mian"; expected utility, drop, main, relay, earth, pv, ev, kitchen, heater or gateway. Did you mean "main"? [SCN-REF]',
    ],
    [
      'what is not done to a piece',
      'do: main open',
      'do: main opn',
      ':12:25 happenings[0].do: found "opn", which is not done to a breaker; expected open or close. Did you mean "open"? [SCN-REF]',
    ],
    [
      'words turned round',
      'do: main open',
      'do: open main',
      ':12:20 happenings[0].do: found unknown piece "open"; expected the piece first, then what is done. Did you mean "main open"? [SCN-REF]',
    ],
    [
      'several words turned round, with a slip',
      'do: main open',
      'do: swich off pv',
      ':12:20 happenings[0].do: found unknown piece "swich"; expected the piece first, then what is done. Did you mean "pv switch off"? [SCN-REF]',
    ],
    [
      'waveforms, which are not there',
      'waveforms: none',
      'waveforms: always',
      ':15:12 waveforms: found "always", and waveforms are not there yet; expected none. Write "waveforms: none", or leave it out. [SCN-VALUE]',
    ],
    [
      'a statement in a word of another tongue',
      'never: {',
      'always: {',
      ':21:9 expect.statements[0]: found unknown key "always"; expected within, until, never or at the end. Did you mean "until" or "never"? [SCN-KEY]',
    ],
    [
      'a mistyped statement',
      'within: 2 s',
      'witin: 2 s',
      ':22:9 expect.statements[1]: found unknown key "witin"; expected within, until, never or at the end. Did you mean "within"? [SCN-KEY]',
    ],
    [
      'an unknown happening',
      'after: main-open',
      'after: mian-open',
      ':13:24 happenings[1].after: found unknown happening "mian-open"; expected main-open, back or utility-restore. Did you mean "main-open"? [SCN-REF]',
    ],
    [
      'an unknown rule',
      '[no-backfeed]',
      '[no-backfed]',
      ':17:10 expect.pass[0]: found "no-backfed"; expected no-backfeed, dead-bus-form, sync-close, reference-order, manual-order, leg-voltage or cease-on-island. Did you mean "no-backfeed"? [SCN-REF]',
    ],
    [
      'a rule that must pass and fail',
      '[no-backfeed]',
      '[manual-order]',
      ':19:15 expect.fail[0].rule: found rule "manual-order" a second time; expected each rule once under pass or fail. [SCN-TWICE]',
    ],
    [
      'an unknown owner of a channel',
      'backup.u2',
      'backpu.u2',
      ':21:27 expect.statements[0].never.channel: found a channel of "backpu"; expected one of service, meter, panel, backup, utility, drop, main, relay, earth, pv, ev, kitchen, heater or gateway. Did you mean "backup"? [SCN-REF]',
    ],
    [
      'an unknown state',
      'value: utility',
      'value: utilty',
      ':23:62 expect.statements[2].at the end.value: found "utilty"; expected dead, utility, formed, unformed or decaying. Did you mean "utility"? [SCN-VALUE]',
    ],
    [
      'states that are compared by size',
      "is: '=', value: utility",
      "is: '>', value: utility",
      ':23:50 expect.statements[2].at the end.is: found ">" between states; expected "=". Write is: \'=\'. [SCN-VALUE]',
    ],
    [
      'an unknown piece in the override',
      'pv: { rated',
      'vp: { rated',
      ':7:3 override: found unknown piece "vp"; expected utility, drop, main, relay, earth, pv, ev, kitchen, heater or settings. Did you mean "pv"? [SCN-REF]',
    ],
    [
      'an unknown name in the start',
      'pv.irradiance',
      'pv.iradiance',
      ':9:10 start: found unknown name "pv.iradiance"; expected pv.irradiance. Did you mean "pv.irradiance"? [SCN-REF]',
    ],
    [
      'a start out of its range',
      '0.7',
      '1.7',
      ':9:25 start.pv.irradiance: found "1.7"; expected 0 to 1.5. [SCN-RANGE]',
    ],
    [
      'a missing argument',
      'do: main open',
      'do: relay weld',
      ':12:20 happenings[0].using: found no "leg"; expected L1 or L2. Add "leg: L1". [SCN-MISSING]',
    ],
    [
      'an argument out of its range',
      'angle: 30 deg',
      'angle: 300 deg',
      ':14:123 happenings[2].using.angle: found "300 deg"; expected -180 deg to 180 deg. [SCN-RANGE]',
    ],
    [
      'a key given twice',
      'seed: 7',
      'seed: 7\nseed: 8',
      ':9:1: found "seed" a second time; expected each key once. It stands on line 8 already. [SCN-TWICE]',
    ],
    [
      'an id given twice',
      'at: 2 s',
      'id: back, at: 2 s',
      ':13:11 happenings[1].id: found id "back" a second time; expected each id once. [SCN-TWICE]',
    ],
    [
      'a sum of two statements',
      '- { at the end:',
      "- { never: { channel: pv.p, is: '>', value: 0 W }, at the end:",
      ':23:7 expect.statements[2]: found both "never" and "at the end"; expected one of within, until, never and at the end. [SCN-VALUE]',
    ],
    ['a seed with a fraction', 'seed: 7', 'seed: 7.5', ':8:7 seed: found "7.5"; expected a whole number. [SCN-VALUE]'],
    [
      'a second document',
      'end: 20 s',
      'end: 20 s\n---\nend: 21 s',
      ':11:1: found a second document; expected one document a file. Put what follows "---" into a file of its own. [SCN-YAML]',
    ],
    [
      'a tab',
      '  pv: { rated',
      '\tpv: { rated',
      ':7:1: found a tab as indentation; expected spaces. Put two spaces in its place. [SCN-YAML]',
    ],
  ])('tells of %s', (_, from, to, expected) => {
    expect(inScenario(from, to)).toContain(`${FILE}${expected}`);
  });

  it('tells of one slip once: what follows from it is not reported as well', () => {
    expect(inScenario('end: 20 s', 'ennd: 20 s')).toHaveLength(1);
    expect(inScenario('do: main open', 'do: mian open')).toHaveLength(1);
    expect(inScenario('do: main open', 'do: open main')).toHaveLength(1);
    expect(inScenario('never: {', 'always: {')).toHaveLength(1);
    expect(inScenario('within: 2 s', 'witin: 2 s')).toHaveLength(1);
    expect(inSite('rated: 7.6', 'ratd: 7.6')).toHaveLength(1);
    expect(inSite('kind: bond', 'kind: bnod')).toHaveLength(1);
  });

  it('tells of happenings that wait for each other, each circle once', () => {
    const text = changed(SCENARIO, '{ at: 2 s, do: main open }', '{ id: first, after: back, do: main open }').replace(
      'after: main-open',
      'after: first',
    );
    expect(lines(text).filter((line) => line.includes('SCN-CYCLE'))).toEqual([
      `${FILE}:12:25 happenings[0].after: found first after back after first; expected a first one with a time or a condition. Write "at: …" for one of them. [SCN-CYCLE]`,
    ]);
  });

  it('tells of all problems at once, in the order of the file, those of the site file last', () => {
    const text = changed(changed(SCENARIO, 'seed: 7', 'seed: -7'), 'end: 20 s', 'end: 20');
    const found = lines(text, changed(SITE, '25 kVA', '25')).map((line) => line.split(' ')[0]);
    expect(found).toEqual([`${FILE}:8:7`, `${FILE}:10:6`, 'scenarios/sites/maple.yaml:4:50']);
  });

  it('shows the line with a caret under what is wrong', () => {
    const read = readScenarioText(changed(SCENARIO, 'end: 20 s', 'end: 20 parsec'), FILE, tables());
    expect('problems' in read ? problemReport(read.problems) : '').toBe(
      `${FILE}:10:6 end: found "20 parsec"; expected µs, ms, s, min or h. [SCN-UNIT]\n  10 | end: 20 parsec\n     |      ^^^^^^^^^\n`,
    );
  });

  it('says once that a site was given for a scenario, and a scenario for a site', () => {
    const said = (text: string, site: string) => {
      const read = readScenarioText(text, FILE, tables(site));
      return 'problems' in read ? read.problems.map(problemLine) : [];
    };
    const name = FILE.split('/').at(-1);
    expect(said(SITE, SITE)).toEqual([
      `${FILE}:1:1: found a site; expected a scenario. Run a scenario that says "site: ${name}". [SCN-KIND]`,
    ]);
    expect(said(SCENARIO, SCENARIO)).toEqual([
      'scenarios/sites/maple.yaml:2:1: found a scenario; expected a site. Name a file that has buses and pieces. [SCN-KIND]',
    ]);
  });

  it('tells of a site file that cannot be read', () => {
    const loadSite = () => {
      throw new Error("ENOENT: no such file or directory, open '/somewhere'");
    };
    const read = readScenarioText(SCENARIO, FILE, { ...tables(), loadSite });
    expect('problems' in read ? read.problems.map(problemLine) : []).toEqual([
      `${FILE}:5:7 site: found "sites/maple.yaml", which cannot be read (ENOENT: no such file or directory); expected the path of a site file as seen from this file. [SCN-SITE]`,
    ]);
  });
});

describe('readScenarioText on a site that must not run', () => {
  const at = (place: string) => `scenarios/sites/maple.yaml:${place}`;

  it.each<[string, string, string, string]>([
    [
      'a missing unit, by the unit of the default',
      '8.5 ms',
      '8.5',
      at('7:58 relay.openTravel: found 8.5 with no unit; expected µs, ms or s. Write "8.5 ms". [SCN-UNIT]'),
    ],
    [
      'a negative rating',
      '7.6 kW',
      '-7.6 kW',
      at('9:38 pv.rated: found "-7.6 kW"; expected 1 W or more. Write "7.6 kW". [SCN-RANGE]'),
    ],
    [
      'a breaker of 0 A',
      '200 A',
      '0 A',
      at(
        '6:54 main.rating: found a breaker of 0 A; expected a rating above 0 A. Write the rating that is printed on it. [SITE-RATING]',
      ),
    ],
    [
      'a loop',
      '  earth:',
      '  bypass: { kind: conductor, at: [meter, panel] }\n  earth:',
      at(
        '8:34 bypass.at: found a loop on L1: main, bypass; expected a radial network, one way to each bus. Take one of these pieces out. [SITE-LOOP]',
      ),
    ],
    [
      'a device on no bus',
      'at: backup, rated',
      'rated',
      at('9:3 pv.at: found pv on no bus; expected one bus. Write "at: <bus>". [SITE-BUS]'),
    ],
    [
      'a device on an unknown bus',
      'at: backup, rated',
      'at: bakcup, rated',
      at(
        '9:23 pv.at: found unknown bus "bakcup"; expected service, meter, panel or backup. Did you mean "backup"? [SITE-BUS]',
      ),
    ],
    [
      'an unknown kind',
      'kind: bond',
      'kind: bnod',
      at(
        '8:18 earth.kind: found "bnod"; expected utility, conductor, breaker, relay, bond, pv, vehicle, load or former. Did you mean "bond"? [SCN-VALUE]',
      ),
    ],
    [
      'conductors that the kind has not',
      'legs: [L1, L2] }\n  relay',
      'legs: [L1, L3] }\n  relay',
      at('6:67 main.legs: found [L1, L3]; expected [L1, L2] or [L1, L2, N] or [L1] or [L2]. [SCN-VALUE]'),
    ],
    [
      'a piece named like a bus',
      'kitchen: {',
      'panel: {',
      at(
        '11:3 panel: found piece "panel" named like a bus; expected an id of its own. Channels are named after both. [SCN-TWICE]',
      ),
    ],
    [
      'a reserved id',
      'kitchen: {',
      'gateway: {',
      at('11:3 pieces: found the reserved id "gateway"; expected an id of your own. [SCN-VALUE]'),
    ],
    [
      'an id with a capital letter',
      'kitchen: {',
      'Kitchen Oven: {',
      at(
        '11:3 pieces: found "Kitchen Oven"; expected an id of small letters, digits and hyphens that begins with a letter. Write "kitchen-oven". [SCN-VALUE]',
      ),
    ],
  ])('tells of %s', (_, from, to, expected) => {
    expect(inSite(from, to)).toContain(expected);
  });

  it('shows a fault of the site at the override that brings it about', () => {
    expect(inScenario('pv: { rated: 5 kW }', 'settings: { transition: closed }')).toEqual([
      `${FILE}:7:27 override.settings.transition: found a closed transition without a sync check; expected transition: open, or syncCheck: yes. Write "transition: open". [SITE-SYNC]`,
    ]);
  });
});
