import { spawnSync } from 'node:child_process';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { renderJunit } from '../../../harness/report/junit.ts';
import { document, element } from '../../../harness/report/xml.ts';
import {
  book,
  expected,
  fails,
  idle,
  interlockNote,
  judged,
  noted,
  passes,
  report,
  result,
  scenario,
  siteNote,
  threeRuns,
  violated,
} from './made.ts';
import { type Node, nodesOf, readXml } from './xml-reader.ts';

const cases = (...of: Parameters<typeof result>[]): Node[] =>
  nodesOf(readXml(renderJunit(report(of.map((each) => judged(result(...each)))), book)), 'testcase');
const outcomeOf = (node: Node | undefined) => node?.children.find((child) => child.name !== 'properties');
const named = (nodes: Node[], name: string) => nodes.find(({ attributes }) => attributes['name'] === name);

/** Everything that could break a document, in a title that a file may well hold. */
const hostile = 'a<b>&amp;"\'\u0000\u0008\u001b]]>\ud800 \ufffe \r\n\té😀';

describe('renderJunit', () => {
  it('gives each folder a suite, each scenario a class, each rule a case, and the run one more', () => {
    const root = readXml(renderJunit(threeRuns, book));
    expect(root.attributes).toEqual({
      name: 'deadbus',
      tests: '12',
      failures: '1',
      errors: '0',
      skipped: '4',
      time: '37.500000',
    });
    expect(nodesOf(root, 'testsuite').map(({ attributes }) => attributes['name'])).toEqual(['scenarios/hand']);
    const names = nodesOf(root, 'testcase').map(({ attributes }) => `${attributes['classname']} ${attributes['name']}`);
    expect(names.slice(0, 4)).toEqual(
      ['run', 'no-backfeed', 'leg-voltage', 'reference-order'].map((name) => `outage-neighbours ${name}`),
    );
    expect(new Set(names).size).toBe(12);
  });

  it('carries margin, clause, seed, digest and replay as properties', () => {
    const node = named(nodesOf(readXml(renderJunit(report([judged(expected)]), book)), 'testcase'), 'no-backfeed')!;
    const properties = Object.fromEntries(
      nodesOf(node, 'property').map(({ attributes }) => [attributes['name'], attributes['value']]),
    );
    expect(properties).toEqual({
      margin: '+0.410',
      grade: 'confirmed',
      found: '118.5 V, limit 132 V: leg L2 at bus house, one-cycle rms',
      clause: 'IEEE 1547-2018, clause 8.1.1 (confirmed at a source)',
      seed: '1',
      digest: expected.digests.run,
      replay: 'npx deadbus run scenarios/hand/outage-neighbours.yaml --seed 1',
    });
  });

  it('carries the notes of the site as properties of the run', () => {
    const all = cases([scenario('dusk'), [passes('no-backfeed', 1)], { siteNotes: [interlockNote, siteNote] }]);
    const notesIn = (name: string) =>
      nodesOf(named(all, name)!, 'property')
        .map(({ attributes }) => [attributes['name'], attributes['value']])
        .filter(([key]) => key!.startsWith('site note'));
    expect(notesIn('run')).toEqual([
      ['site note 1', `vehicle: ${interlockNote.text}`],
      ['site note 2', siteNote.text],
    ]);
    expect(notesIn('no-backfeed')).toEqual([]);
  });

  it('carries what a rule notes as properties, and in the text of a failure', () => {
    const nodes = nodesOf(readXml(renderJunit(report([judged(noted)]), book)), 'testcase');
    const notes = (name: string) =>
      nodesOf(named(nodes, name)!, 'property').filter(({ attributes }) => /warning|report/.test(attributes['name']!));
    expect(notes('leg-voltage').map(({ attributes }) => attributes)).toEqual([
      { name: 'warning', value: 'leg L1 at 109 V (at 61 s)' },
    ]);
    expect(notes('reference-order').map(({ attributes }) => attributes)).toEqual([
      { name: 'report', value: 'pv ceased after 115 ms (at 5 s)' },
    ]);
    expect(outcomeOf(named(nodes, 'reference-order'))?.text).toContain('report: pv ceased after 115 ms (at 5 s)');
  });

  it('shows all five whom violations are held against', () => {
    const suite = nodesOf(readXml(renderJunit(report([judged(violated)]), book)), 'testsuite')[0]!;
    const against = nodesOf(suite.children[0]!, 'property').filter(({ attributes }) =>
      attributes['name']!.startsWith('violations'),
    );
    expect(against.map(({ attributes }) => attributes['value'])).toEqual(['0', '2', '0', '0', '0']);
  });

  it('fails a violation that is not expected and one that does not come; passes one that comes as expected', () => {
    const of = scenario('s', { fail: ['a', 'b'].map((rule) => ({ rule, because: 'x' })) });
    const nodes = cases([of, [fails('a', -1, 'site'), passes('b', 0), fails('c', -1, 'controller')]]);
    expect(outcomeOf(named(nodes, 'a'))).toBeUndefined();
    expect(outcomeOf(named(nodes, 'b'))).toMatchObject({
      name: 'failure',
      attributes: { type: 'expected violation missing' },
    });
    expect(outcomeOf(named(nodes, 'c'))).toMatchObject({
      name: 'failure',
      attributes: { type: 'unexpected violation' },
    });
    expect(outcomeOf(named(nodes, 'c'))?.text).toContain('happened: #3 5.012 s main parts L1');
  });

  it('skips what was not exercised, with the reason, and says where the file requires it', () => {
    const nodes = cases([scenario('s', { pass: ['a', 'gone'] }), [idle('a', 'unresolved'), idle('b')]]);
    const messages = ['a', 'b', 'gone'].map((name) => outcomeOf(named(nodes, name))?.attributes['message']);
    expect(messages).toEqual([
      'not exercised: unresolved, though the file requires it',
      'not exercised: never armed',
      'gone should pass, but was not exercised: no such rule was judged',
    ]);
  });

  it('fails the run for a fault of the controller, skips it where it was cut short', () => {
    const controllerFault = { kind: 'never returns', at_us: 10_000, message: 'scan' } as const;
    const fault = cases([scenario('s'), [], { controllerFault, complete: false }]);
    expect(outcomeOf(named(fault, 'run'))).toMatchObject({ name: 'failure', attributes: { type: 'controller fault' } });
    const cut = cases([scenario('s'), [], { complete: false, cutShort: 'why' }]);
    expect(outcomeOf(named(cut, 'run'))).toMatchObject({ name: 'skipped' });
  });

  it('gives statements a case of their own', () => {
    const statements = [
      { text: 'never x', holds: false, at_us: 3, detail: 'd' },
      { text: 'never x > 1', holds: true, detail: '' },
    ];
    const nodes = cases([scenario('s'), [], { statements }]);
    expect(outcomeOf(named(nodes, 'statement: never x'))?.name).toBe('failure');
    expect(outcomeOf(named(nodes, 'statement: never x > 1'))).toBeUndefined();
  });

  it('makes an error of a refused file and of our own crash', () => {
    const xml = renderJunit(
      report([
        { kind: 'refused', file: 'f/a.yaml', problems: ['one', 'two'] },
        { kind: 'crashed', file: 'b.yaml', message: 'm' },
      ]),
      book,
    );
    const errors = nodesOf(readXml(xml), 'error');
    expect(errors.map(({ attributes, text }) => [attributes['type'], text])).toEqual([
      ['refused', 'one\ntwo'],
      ['crashed', 'm'],
    ]);
    expect(nodesOf(readXml(xml), 'testsuite').map(({ attributes }) => attributes['name'])).toEqual(['f', '.']);
  });

  it('gives the same bytes twice, and no clock or machine in them', () => {
    expect(renderJunit(threeRuns, book)).toBe(renderJunit(structuredClone(threeRuns), book));
    expect(renderJunit(threeRuns, book)).not.toMatch(/timestamp|hostname/);
  });

  it('stays well-formed whatever stands in a message, for our reader and for an independent one where python3 is there', () => {
    const xml = renderJunit(
      report([{ kind: 'crashed', file: 'x.yaml', message: hostile }, ...threeRuns.entries]),
      book,
    );
    expect(nodesOf(readXml(xml), 'error')[0]?.text).toBe('a<b>&amp;"\']]>  \r\n\té😀');
    const program =
      'import sys, xml.etree.ElementTree as E; print(len(E.fromstring(sys.stdin.buffer.read()).findall(".//testcase")))';
    const python = spawnSync('python3', ['-c', program], { input: xml, encoding: 'utf8' });
    if (python.error === undefined) expect(python.stdout.trim()).toBe('13');
  });
});

describe('document', () => {
  it('gives back any text and attribute without what XML forbids (400 strings)', () => {
    const isForbidden = (point: number) =>
      (point < 32 && ![9, 10, 13].includes(point)) ||
      (point >= 0xd800 && point <= 0xdfff) ||
      point === 0xfffe ||
      point === 0xffff;
    const clean = (text: string) => [...text].filter((sign) => !isForbidden(sign.codePointAt(0)!)).join('');
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        const node = readXml(document(element('a', { b: text }, [text])));
        expect([node.attributes['b'], node.text]).toEqual([clean(text), clean(text)]);
      }),
      { numRuns: 400 },
    );
  });
});
