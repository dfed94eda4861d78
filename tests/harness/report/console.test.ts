import { describe, expect, it } from 'vitest';
import { coloured, plain } from '../../../harness/report/colour.ts';
import { progressLine, renderConsole } from '../../../harness/report/console.ts';
import type { Entry, VariantOutcome } from '../../../harness/report/report.ts';
import {
  book,
  expected,
  fails,
  interlockNote,
  judged,
  noted,
  report,
  result,
  scenario,
  siteNote,
  threeRuns,
  unexercised,
} from './made.ts';

const at = (columns: number, quiet = false) => ({ columns, paint: plain, out: './out/', quiet });

const at80 = `scenario                  verdict        tightest rule  margin    time  digest
outage-neighbours         ✓ as expected  leg-voltage    +0.102  12.5 s  01234567
pv-left-on-at-a-          ✗ unlike       leg-voltage    -0.212  12.5 s  01234567
disconnection-by-hand
quiet-day                 ○ unexercised  no-backfeed    +0.500  12.5 s  01234567

✗ unlike: pv-left-on-at-a-disconnection-by-hand
  PV left on, unequal legs
  unexpected violation: leg-voltage is violated, against person; the file does
  not expect it
    rule     Each leg stays inside its band.
    found    160 V, limit 132 V: leg L2 at bus house, one-cycle rms
    margin   -0.212, divided by the limit
    clause   ANSI C84.1-2020, table 1, range B (seen only at a weak or partial
             source)
    against  person
    at       5.016667 s
    happened #1 0 µs gateway boots (site)
             #2 5 s main open (person)
             #3 5.012 s main parts L1 (person)
  trace     out/traces/b.csv
  replay    npx deadbus run scenarios/hand/pv-left-on-at-a-disconnection-by-hand.yaml --seed 1

○ unexercised: quiet-day
  required rule not exercised: reference-order should pass, but was not
  exercised: never armed
  trace     out/traces/c.csv
  replay    npx deadbus run scenarios/hand/quiet-day.yaml --seed 1

violations against: controller 0, person 2, equipment 0, utility 0, site 0
limits from memory, not seen at a source: leg-voltage
limits from a weak or partial source: leg-voltage
exercised by no scenario here: reference-order

3 scenarios: 1 as expected, 1 unlike expected, 1 not exercised; exit 1
`;

const tableAt60 = `✓ as expected
    outage-neighbours
    leg-voltage +0.102 · 12.5 s · 01234567
✗ unlike
    pv-left-on-at-a-disconnection-by-hand
    leg-voltage -0.212 · 12.5 s · 01234567
○ unexercised
    quiet-day
    no-backfeed +0.500 · 12.5 s · 01234567
`;

/** All but what is there to be copied. */
const widths = (text: string) =>
  text
    .split('\n')
    .filter((line) => !/^ {2}(replay|trace) /.test(line))
    .map((line) => [...line].length);

