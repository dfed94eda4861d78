import type { Id } from '../../../sim/site-description.ts';
import type { Expectations, Says, Statement } from '../model.ts';
import { nearest, oneOf } from './nearest.ts';
import { quoted } from './problem.ts';
import { type Known, readCondition, readDuration, readFrom } from './read-when.ts';
import { type Node, type Sheet, under } from './sheet.ts';

const NOTHING: Expectations = { pass: [], fail: [], statements: [] };

/** What a scenario expects: rules that must pass, rules that must fail and why, statements about channels. */
export function readExpect(sheet: Sheet, node: Node | undefined, rules: readonly Id[], known: Known): Expectations {
  const fields = node === undefined ? undefined : sheet.fields(node, 'expect', ['pass', 'fail', 'statements']);
  if (fields === undefined) return NOTHING;
  const list = (key: string, expected: string) => {
    const entry = fields.get(key);
    return entry === undefined ? [] : (sheet.items(entry.value, under('expect', key), expected) ?? []);
  };
  const named = new Set<Id>();
  const pass = list('pass', 'a list of rules').flatMap(
    (item, index) => readRule(sheet, item, `expect.pass[${index}]`, rules, named) ?? [],
  );
  const fail = list('fail', 'a list of rules, each with "because"').flatMap((item, index) => {
    const path = `expect.fail[${index}]`;
    const each = sheet.fields(item, path, ['rule', 'because'], ['rule', 'because']);
    const ruleNode = each?.get('rule')?.value;
    const rule = ruleNode === undefined ? undefined : readRule(sheet, ruleNode, under(path, 'rule'), rules, named);
    const becauseNode = each?.get('because')?.value;
    const because =
      becauseNode === undefined ? undefined : sheet.single(becauseNode, under(path, 'because'), 'the reason, in words');
    return rule === undefined || because === undefined ? [] : [{ rule, because }];
  });
  const statements = list('statements', 'a list of statements').flatMap(
    (item, index) => readStatement(sheet, item, `expect.statements[${index}]`, known) ?? [],
  );
  return { pass, fail, statements };
}

function readRule(sheet: Sheet, node: Node, path: string, rules: readonly Id[], named: Set<Id>): Id | undefined {
  const rule = sheet.word(node, path, rules, 'SCN-REF');
  if (rule === undefined) return undefined;
  if (named.has(rule)) {
    sheet.report(node.place, path, {
      code: 'SCN-TWICE',
      found: `rule ${quoted(rule)} a second time`,
      expected: 'each rule once under pass or fail',
      mend: '',
    });
  }
  named.add(rule);
  return rule;
}

const SAYS: readonly Says[] = ['within', 'until', 'never', 'at the end'];
/** The key that says from when on, by form. */
const FROM: Readonly<Record<Says, 'of' | 'from' | undefined>> = {
  within: 'of',
  until: 'from',
  never: 'from',
  'at the end': undefined,
};

/** What else people write for them. */
const ELSE: Readonly<Record<string, readonly Says[]>> = {
  always: ['until', 'never'],
  during: ['until'],
  for: ['until'],
  while: ['until'],
  stays: ['until', 'never'],
  by: ['within'],
  before: ['within'],
  eventually: ['within'],
  not: ['never'],
  end: ['at the end'],
  finally: ['at the end'],
};

/** Reports a key that was meant for what a statement says, with what it may have meant. False: none is near. */
function reportMeant(sheet: Sheet, node: Node, path: string): boolean {
  const entries = node.is === 'map' ? node.entries : [];
  for (const { key, keyPlace } of entries) {
    if (['of', 'from', 'what'].includes(key)) continue;
    const near = nearest(key, SAYS);
    const meant = Object.hasOwn(ELSE, key) ? ELSE[key]! : near === undefined ? [] : [near];
    if (meant.length === 0) continue;
    const code = 'SCN-KEY';
    const mend = `Did you mean ${meant.map((each) => `"${each}"`).join(' or ')}?`;
    sheet.report(keyPlace, path, { code, found: `unknown key ${quoted(key)}`, expected: oneOf(SAYS), mend });
    return true;
  }
  return false;
}

/** `within` and `until` carry a duration and have `what`; `never` and `at the end` carry the condition itself. */
function readStatement(sheet: Sheet, node: Node, path: string, known: Known): Statement | undefined {
  const keys = node.is === 'map' ? node.entries.map(({ key }) => key) : [];
  const said = SAYS.filter((each) => keys.includes(each));
  const says = said[0];
  if (says === undefined && reportMeant(sheet, node, path)) return undefined;
  if (says === undefined || said.length > 1) {
    const fields = sheet.fields(node, path, [...SAYS, 'of', 'from', 'what']);
    if (fields === undefined) return undefined;
    const found = says === undefined ? 'a statement that says none of them' : `both "${said.join('" and "')}"`;
    sheet.report({ from: node.place.from, to: node.place.from + 1 }, path, {
      code: 'SCN-VALUE',
      found,
      expected: 'one of within, until, never and at the end',
      mend: '',
    });
    return undefined;
  }
  const from = FROM[says];
  const timed = says === 'within' || says === 'until';
  const fields = sheet.fields(
    node,
    path,
    [says, ...(from === undefined ? [] : [from]), ...(timed ? ['what'] : [])],
    timed ? ['what'] : [],
  );
  const conditionKey = timed ? 'what' : says;
  const condition = fields?.get(conditionKey)?.value;
  const limit = timed ? fields?.get(says)?.value : undefined;
  const start = from === undefined ? undefined : fields?.get(from)?.value;
  const what = condition === undefined ? undefined : readCondition(sheet, condition, under(path, conditionKey), known);
  const limit_us = limit === undefined ? undefined : readDuration(sheet, limit, under(path, says));
  const when = start === undefined || from === undefined ? undefined : readFrom(sheet, start, under(path, from), known);
  if (what === undefined || (timed && limit_us === undefined) || (start !== undefined && when === undefined))
    return undefined;
  return { says, what, ...(when === undefined ? {} : { from: when }), ...(limit_us === undefined ? {} : { limit_us }) };
}
