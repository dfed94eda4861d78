import { ORIGINS } from '../../sim/telemetry.ts';
import { US_PER_S } from '../../sim/units.ts';
import type { Verdict } from '../rules/rule.ts';
import type { Finding } from '../run/expectation.ts';
import type { StatementResult } from '../run/result.ts';
import { explainVerdict, marginText, noteLines } from './explain.ts';
import {
  againstOf,
  type Entry,
  type Judged,
  judgedOf,
  noteText,
  type Report,
  type RuleBook,
  replayCommand,
} from './report.ts';
import { document, type Element, element } from './xml.ts';

/**
 * JUnit XML: a suite for each folder, a case for each rule of each scenario, named so that histories hold (the scenario is the
 * class, the rule the name; no seed and no number in either). Times are simulated. Same results, same bytes.
 *
 * Not exercised: skipped, with the reason. A violation that the file does not expect, an expected one that does not come, a broken
 * statement, a fault of the controller: failure. A refused file and our own crash: error. A run cut short: skipped.
 */
export function renderJunit(report: Report, book: RuleBook): string {
  const folders = new Map<string, Entry[]>();
  for (const entry of report.entries) {
    const folder = folderOf(entry.kind === 'judged' ? entry.result.file : entry.file);
    folders.set(folder, [...(folders.get(folder) ?? []), entry]);
  }
  const suites = [...folders].map(([folder, entries]) => suite(folder, entries, report, book));
  return document(
    element('testsuites', { name: 'deadbus', ...totals(suites.flatMap(({ children }) => children)) }, suites),
  );
}

function suite(folder: string, entries: readonly Entry[], report: Report, book: RuleBook): Element {
  const judged = judgedOf({ ...report, entries });
  const against = againstOf(judged.map(({ result }) => result));
  const properties = element('properties', {}, [
    property('version', report.version),
    property('controller', report.controller),
    ...ORIGINS.map((origin) => property(`violations against ${origin}`, String(against[origin]))),
  ]);
  const cases = entries.flatMap((entry) => casesOf(entry, report, book));
  return element('testsuite', { name: folder, ...totals(cases) }, [properties, ...cases]);
}

function casesOf(entry: Entry, report: Report, book: RuleBook): Element[] {
  if (entry.kind === 'refused') return [brokenCase(entry.file, 'refused', entry.problems.join('\n'))];
  if (entry.kind === 'crashed') return [brokenCase(entry.file, 'crashed', entry.message)];
  return judgedOf({ ...report, entries: [entry] }).flatMap((judged) => [
    runCase(judged),
    ...judged.result.verdicts.map((verdict) => ruleCase(verdict, judged, book)),
    ...unheardOf(judged),
    ...judged.result.statements.map((statement) => statementCase(statement, judged)),
  ]);
}

function brokenCase(file: string, type: string, message: string): Element {
  const name = file.slice(file.lastIndexOf('/') + 1).replace(/\.ya?ml$/, '');
  return element('testcase', { classname: name, name: 'run', time: seconds(0) }, [
    element('error', { type, message: firstLine(message) }, [message]),
  ]);
}

/** The run as such: a fault of the controller, and whether it came to its end. Carries the simulated time. */
function runCase(judged: Judged): Element {
  const { result, judgement } = judged;
  const fault = judgement.findings.find(({ kind }) => kind === 'controller fault');
  const cut = judgement.findings.find(({ kind }) => kind === 'cut short');
  const outcome =
    fault !== undefined
      ? [failure(fault)]
      : cut !== undefined
        ? [element('skipped', { message: `cut short: ${cut.text}` })]
        : [];
  const notes = result.siteNotes.map((note, i) => property(`site note ${i + 1}`, noteText(note)));
  return testcase(judged, 'run', result.simulated_us, notes, outcome);
}

