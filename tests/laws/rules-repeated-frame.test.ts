import fc from 'fast-check';
import { Subject } from 'rxjs';
import { describe, expect, it } from 'vitest';
import { RULES, siteFacts } from '../../harness/rules/index.ts';
import type { Verdict } from '../../harness/rules/rule.ts';
import type { Telemetry } from '../../sim/telemetry.ts';
import type { SimUs } from '../../sim/units.ts';
import { BROKEN, KEPT } from '../harness/rules/stories.ts';
import { judgeRecords, play, type Story } from '../harness/rules/telemetry-builder.ts';

const END_us = 5_000_000;
const STORIES = [...Object.values(KEPT), ...Object.values(BROKEN)].map((story) => () => story().end(END_us));

type Frame = Extract<Telemetry, { kind: 'frame' }>;

/** The latest instant at which the frame before place `index` still holds. */
function holdsUntil(records: readonly Telemetry[], index: number): number {
  const next = records[index];
  if (next?.kind === 'frame' || next?.kind === 'happening' || next?.kind === 'end') return next.at_us;
  return holdsUntil(records, index + 1);
}

/**
 * Repeats the frame that holds, before record `place`, `share` of the way to what comes next.
 *
 * A loud one says that every channel has changed, so that no rule is spared it.
 */
function repeat(records: readonly Telemetry[], place: number, share: number, loud: boolean): Telemetry[] {
  const index = 2 + (place % (records.length - 2));
  const before = records.slice(0, index);
  const last = before.findLast((record): record is Frame => record.kind === 'frame');
  if (last === undefined) return [...records];
  const from_us = Math.max(...before.map((record) => ('at_us' in record ? record.at_us : 0)));
  const until_us = holdsUntil(records, index);
  const at_us = Math.floor(from_us + share * (until_us - from_us)) as SimUs;
  const copy: Frame = {
    kind: 'frame',
    at_us,
    values: last.values.slice(),
    changed: loud ? [...last.values.keys()] : [],
  };
  return [...before, copy, ...records.slice(index)];
}

const repeats = fc.array(fc.tuple(fc.nat(1000), fc.double({ min: 0, max: 1, noNaN: true }), fc.boolean()), {
  minLength: 1,
  maxLength: 12,
});

describe.each(RULES.map((rule) => [rule.id, rule] as const))('RULES: %s', (_id, rule) => {
  it('gives the same verdict and margin however often a frame is repeated, anywhere', () => {
    fc.assert(
      fc.property(fc.nat(STORIES.length - 1), repeats, (which, inserted) => {
        const story: Story = STORIES[which]!();
        const once = judgeRecords(rule, story.site, story.records);
        let records: Telemetry[] = [...story.records];
        for (const [place, share, loud] of inserted) records = repeat(records, place, share, loud);
        expect(judgeRecords(rule, story.site, records)).toEqual(once);
      }),
      { numRuns: 150 },
    );
  });

  it('gives the verdict that it gives alone when all the others listen to the same stream', () => {
    for (const make of STORIES) {
      const story = make();
      const together = new Map<string, Verdict>();
      const shared = new Subject<Telemetry>();
      for (const each of [...RULES].reverse()) {
        shared.pipe(each.judge(siteFacts(story.site))).subscribe((verdict) => together.set(each.id, verdict));
      }
      play(story.records).subscribe(shared);
      expect(together.size).toBe(RULES.length);
      expect(together.get(rule.id)).toEqual(judgeRecords(rule, story.site, story.records));
    }
  });
});
