import { describe, expect, it } from 'vitest';
import { judgeExpectations } from '../../../harness/run/expectation.ts';
import { fails, idle, passes, result, scenario } from '../report/made.ts';

const kinds = (of: Parameters<typeof judgeExpectations>[0]) => judgeExpectations(of).findings.map(({ kind }) => kind);

describe('judgeExpectations', () => {
  it('is content where required rules pass, named violations come, and the rest is not violated', () => {
    const of = scenario('s', { pass: ['a'], fail: [{ rule: 'b', because: 'PV is left on' }] });
    const judgement = judgeExpectations(result(of, [passes('a', 0), fails('b', -0.5, 'person'), idle('c')]));
    expect(judgement).toMatchObject({ status: 'as expected', findings: [], exit: 0 });
  });

  it('answers 1 to a violation that the file does not name, and says against whom', () => {
    const judgement = judgeExpectations(result(scenario('s'), [fails('a', -0.1, 'controller')]));
    expect(judgement).toMatchObject({ status: 'unlike expected', exit: 1 });
    expect(judgement.findings).toEqual([
      {
        kind: 'unexpected violation',
        rule: 'a',
        text: 'a is violated, against controller; the file does not expect it',
      },
    ]);
  });

  it('answers 1 to a violation of a rule that should pass, once', () => {
    expect(kinds(result(scenario('s', { pass: ['a'] }), [fails('a', -0.1, 'site')]))).toEqual(['unexpected violation']);
  });

  it.each([
    ['passes', [passes('a', 0)], 'it passes'],
    ['is never armed', [idle('a')], 'not exercised (never armed)'],
    ['was not judged', [], 'no such rule was judged'],
  ])('answers 1 to an expected violation that does not come: the rule %s', (_how, verdicts, said) => {
    const judgement = judgeExpectations(result(scenario('s', { fail: [{ rule: 'a', because: 'of x' }] }), verdicts));
    expect(judgement.exit).toBe(1);
    expect(judgement.findings).toEqual([
      { kind: 'expected violation missing', rule: 'a', text: `a should be violated, because of x; ${said}` },
    ]);
  });

  it.each(['never armed', 'cut short', 'unresolved'] as const)('answers 5 to a required rule that was %s', (why) => {
    const judgement = judgeExpectations(result(scenario('s', { pass: ['a'] }), [idle('a', why)]));
    expect(judgement).toMatchObject({ status: 'not exercised', exit: 5 });
    expect(judgement.findings[0]?.text).toContain(why);
  });

  it('answers 5 to a required rule that no verdict came for', () => {
    expect(judgeExpectations(result(scenario('s', { pass: ['a'] }), [])).exit).toBe(5);
  });

  it('answers 5 to a happening that never came: a run without its outage shows nothing of an outage', () => {
    const found = judgeExpectations(result(scenario('quiet'), [], { neverCame: ['gone'] }));
    expect(found).toMatchObject({ status: 'not exercised', exit: 5 });
    expect(found.findings).toEqual([
      { kind: 'happening never came', text: 'gone did not take place: what it waits for never came true' },
    ]);
    expect(
      judgeExpectations(result(scenario('cut'), [], { neverCame: ['gone'], complete: false })).findings,
    ).toMatchObject([{ kind: 'cut short' }]);
  });

  it('leaves a rule alone that is not exercised and not named', () => {
    expect(judgeExpectations(result(scenario('s'), [idle('a')])).exit).toBe(0);
  });

  it('answers 1 to a broken statement, with its instant in words', () => {
    const statements = [{ text: 'never house.u1 > 132 V', holds: false, at_us: 5_016_667, detail: '160 V' }];
    const judgement = judgeExpectations(result(scenario('s'), [], { statements }));
    expect(judgement).toMatchObject({ exit: 1, status: 'unlike expected' });
    expect(judgement.findings[0]?.text).toBe('never house.u1 > 132 V: broken at 5.016667 s; 160 V');
  });

  it('does not blame a run that was cut short for what could still have come true, but for what had been broken', () => {
    const statements = [
      { text: 'at the end pv.tripped = 1', holds: false, detail: '' },
      { text: 'never x', holds: false, at_us: 3, detail: '' },
    ];
    const cut = { complete: false, cutShort: 'too many solves', simulated_us: 2_000_000 };
    expect(kinds(result(scenario('s'), [], { statements, ...cut }))).toEqual(['statement broken', 'cut short']);
    expect(kinds(result(scenario('s'), [], { statements: statements.slice(0, 1), ...cut }))).toEqual(['cut short']);
  });

  it('answers 5 to a run that was cut short, with both times', () => {
    const judgement = judgeExpectations(
      result(scenario('s'), [], { complete: false, simulated_us: 2_000_000, cutShort: 'why' }),
    );
    expect(judgement).toMatchObject({ exit: 5, findings: [{ text: 'the run ended at 2 s of 12.5 s: why' }] });
    expect(judgeExpectations(result(scenario('s'), [], { complete: false })).exit).toBe(5);
  });

  it('answers 1 to a fault of the controller even where everything else is as expected', () => {
    const controllerFault = { kind: 'nonsense', at_us: 10_000, message: 'relayCoil is NaN' } as const;
    const judgement = judgeExpectations(result(scenario('s'), [passes('a', 1)], { controllerFault }));
    expect(judgement.exit).toBe(1);
    expect(judgement.findings[0]?.text).toBe('the controller answers nonsense at 10 ms: relayCoil is NaN');
  });

  it('takes the smallest margin as the tightest, of equal ones the first, and none where nothing was judged', () => {
    const verdicts = [idle('z'), passes('a', 0.3), passes('b', 0.1), passes('c', 0.1)];
    expect(judgeExpectations(result(scenario('s'), verdicts)).tightest).toMatchObject({
      rule: 'b',
      margin: { value: 0.1 },
    });
    expect(judgeExpectations(result(scenario('s'), [idle('z')]))).not.toHaveProperty('tightest');
  });
});
