import { describe, expect, it } from 'vitest';
import { RULES } from '../../../harness/rules/index.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import type { Piece } from '../../../sim/site-description.ts';
import type { Origin } from '../../../sim/telemetry.ts';
import {
  BEHIND_MAIN,
  BEHIND_RELAY,
  BUSES,
  CAR_STOPS,
  DARK,
  darkHouse,
  forms,
  HOUSE_FORMED,
  house,
  mainOpened,
  ON_GRID,
  onGrid,
  outage,
  PV_RUNS,
  PV_STOPS,
  paths,
  piece,
  poles,
  SOUND,
  siteOf,
} from './house.ts';
import { relayOpens } from './stories.ts';
import { each, judge, Story } from './telemetry-builder.ts';

/** What each rule says of a story that ends at 6 s: "-" never armed, "ok" passed, else whom the violations are held against. */
function said(story: Story): Readonly<Record<string, string>> {
  story.end(6_000_000);
  return Object.fromEntries(RULES.map((rule) => [rule.id, inWords(judge(rule, story))]));
}

function inWords({ armed, outcome, violations }: Verdict): string {
  const against = Object.entries(violations).filter(([, count]) => count > 0);
  if (against.length > 0) return against.map(([origin]) => origin).join(' ');
  return armed === 0 ? '-' : outcome.is === 'pass' ? 'ok' : outcome.is;
}

const quietHouse = () => new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0, 'roof.tripped': 1 });
const movedTo = (bus: string): Piece[] =>
  house().pieces.map((one) => (one.id === 'roof' ? piece('roof', 'pv', [bus], one.params) : one));
const utilityBack = each(BUSES, { ...SOUND, supply: 1, present1: 1, present2: 1 });

describe('an outage above a closed relay', () => {
  it('is no-backfeed and cease-on-island while PV runs, both from the same start', () => {
    const story = outage(onGrid(), 1_000_000);
    expect(said(story)).toMatchObject({
      'no-backfeed': 'utility',
      'cease-on-island': 'utility',
      'reference-order': '-',
    });
  });

  it('is reference-order too where the relay opens on more than 1 % of the PV', () => {
    const story = relayOpens(outage(onGrid(), 1_000_000), 1_500_000);
    expect(said(story)).toMatchObject({ 'no-backfeed': 'ok', 'reference-order': 'controller' });
  });

  it('clears every timer where the recloser is back after 0.3 s while PV runs, and is no sync-close', () => {
    const story = outage(onGrid(), 1_000_000).happening(1_300_000, 'grid', 'supply back', 'utility');
    expect(said(story.frame(1_300_000, utilityBack))).toMatchObject({
      'no-backfeed': 'ok',
      'cease-on-island': 'ok',
      'sync-close': '-',
    });
  });

  it('is timed on through a restart of the controller, and still held against the utility', () => {
    const story = outage(onGrid(), 1_000_000)
      .happening(2_000_000, 'gateway', 'boots', 'equipment')
      .frame(2_000_000, { 'gateway.vehicleCommand': 0 })
      .frame(3_300_000, PV_STOPS);
    expect(said(story)).toMatchObject({ 'no-backfeed': 'utility', 'cease-on-island': 'utility' });
  });

  it('finds no utility in a street that other people’s inverters hold up, and no back-feed without a path', () => {
    const street = each(['service', 'panel'], { v1: 118, v2: 118, v12: 236, u1: 118, u2: 118, u12: 236, supply: 3 });
    expect(said(forms(darkHouse(), 3_000_000, street))).toMatchObject({ 'no-backfeed': 'ok', 'dead-bus-form': 'ok' });
    expect(said(outage(onGrid(), 1_000_000).frame(1_000_000, street))).toMatchObject({ 'no-backfeed': 'utility' });
  });
});