function ruleCase(verdict: Verdict, judged: Judged, book: RuleBook): Element {
  const { result, judgement } = judged;
  const { rule, outcome, grade } = verdict;
  const lines = explainVerdict(result, verdict, book);
  const said = new Map(lines);
  const properties = [
    ...(outcome.is === 'not exercised'
      ? []
      : [property('margin', marginText(outcome.worst.value)), property('grade', grade)]),
    ...['found', 'clause'].flatMap((label) => (said.has(label) ? [property(label, said.get(label)!)] : [])),
    ...(outcome.is === 'fail' ? [property('against', outcome.against)] : []),
    ...noteLines(verdict).map(([label, said]) => property(label, said)),
    ...(result.scenario.expect.fail.some((entry) => entry.rule === rule) ? [property('expected', 'violation')] : []),
  ];
  const finding = judgement.findings.find(
    (entry) => entry.rule === rule && entry.kind !== 'required rule not exercised',
  );
  if (finding !== undefined) return testcase(judged, rule, 0, properties, [failure(finding, lines)]);
  const required = result.scenario.expect.pass.includes(rule) ? ', though the file requires it' : '';
  const skipped =
    outcome.is === 'not exercised' ? [element('skipped', { message: `not exercised: ${outcome.why}${required}` })] : [];
  return testcase(judged, rule, 0, properties, skipped);
}

/** Rules that the file names and for which no verdict came: they must not go missing here. */
function unheardOf(judged: Judged): Element[] {
  return judged.judgement.findings.flatMap((finding) => {
    const { rule, kind, text } = finding;
    if (rule === undefined || judged.result.verdicts.some((verdict) => verdict.rule === rule)) return [];
    const outcome = kind === 'required rule not exercised' ? element('skipped', { message: text }) : failure(finding);
    return [testcase(judged, rule, 0, [], [outcome])];
  });
}

function statementCase(statement: StatementResult, judged: Judged): Element {
  const name = `statement: ${statement.text}`;
  if (statement.holds) return testcase(judged, name, 0, [], []);
  const finding = judged.judgement.findings.find(
    ({ kind, text }) => kind === 'statement broken' && text.startsWith(`${statement.text}: broken`),
  );
  const message = 'cut short before it could come true';
  return testcase(judged, name, 0, [], [finding === undefined ? element('skipped', { message }) : failure(finding)]);
}

function testcase(
  { result, trace }: Judged,
  name: string,
  time_us: number,
  own: readonly Element[],
  outcome: readonly Element[],
): Element {
  const properties = [
    ...own,
    property('seed', String(result.scenario.seed)),
    property('digest', result.digests.run),
    property('replay', replayCommand(result)),
    ...(result.variant === undefined ? [] : [property('variant', `${result.variant.number}: ${result.variant.name}`)]),
    ...(trace === undefined ? [] : [property('trace', trace)]),
  ];
  const attributes = { classname: result.scenario.id, name, file: result.file, time: seconds(time_us) };
  return element('testcase', attributes, [element('properties', {}, properties), ...outcome]);
}

function failure({ kind, text }: Finding, lines: readonly (readonly [string, string])[] = []): Element {
  const body = [text, ...lines.map(([label, said]) => `${label}: ${said}`)].join('\n');
  return element('failure', { type: kind, message: text }, [body]);
}

const property = (name: string, value: string): Element => element('property', { name, value });
const folderOf = (file: string): string => (file.includes('/') ? file.slice(0, file.lastIndexOf('/')) : '.');
const seconds = (time_us: number): string => (time_us / US_PER_S).toFixed(6);
const firstLine = (text: string): string => text.split('\n')[0] ?? '';

/** The counts that the format asks for, of the cases at any depth below. */
function totals(children: readonly (Element | string)[]): Record<string, string> {
  const cases = children.filter((child): child is Element => typeof child !== 'string' && child.name === 'testcase');
  const having = (name: string): string =>
    String(
      cases.filter((entry) => entry.children.some((child) => typeof child !== 'string' && child.name === name)).length,
    );
  const time = cases.reduce(
    (sum, { attributes }) => sum + Number(attributes.find(([name]) => name === 'time')?.[1] ?? 0),
    0,
  );
  return {
    tests: String(cases.length),
    failures: having('failure'),
    errors: having('error'),
    skipped: having('skipped'),
    time: time.toFixed(6),
  };
}