describe('renderConsole', () => {
  it('prints the whole report at 80 columns', () => expect(renderConsole(threeRuns, book, at(80))).toBe(at80));

  it('turns each row into a small block where 60 columns leave no room for the names', () => {
    const text = renderConsole(threeRuns, book, at(60));
    expect(text.slice(0, tableAt60.length)).toBe(tableAt60);
  });

  it.each([40, 60, 80, 120])('is no wider than %i columns', (columns) => {
    expect(Math.max(...widths(renderConsole(threeRuns, book, at(columns))))).toBeLessThanOrEqual(columns);
  });

  it('names the rules that warned, and tells notes where it explains', () => {
    const text = renderConsole(report([judged(noted)]), book, at(80));
    expect(text).toContain('\nwarnings of leg-voltage in: warm-evening\n');
    expect(text).toContain('\n    report   pv ceased after 115 ms (at 5 s)\n');
    expect(renderConsole(threeRuns, book, at(80))).not.toContain('warnings of');
  });

  it('shows twelve signs of the digest from 100 columns on, eight below', () => {
    expect(renderConsole(threeRuns, book, at(99)).split('\n')[1]).toMatch(/ 01234567$/);
    expect(renderConsole(threeRuns, book, at(100)).split('\n')[1]).toMatch(/ 0123456789ab$/);
  });

  it.each([
    ['out', 'out/traces/b.csv'],
    ['./deep/er//', 'deep/er/traces/b.csv'],
    ['.', 'traces/b.csv'],
    ['./', 'traces/b.csv'],
    ['/', '/traces/b.csv'],
    ['../my reports', "'../my reports/traces/b.csv'"],
  ])('names a trace in the folder %j as it can be pasted: %s', (out, path) => {
    const text = renderConsole(threeRuns, book, { ...at(40), out });
    expect(text).toContain(`\n  trace     ${path}\n`);
  });

  it('says which other variants are not as expected, without the one shown, eight by number', () => {
    const said = (unlike: readonly number[], shown: number) => {
      const variants = Array.from({ length: 12 }, (_, i): VariantOutcome => {
        const fine = { name: 'x', status: 'as expected', exit: 0, digest: '' } as const;
        return { ...fine, number: i + 1, ...(unlike.includes(i + 1) ? { status: 'unlike expected', exit: 1 } : {}) };
      });
      const of = result(scenario('s', { pass: ['reference-order'] }), [fails('reference-order', -1, 'site')], {
        variant: { number: shown, of: 12, name: 'x' },
      });
      const text = renderConsole(report([{ kind: 'judged', result: of, variants }]), book, at(120));
      return /^ {2}others +(.+)$/m.exec(text)?.[1];
    };
    expect(said([3], 3)).toBeUndefined();
    expect(said([3, 5], 3)).toBe('1 more of 12 variants is not as expected: 5');
    expect(said([1, 3, 5], 3)).toBe('2 more of 12 variants are not as expected: 1, 5');
    expect(said([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11], 2)).toBe(
      '10 more of 12 variants are not as expected: 1, 3, 4, 5, 6, 7, 8, 9 and 2 more',
    );
  });

  it('says the same in colour: taking the colour away gives the plain text', () => {
    const text = renderConsole(threeRuns, book, { columns: 80, paint: coloured, out: './out/', quiet: false });
    const mark = String.fromCharCode(27);
    expect(text).toContain(mark);
    expect(
      text
        .split(mark)
        .map((part, index) => (index === 0 ? part : part.replace(/^\[\d+m/, '')))
        .join(''),
    ).toBe(at80);
  });

  it('prints, when quiet, only what is not as expected, and the sums', () => {
    const text = renderConsole(report([judged(expected), judged(unexercised)]), book, at(80, true));
    expect(text.startsWith('○ unexercised: quiet-day\n')).toBe(true);
    expect(text.endsWith('\n2 scenarios: 1 as expected, 1 not exercised; exit 5\n')).toBe(true);
    expect(renderConsole(report([judged(expected)]), book, at(80, true))).toBe('1 scenario: 1 as expected; exit 0\n');
  });

  it('gives refused and crashed files a row and a count', () => {
    const entries: Entry[] = [
      { kind: 'refused', file: 'a.yaml', problems: ['p'] },
      { kind: 'crashed', file: 'b.yaml', message: 'm' },
    ];
    const text = renderConsole(report(entries), book, at(80));
    expect(text).toMatch(/^a\.yaml +! refused$/m);
    expect(text).toMatch(/^b\.yaml +! our fault$/m);
    expect(text).toContain('2 scenarios: 1 refused, 1 crashed; exit 3');
    expect(renderConsole(report(entries), book, at(80, true))).toContain('! refused  a.yaml');
  });

  it('says how many were not finished when interrupted', () => {
    const text = renderConsole(report([judged(expected)], { selected: 3, interrupted: true }), book, at(80));
    expect(text).toContain('3 scenarios: 1 as expected, 2 not finished: interrupted; exit 130');
    expect(renderConsole(report([], { selected: 3, interrupted: true }), book, at(80))).toContain(
      'no scenario was run',
    );
  });

  it('never shows a violation as +0.000 or -0.000', () => {
    const text = renderConsole(
      report([judged(result(scenario('s'), [fails('leg-voltage', -1e-9, 'site')]))]),
      book,
      at(80),
    );
    expect(text).toContain('-0.001');
  });

  it('says what is allowed at each site, once a site, in a quiet report as well', () => {
    const notes = { siteNotes: [interlockNote, siteNote] };
    const entries = ['dusk', 'dawn'].map((id) => judged(result(scenario(id), expected.verdicts, notes)));
    const said = `allowed at site house, and not to be forgotten:
  vehicle: interlock: none; only the gateway keeps it from forming on a closed
  relay
  busbar not said, and not judged
`;
    expect(renderConsole(report(entries), book, at(80))).toContain(`\n\n${said}\nviolations against:`);
    expect(renderConsole(report(entries), book, at(80, true))).toBe(`${said}\n2 scenarios: 2 as expected; exit 0\n`);
  });

  it('names the scenarios where a note does not hold of all at that site', () => {
    const entries = (noted: number) =>
      ['dusk', 'dawn', 'noon'].map((id, i) =>
        judged(result(scenario(id), expected.verdicts, { siteNotes: i < noted ? [siteNote] : [] })),
      );
    const said = (noted: number) => renderConsole(report(entries(noted)), book, at(80, true)).split('\n\n')[0];
    const head = 'allowed at site house, and not to be forgotten:\n  busbar not said, and not judged';
    expect(said(3)).toBe(head);
    expect(said(2)).toBe(`${head} (in dusk and 1 more)`);
    expect(said(1)).toBe(`${head} (in dusk)`);
    expect(said(0)).not.toContain('allowed at');
  });

  it('shows what the controller did, and that a rule has no clause on file', () => {
    const controllerFault = { kind: 'throws', at_us: 20_000, message: 'x is not a function' } as const;
    const of = result(scenario('s'), [fails('reference-order', -1, 'controller')], { controllerFault, happenings: [] });
    const text = renderConsole(report([judged(of)]), book, at(100));
    expect(text).toContain('controller fault: the controller throws at 20 ms: x is not a function');
    expect(text).toContain('clause   no clause on file (confirmed at a source)');
    expect(text).toContain('happened nothing yet');
    expect(text).toContain('trace     none');
  });
});

describe('progressLine', () => {
  it('counts what is done and names what runs, within the width', () => {
    expect(progressLine(2, 8, ['a', 'b'], 80)).toBe('2 of 8 done; running a, b');
    expect(progressLine(0, 8, [], 80)).toBe('0 of 8 done');
    expect([...progressLine(2, 8, ['a'.repeat(99)], 40)]).toHaveLength(39);
  });
});