describe('a main above the relay', () => {
  it('opened by hand over running PV: no path to the street, but an island, an order and the legs', () => {
    const story = mainOpened(onGrid(), 1_000_000, { 'house.u2': 190 });
    expect(said(story)).toMatchObject({
      'no-backfeed': '-',
      'cease-on-island': 'person',
      'sync-close': '-',
      'dead-bus-form': '-',
      'reference-order': '-',
      'manual-order': 'person',
      'leg-voltage': 'person',
    });
  });

  it('opened from afar by the utility: the same island, and no person to hold it against', () => {
    const story = onGrid()
      .happening(1_000_000, 'main', 'parts L1', 'utility')
      .happening(1_000_000, 'main', 'parts L2', 'utility');
    story.frame(1_000_000, {
      ...poles('main', 0),
      ...each(BEHIND_MAIN, { present1: 0, present2: 0, supply: 3, part: 2, neutralHeld: 0, u2: 190 }),
      ...paths('roof', 0),
      ...paths('car', 0),
    });
    expect(said(story)).toMatchObject({
      'no-backfeed': '-',
      'cease-on-island': 'utility',
      'manual-order': '-',
      'leg-voltage': 'utility',
    });
  });

  it('closed again while an island stands behind the open relay: only the panel comes alive', () => {
    const alone = forms(darkHouse(), 2_000_000)
      .happening(3_000_000, 'main', 'parts L1', 'person')
      .happening(3_000_000, 'main', 'parts L2', 'person')
      .frame(3_000_000, { ...poles('main', 0), 'panel.part': 5 })
      .frame(3_500_000, each(['service'], { ...SOUND, supply: 1, present1: 1, present2: 1 }))
      .happening(4_000_000, 'main', 'touches L1', 'person')
      .happening(4_000_000, 'main', 'touches L2', 'person')
      .frame(4_000_000, {
        ...poles('main', 1),
        ...each(['panel'], { ...SOUND, part: 1, supply: 1, present1: 1, present2: 1 }),
      });
    expect(said(alone)).toMatchObject({ 'sync-close': '-', 'manual-order': '-', 'dead-bus-form': 'ok' });
  });

  it('closed by hand onto what PV holds up: sync-close and manual-order, against the person', () => {
    const story = mainOpened(quietHouse(), 1_000_000, { ...PV_RUNS, 'main.da1': 90, 'main.da2': 90 })
      .happening(1_500_000, 'main', 'touches L1', 'person')
      .frame(1_500_000, { 'main.L1': 1, ...each(BEHIND_MAIN, { part: 1, present1: 1, supply: 1 }) })
      .happening(1_502_000, 'main', 'touches L2', 'person')
      .frame(1_502_000, { 'main.L2': 1, ...each(BEHIND_MAIN, { present2: 1 }) });
    expect(said(story)).toMatchObject({ 'sync-close': 'person', 'manual-order': 'person', 'cease-on-island': 'ok' });
  });
});

describe('a main below the relay', () => {
  const below = siteOf('below', [
    ...house().pieces.filter(({ id }) => id !== 'main' && id !== 'iso'),
    piece('iso', 'relay', ['service', 'panel']),
    piece('main', 'breaker', ['panel', 'house'], { role: 'main' }),
  ]);

  it('opened and closed again over a vehicle that formed meanwhile: the relay was closed, so it is the controller’s', () => {
    const story = new Story(below)
      .frame(0, { ...ON_GRID, ...PV_STOPS, 'roof.permit': 0, 'roof.tripped': 1 })
      .happening(1_000_000, 'main', 'parts L1', 'person')
      .happening(1_000_000, 'main', 'parts L2', 'person')
      .frame(1_000_000, {
        ...poles('main', 0),
        ...each(BEHIND_RELAY, { ...DARK, present1: 0, present2: 0, part: 2 }),
        ...paths('roof', 0),
        ...paths('car', 0),
      });
    forms(story, 2_000_000, {}, {})
      .happening(3_000_000, 'main', 'touches L1', 'person')
      .happening(3_000_000, 'main', 'touches L2', 'person')
      .frame(3_000_000, { ...poles('main', 1), ...each(BEHIND_RELAY, { part: 1, present1: 1, present2: 1 }) });
    expect(said(story)).toMatchObject({
      'dead-bus-form': 'controller',
      'sync-close': 'controller',
      'manual-order': 'ok', // The vehicle was idle when the main opened.
    });
  });
});

describe('PV that is not behind the relay', () => {
  it('ahead of the main belongs to the street in an outage, whatever the relay does', () => {
    const story = new Story(siteOf('ahead', movedTo('service'))).frame(0, ON_GRID);
    outage(story, 1_000_000);
    relayOpens(story, 1_200_000, { ...PV_RUNS, ...paths('roof', 1) });
    expect(said(story)).toMatchObject({
      'no-backfeed': 'utility',
      'cease-on-island': 'utility',
      'manual-order': '-',
    });
  });

  it('between main and relay is judged without the relay, and never against the controller', () => {
    const story = new Story(siteOf('between', movedTo('panel'))).frame(0, ON_GRID);
    relayOpens(story, 500_000, { ...PV_RUNS, ...paths('roof', 1) });
    outage(story, 1_000_000);
    expect(said(story)).toMatchObject({
      'no-backfeed': 'utility',
      'cease-on-island': 'utility',
      'reference-order': 'ok',
    });
  });
});

