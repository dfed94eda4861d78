import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { z } from 'zod';
import { scenarioSchema, siteSchema } from '../../../harness/scenario/reader/json-schema.ts';
import { readScenarioText } from '../../../harness/scenario/reader/read-scenario.ts';
import { readSiteText } from '../../../harness/scenario/reader/read-site.ts';
import { changed, RULES, SCENARIO, SITE, tables } from './sample.ts';

/** Another reader of JSON Schema than ours: what an editor would say. */
const validator = (schema: object) => z.fromJSONSchema(JSON.parse(JSON.stringify(schema)));
const siteValidator = validator(siteSchema(tables()));
const scenarioValidator = validator(scenarioSchema(tables(), RULES));

const editorTakesSite = (text: string) => siteValidator.safeParse(parse(text)).success;
const editorTakesScenario = (text: string) => scenarioValidator.safeParse(parse(text)).success;
const weTakeSite = (text: string) => 'site' in readSiteText(text, 's.yaml', tables());
const weTakeScenario = (text: string) => 'scenario' in readScenarioText(text, 'f.yaml', tables());

/** Every key of a text in block or flow style, each turned into one that does not exist. */
function mistyped(text: string): readonly string[] {
  const keys = [...text.matchAll(/(?<=^|[{,] ?|^ +(?:- )?)([a-zA-Z]+)(?=: )/gm)];
  return keys.map((key) => `${text.slice(0, key.index)}x${key[0]}x${text.slice(key.index + key[0].length)}`);
}

describe('siteSchema', () => {
  it('takes the sample, as the reader does', () => {
    expect([editorTakesSite(SITE), weTakeSite(SITE)]).toEqual([true, true]);
  });

  it.each([
    ['kind: bond', 'kind: bnod'],
    ['8.5 ms', '8.5'],
    ['8.5 ms', '8.5 V'],
    ['25 kVA', '25 kW'],
    ['neutral: yes', 'neutral: perhaps'],
    ['transition: open', 'transition: ajar'],
    ['backup: premises', 'backup: mine'],
    ['at: [meter, panel], rating', 'at: meter, rating'],
    [', rated: 7.6 kW', ''],
    ['kind: pv, ', ''],
    ['site: maple-street-4\n', ''],
  ])('refuses what the reader refuses: %s as %s', (from, to) => {
    const text = changed(SITE, from, to);
    expect([editorTakesSite(text), weTakeSite(text)]).toEqual([false, false]);
  });

  it('takes every unit that the reader takes, and every spelling of a yes', () => {
    for (const travel of ['8500 µs', '8500 us', '8500 \u03bcs', '8.5ms', '0.0085 s', '1e1 ms']) {
      const text = changed(SITE, '8.5 ms', travel);
      expect([travel, editorTakesSite(text), weTakeSite(text)]).toEqual([travel, true, true]);
    }
    for (const word of ['yes', 'true', '"yes"']) {
      const text = changed(SITE, 'neutral: yes', `neutral: ${word}`);
      expect([word, editorTakesSite(text), weTakeSite(text)]).toEqual([word, true, true]);
    }
  });

  it('says of each parameter what it is, in which units, and where its default comes from', () => {
    expect(JSON.stringify(siteSchema(tables()))).toContain(
      'About openTravel. a number in µs, ms or s. Default 8.5 ms (assumed).',
    );
  });
});

describe('scenarioSchema', () => {
  it('takes the sample with the site in its own file and inline, as the reader does', () => {
    const inline = changed(SCENARIO, 'site: sites/maple.yaml', `site:\n  ${SITE.trimEnd().replaceAll('\n', '\n  ')}`);
    expect([editorTakesScenario(SCENARIO), weTakeScenario(SCENARIO)]).toEqual([true, true]);
    expect([editorTakesScenario(inline), weTakeScenario(inline)]).toEqual([true, true]);
  });

  it.each([
    ['end: 20 s', 'end: 20'],
    ['end: 20 s\n', ''],
    ['seed: 7', 'seed: 7.5'],
    ['seed: 7', 'seed: seven'],
    ['[no-backfeed]', '[no-backfed]'],
    ['do: main open', 'do: main'],
    ['do: main open', 'do: main explode'],
    ["is: '<'", "is: '<='"],
    ['waveforms: none', 'waveforms: some'],
    ['waveforms: none', 'waveforms: always'],
    ['waveforms: none', 'waveforms: around happenings'],
    ['within: 2 s', 'within: 2'],
    ['rule: manual-order, because: PV was running', 'rule: manual-order'],
  ])('refuses what the reader refuses: %s as %s', (from, to) => {
    const text = changed(SCENARIO, from, to);
    expect([editorTakesScenario(text), weTakeScenario(text)]).toEqual([false, false]);
  });
});

describe('both schemas', () => {
  it('refuse every mistyped key, as the reader does', () => {
    const scenarios = mistyped(SCENARIO);
    const sites = mistyped(SITE).filter(
      (text) => !/\bx(utility|drop|main|relay|earth|pv|ev|kitchen|heater|service|meter|panel|backup)x:/.test(text),
    );
    expect(scenarios.length).toBeGreaterThan(40);
    expect(sites.length).toBeGreaterThan(30);
    // Keys that are free by the schema: ids of pieces in an override.
    const free = /\bxpvx: \{ rated/;
    for (const text of scenarios.filter((each) => !free.test(each)))
      expect([text, editorTakesScenario(text), weTakeScenario(text)]).toEqual([text, false, false]);
    for (const text of sites) expect([text, editorTakesSite(text), weTakeSite(text)]).toEqual([text, false, false]);
  });
});
