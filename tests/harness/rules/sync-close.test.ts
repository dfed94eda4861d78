import { describe, expect, it } from 'vitest';
import { syncClose } from '../../../harness/rules/sync-close.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_MAIN,
  BUSES,
  DARK,
  darkHouse,
  forms,
  house,
  mainOpened,
  onGrid,
  piece,
  poles,
  SOUND,
  siteOf,
} from './house.ts';
import { besideLiveGrid, relayCloses } from './stories.ts';
import { each, judge, Story, type Values } from './telemetry-builder.ts';

const END_us = 6_000_000;
const closed = (changes: Values): ReturnType<typeof judge> =>
  judge(syncClose, relayCloses(besideLiveGrid({ transition: 'closed' }, changes), 3_000_000).end(END_us));

/** The main, opened at 1 s over a running PV, closed again by `origin` at 2 s, 90 degrees out. */
const mainCloses = (origin: Origin, settings = {}): Story =>
  mainOpened(onGrid(settings), 1_000_000, { 'main.da1': 90, 'main.da2': 90 })
    .happening(2_000_000, 'main', 'touches L1', origin)
    .happening(2_000_000, 'main', 'touches L2', origin)
    .frame(2_000_000, { ...poles('main', 1), ...each(BEHIND_MAIN, { part: 1, present1: 1, present2: 1 }) });

