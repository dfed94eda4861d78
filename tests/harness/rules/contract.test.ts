import { EMPTY, NEVER, type Observable, Subject, throwError } from 'rxjs';
import { describe, expect, it } from 'vitest';
import { RULES, siteFacts } from '../../../harness/rules/index.ts';
import type { Rule, Verdict } from '../../../harness/rules/rule.ts';
import { DeadbusBug } from '../../../sim/check.ts';
import type { Telemetry } from '../../../sim/telemetry.ts';
import { house } from './house.ts';
import { BROKEN, KEPT } from './stories.ts';
import { judge, judgeRecords, play, Story } from './telemetry-builder.ts';

/** One channel that each rule cannot do without. */
const NEEDED: Readonly<Record<string, string>> = {
  'no-backfeed': 'roof.path2',
  'cease-on-island': 'house.forming',
  'open-phase': 'house.present2',
  'abnormal-voltage': 'house.u12',
  'abnormal-frequency': 'house.f',
  'ride-through': 'kitchen.p',
  'enter-service': 'roof.permit',
  'sync-close': 'main.df',
  'dead-bus-form': 'gateway.in.relayL2Closed.age',
  'reference-order': 'house.nIsl',
  'manual-order': 'car.i',
  'hand-isolation': 'gateway.in.onSite',
  'leg-voltage': 'house.u2',
  'overvoltage-area': 'grid.voltage',
  'neutral-held': 'garage.neutralHeld',
  'one-bond': 'house.bonds',
  'island-fault': 'short.struck',
  'island-quality': 'car.setFrequency',
  'return-to-utility': 'panel.legAngle',
  'outage-time': 'gateway.lockout',
  'source-limits': 'main.thermal',
  lockout: 'iso.closedProved2',
  'relay-duty': 'iso.i2',
  'plug-order': 'car.locked',
  'restart-limit': 'car.fault',
  'stale-data': 'gateway.in.backupFrequency.age',
  'ready-gate': 'gateway.in.commissioning',
};

function collect(rule: Rule, source: Observable<Telemetry>): { verdicts: Verdict[]; errors: unknown[]; done: number } {
  const seen = { verdicts: [] as Verdict[], errors: [] as unknown[], done: 0 };
  source.pipe(rule.judge(siteFacts(house()))).subscribe({
    next: (verdict) => seen.verdicts.push(verdict),
    error: (cause) => seen.errors.push(cause),
    complete: () => {
      seen.done += 1;
    },
  });
  return seen;
}

describe.each(RULES.map((rule) => [rule.id, rule] as const))('RULES: %s', (id, rule) => {
  const kept = (): Story => KEPT[id]!();
  const broken = (): Story => BROKEN[id]!();

  it('says nothing on a stream that never speaks', () => {
    expect(collect(rule, NEVER)).toEqual({ verdicts: [], errors: [], done: 0 });
  });

  it('was never armed on an empty stream', () => {
    const { verdicts, done } = collect(rule, EMPTY);
    expect(verdicts.map(({ outcome, armed }) => [outcome, armed])).toEqual([
      [{ is: 'not exercised', why: 'never armed' }, 0],
    ]);
    expect(done).toBe(1);
  });

  it('fails nobody on one dark frame', () => {
    const verdict = judge(rule, new Story(house()).frame(0).end(0));
    expect(verdict.outcome.is).not.toBe('fail');
    expect(Object.values(verdict.violations)).toEqual([0, 0, 0, 0, 0]);
  });

  it('passes an error of the stream through, without a verdict', () => {
    const cause = new Error('the wire broke');
    const seen = collect(
      rule,
      throwError(() => cause),
    );
    expect(seen).toEqual({ verdicts: [], errors: [cause], done: 0 });
  });

  it('passes the story that keeps it and fails the one that breaks it', () => {
    expect(judge(rule, kept().end(5_000_000)).outcome.is).toBe('pass');
    const verdict = judge(rule, broken().end(5_000_000));
    expect(verdict.outcome.is).toBe('fail');
    expect(Object.values(verdict.violations).some((count) => count > 0)).toBe(true);
  });

  it.each([
    ['an end that says so', true],
    ['no end at all', false],
  ])('gives no pass to a run cut short, by %s, but keeps a violation', (_how, withEnd) => {
    const cut = (story: Story): Verdict => judge(rule, withEnd ? story.end(5_000_000, false) : story);
    expect(cut(kept()).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    // Without an end nobody knows how long the last frame held, so what was open then is not counted.
    if (withEnd) expect(cut(broken()).outcome.is).toBe('fail');
  });

  it('keeps its state inside the subscription: one that left early leaves nothing behind', () => {
    const operator = rule.judge(siteFacts(broken().site));
    const source = new Subject<Telemetry>();
    const early: Verdict[] = [];
    const subscription = source.pipe(operator).subscribe((verdict) => early.push(verdict));
    const records = broken().end(5_000_000).records;
    play(records.slice(0, -1)).subscribe((record) => source.next(record));
    subscription.unsubscribe();
    source.next(records.at(-1)!);
    expect(early).toEqual([]);
    expect(source.observed).toBe(false);
    const later: Verdict[] = [];
    play(kept().end(5_000_000).records)
      .pipe(operator)
      .subscribe((verdict) => later.push(verdict));
    expect(later).toEqual([judge(rule, kept().end(5_000_000))]);
  });

  it('calls a missing channel our own defect, by name', () => {
    const story = new Story(house(), [NEEDED[id]!]);
    expect(() => judgeRecords(rule, story.site, story.records)).toThrow(DeadbusBug);
    expect(() => judgeRecords(rule, story.site, story.records)).toThrow(NEEDED[id]!);
  });
});
