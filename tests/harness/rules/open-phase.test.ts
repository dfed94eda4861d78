import { describe, expect, it } from 'vitest';
import { openPhase } from '../../../harness/rules/open-phase.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { BEHIND_MAIN, BEHIND_RELAY, BUSES, legLost, mainOpened, onGrid, PV_RUNS, PV_STOPS } from './house.ts';
import { each, judge, type Story } from './telemetry-builder.ts';

const END_us = 9_000_000;
const verdictOf = (story: Story, end_us = END_us): Verdict => judge(openPhase, story.end(end_us));
const lost = (): Story => legLost(onGrid(), 1_000_000);
const legBack = each(BUSES, { present2: 1 });

describe('openPhase', () => {
  it('is met exactly when the leg is back after 2 s, and one µs later is late, against the utility', () => {
    const back = (at_us: number) => verdictOf(lost().frame(at_us, legBack)).outcome;
    expect(back(3_000_000)).toMatchObject({ is: 'pass', worst: { value: 0, found: 2_000_000 } });
    expect(back(3_000_001)).toMatchObject({ is: 'fail', against: 'utility', worst: { found: 2_000_001 } });
  });

  it('ends at the start of the cycle in which it has ceased, good to half a cycle', () => {
    const ceases = (after_us: number) => verdictOf(lost().frame(1_000_000 + after_us, PV_STOPS)).outcome;
    expect(ceases(1_990_000)).toMatchObject({ is: 'pass', worst: { found: 1_990_000 } });
    expect(ceases(1_995_000)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(ceases(2_005_000)).toEqual({ is: 'not exercised', why: 'unresolved' });
    expect(ceases(2_010_000)).toMatchObject({ is: 'fail', worst: { found: 2_010_000 } });
  });

  it('tells which leg, and how high it was driven', () => {
    const story = legLost(onGrid(), 1_000_000, { 'service.v2': 180, 'house.v2': 190 }).frame(2_000_000, PV_STOPS);
    expect(verdictOf(story).outcome).toMatchObject({
      worst: { about: 'roof on a utility without L2, crest there up to 1.5 pu' },
    });
  });

  it('takes a main that has opened one pole for an open phase, against whoever opened it', () => {
    const story = onGrid()
      .happening(1_000_000, 'main', 'parts L2', 'person')
      .frame(1_000_000, { 'main.L2': 0, ...each(BEHIND_MAIN, { present2: 0 }), 'roof.path2': 0 });
    expect(verdictOf(story).outcome).toMatchObject({ is: 'fail', against: 'person', worst: { found: 8_000_000 } });
  });

  it('knows no open phase where the relay alone has opened a pole', () => {
    const story = onGrid().frame(1_000_000, { 'iso.L2': 0, ...each(BEHIND_RELAY, { present2: 0 }) });
    expect(verdictOf(story).armed).toBe(0);
  });

  it('makes nothing of poles that part one after the other, and ends where the island begins', () => {
    const skewed = (us: number): Verdict => {
      const story = onGrid().frame(1_000_000, { 'main.L2': 0, ...each(BEHIND_MAIN, { present2: 0 }) });
      return verdictOf(mainOpened(story, 1_000_000 + us));
    };
    expect(skewed(16_666).armed).toBe(0);
    expect(skewed(16_667)).toMatchObject({ armed: 1, outcome: { is: 'pass', worst: { found: 16_667 } } });
  });

  it('times a source that starts on one leg from its start, against whoever started it', () => {
    const story = legLost(onGrid().frame(500_000, PV_STOPS), 1_000_000)
      .happening(4_000_000, 'roof', 'starts', 'equipment')
      .frame(4_000_000, PV_RUNS)
      .frame(6_500_000, PV_STOPS);
    expect(verdictOf(story)).toMatchObject({
      armed: 1,
      outcome: { is: 'fail', against: 'equipment', worst: { found: 2_500_000 } },
    });
  });

  it('is not armed by the loss of both legs, nor while nothing runs', () => {
    expect(verdictOf(mainOpened(onGrid(), 1_000_000)).armed).toBe(0);
    expect(verdictOf(legLost(onGrid().frame(500_000, PV_STOPS), 1_000_000)).armed).toBe(0);
    expect(verdictOf(onGrid()).armed).toBe(0);
  });

  it('is cut short where the run ends before 2 s, and broken one µs after', () => {
    expect(verdictOf(lost(), 3_000_000).outcome).toEqual({ is: 'not exercised', why: 'cut short' });
    expect(verdictOf(lost(), 3_000_001).outcome).toMatchObject({ is: 'fail', against: 'utility' });
  });
});