describe('syncClose', () => {
  it.each([
    [{ 'iso.df': 0.3 }, 0, 'Hz', 'weak'],
    [{ 'iso.da2': -20 }, 0, 'deg', 'weak'],
    [{ 'house.v1': 132 }, 0, 'V', 'memory'],
    [{ 'iso.df': -0.33 }, -0.1, 'Hz', 'weak'],
    [{ 'iso.da1': 22 }, -0.1, 'deg', 'weak'],
    [{ 'house.v2': 106.8 }, -0.1, 'V', 'memory'],
  ] as const)(
    'measures across the pole just before it touches: %o gives %f in %s, %s',
    (changes, value, unit, grade) => {
      const verdict = closed(changes);
      expect(verdict.grade).toBe(grade);
      expect(verdict.outcome.is).toBe(value < 0 ? 'fail' : 'pass');
      if (verdict.outcome.is === 'not exercised') return;
      expect(verdict.outcome.worst.unit).toBe(unit);
      expect(verdict.outcome.worst.value).toBeCloseTo(value, 9);
    },
  );

  it('takes the frame before, though both stand at one instant', () => {
    const story = besideLiveGrid({ transition: 'closed' }).frame(3_000_000, { 'iso.da1': 19, 'iso.da2': 19 });
    const verdict = judge(
      syncClose,
      relayCloses(story, 3_000_000).frame(3_000_000, { 'iso.da1': 0, 'iso.da2': 0 }).end(END_us),
    );
    expect(verdict.outcome).toMatchObject({ is: 'pass', worst: { found: 19 } });
  });

  it('allows no live-live touch where the site breaks before it makes, and takes that as the default', () => {
    for (const settings of [{ transition: 'open' }, {}]) {
      const verdict = judge(syncClose, relayCloses(besideLiveGrid(settings), 3_000_000).end(END_us));
      expect(verdict).toMatchObject({
        grade: 'site setting',
        outcome: { is: 'fail', against: 'controller', worst: { value: -1 } },
      });
    }
  });

  it.each(['person', 'controller', 'equipment', 'utility'] as const)(
    'holds a main closed onto a PV island against whoever closed it: %s',
    (origin) => {
      const { outcome, violations } = judge(syncClose, mainCloses(origin, { transition: 'closed' }).end(END_us));
      expect(outcome).toMatchObject({ is: 'fail', against: origin, worst: { found: 90, value: -3.5 } });
      expect(violations[origin]).toBe(2); // Once for each of its two poles.
    },
  );

  it('holds it against the controller where it had formed with no open relay between', () => {
    const story = mainOpened(onGrid({ transition: 'closed' }), 1_000_000, { 'main.da1': 90 });
    forms(story, 2_000_000, each(BEHIND_MAIN, { ...SOUND, forming: 1, part: 2 }))
      .happening(3_000_000, 'main', 'touches L1', 'person')
      .frame(3_000_000, { 'main.L1': 1, ...each(BEHIND_MAIN, { part: 1 }) })
      .end(END_us);
    expect(judge(syncClose, story).outcome).toMatchObject({ is: 'fail', against: 'controller' });
  });

  it('is not armed by a touch onto a dead section, or between parts that are joined already', () => {
    const dead = relayCloses(forms(darkHouse(), 2_000_000), 3_000_000).end(END_us);
    expect(judge(syncClose, dead).armed).toBe(0);
    const around = onGrid().frame(1_000_000, { 'main.L1': 0 }).frame(2_000_000, { 'main.L1': 1 }).end(END_us);
    expect(judge(syncClose, around).armed).toBe(0);
  });

  /** The first pole of the main touches at 2 s, the other 3 ms later, when both sides are one part already. */
  const poleByPole = (story: Story, changes: Values): ReturnType<typeof judge> =>
    judge(
      syncClose,
      story
        .happening(2_000_000, 'main', 'touches L1', 'person')
        .frame(2_000_000, { 'main.L1': 1, ...each(BEHIND_MAIN, { part: 1, present1: 1 }), ...changes })
        .happening(2_003_000, 'main', 'touches L2', 'equipment')
        .frame(2_003_000, { 'main.L2': 1, ...each(BEHIND_MAIN, { present2: 1 }) })
        .end(END_us),
    );

  it('judges each pole at its own touch, by what lies across it then and against whoever moved it', () => {
    const island = mainOpened(onGrid({ transition: 'closed' }), 1_000_000, { 'main.da1': 10, 'main.da2': 170 });
    const verdict = poleByPole(island, { 'main.da2': 100 });
    expect(verdict).toMatchObject({ armed: 2, violations: { person: 0, equipment: 1 } });
    expect(verdict.outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { at_us: 2_003_000, found: 100, value: -4, about: expect.stringContaining('main L2') },
    });
  });

  it('takes the second pole for a meeting while the source of the island still forms, and not once it is gone', () => {
    const slow = (forming: number): number =>
      judge(
        syncClose,
        besideLiveGrid({ transition: 'closed' }, each(BUSES, { forming: 1 }))
          .happening(3_000_000, 'iso', 'touches L1', 'controller')
          .frame(3_000_000, { 'iso.L1': 1, ...each(BUSES, { part: 1 }) })
          .frame(3_010_000, { ...each(BUSES, { forming }), 'iso.da2': 180 })
          .happening(3_020_000, 'iso', 'touches L2', 'controller')
          .frame(3_020_000, { 'iso.L2': 1 })
          .end(END_us),
      ).violations.controller;
    expect(slow(1)).toBe(1);
    expect(slow(0)).toBe(0);
  });

  it('does not take the second pole onto a dead house for a meeting: only the first made it live', () => {
    const dead = mainOpened(onGrid({ transition: 'closed' }), 1_000_000, each(BEHIND_MAIN, { ...DARK }));
    const verdict = poleByPole(dead, { ...each(BEHIND_MAIN, { v1: 120, v2: 118, v12: 2 }), 'main.da2': 180 });
    expect(verdict.armed).toBe(0);
  });

  it('counts a bounce within 50 ms as the same touch of each pole, and one 50 ms apart as another', () => {
    const bounces = (apart_us: number): number => {
      const story = mainCloses('person')
        .frame(2_100_000, { ...poles('main', 0), ...each(BEHIND_MAIN, { part: 2, present1: 0, present2: 0 }) })
        .frame(2_100_000 + apart_us, { ...poles('main', 1), ...each(BEHIND_MAIN, { part: 1 }) });
      return judge(syncClose, story.end(END_us)).armed;
    };
    expect(bounces(49_999)).toBe(2);
    expect(bounces(50_000)).toBe(4);
  });

  it('leaves the utility’s own recloser alone: it is no pole of the site', () => {
    const story = onGrid()
      .frame(1_000_000, each(BUSES, { present1: 0, present2: 0, supply: 3 }))
      .happening(1_300_000, 'grid', 'supply back', 'utility')
      .frame(1_300_000, each(BUSES, { present1: 1, present2: 1, supply: 1 }))
      .end(END_us);
    expect(judge(syncClose, story).armed).toBe(0);
  });

  it('measures the one pole of a breaker that has one', () => {
    const { pieces } = house({ transition: 'closed' });
    const bench = piece('bench', 'breaker', ['house', 'shed'], { role: 'branch' }, ['L1']);
    const site = siteOf('shed', [...pieces, bench], { transition: 'closed' });
    const story = new Story(site, ['bench.L2', 'bench.dv2', 'bench.da2', 'bench.i2'])
      .frame(0, each(['house', 'shed'], { ...SOUND, supply: 1 }))
      .frame(1_000_000, { 'house.part': 1, 'shed.part': 2, 'bench.da1': 25 })
      .happening(2_000_000, 'bench', 'touches L1', 'person')
      .frame(2_000_000, { 'bench.L1': 1, 'shed.part': 1 });
    expect(judge(syncClose, story.end(END_us)).outcome).toMatchObject({ is: 'fail', worst: { found: 25 } });
  });
});