describe('a relay that does not part', () => {
  it('on one pole, its contact truthful: no forming, and forming is the controller’s', () => {
    const welded = { 'iso.L1': 2, 'iso.openProved1': 0, 'iso.closedProved1': 1, 'car.path1': 1 };
    const story = darkHouse().happening(1_600_000, 'iso', 'welds L1', 'equipment').frame(1_600_000, welded);
    expect(said(story)).toMatchObject({ 'dead-bus-form': '-' });
    const again = darkHouse().happening(1_600_000, 'iso', 'welds L1', 'equipment').frame(1_600_000, welded);
    const seen = { 'gateway.in.relayL1Closed': 1 };
    expect(said(forms(again, 3_000_000, {}, seen))).toMatchObject({ 'dead-bus-form': 'controller' });
  });
});

describe('a return that fails', () => {
  it('in the gap between source off and touch: a touch onto a dead section is no meeting', () => {
    const story = forms(darkHouse(), 2_000_000)
      .frame(3_000_000, utilityBack)
      .happening(3_100_000, 'car', 'stops', 'controller')
      .frame(3_100_000, { ...CAR_STOPS, ...each(BEHIND_RELAY, DARK), 'gateway.vehicleCommand': 0 })
      .frame(3_150_000, each(['service', 'panel'], { ...DARK, present1: 0, present2: 0 }))
      .happening(3_200_000, 'iso', 'touches L1', 'controller')
      .frame(3_200_000, { 'iso.L1': 1, ...each(BEHIND_RELAY, { part: 1 }) });
    expect(said(story)).toMatchObject({ 'sync-close': '-' });
  });
});

describe('one leg of the utility lost', () => {
  const lost = (story: Story): Story =>
    story.happening(1_000_000, 'grid', 'leg lost L2', 'utility').frame(1_000_000, each(BUSES, { present2: 0 }));

  it('and bridged by a 240 V load is no back-feed: nothing in the house makes that voltage', () => {
    const story = lost(quietHouse()).frame(1_020_000, each(BUSES, { v2: 110, u2: 110, v12: 10, u12: 10 }));
    expect(said(story)).toMatchObject({ 'no-backfeed': 'ok', 'cease-on-island': '-' });
  });

  it('and driven up by PV across the legs is held against the utility', () => {
    const story = lost(onGrid()).frame(1_020_000, each(BUSES, { u2: 160 }));
    expect(said(story)).toMatchObject({ 'no-backfeed': 'utility', 'leg-voltage': 'utility' });
  });
});

describe('an island that loses what holds it', () => {
  const stops = (origin: Origin): Story =>
    forms(darkHouse(), 2_000_000)
      .frame(3_000_000, { ...PV_RUNS, ...each(BEHIND_RELAY, { following: 1 }) })
      .happening(3_500_000, 'car', 'stops', origin)
      .frame(3_500_000, { ...CAR_STOPS, ...each(BEHIND_RELAY, { forming: 0, supply: 3, neutralHeld: 0 }) })
      .frame(3_520_000, { 'house.u1': 190 });

  it('by itself, PV on: a new island and the legs, against the equipment; by order: reference-order', () => {
    expect(said(stops('equipment'))).toMatchObject({
      'cease-on-island': 'equipment',
      'leg-voltage': 'equipment',
      'reference-order': 'ok', // The relay's opening, over a quiet PV.
    });
    expect(said(stops('controller'))).toMatchObject({
      'cease-on-island': 'controller',
      'reference-order': 'controller',
    });
  });

  it('by a neutral former that drops out by itself: nobody’s order', () => {
    const site = siteOf('house', [...house().pieces, piece('former', 'former', ['house'])]);
    const story = new Story(site)
      .frame(0, {
        ...ON_GRID,
        ...PV_RUNS,
        ...poles('iso', 0),
        ...HOUSE_FORMED,
        ...each(BEHIND_RELAY, { present1: 0, present2: 0, part: 2 }),
      })
      .happening(2_000_000, 'former', 'parts L1', 'equipment')
      .frame(2_000_000, each(BEHIND_RELAY, { neutralHeld: 0 }));
    expect(said(story)).toMatchObject({ 'reference-order': '-', 'manual-order': '-' });
  });
});
