import { describe, expect, it } from 'vitest';
import { siteFacts } from '../../../harness/rules/index.ts';
import type { Verdict } from '../../../harness/rules/rule.ts';
import { shortTimeShare, smallestRating } from '../../../harness/rules/smallest-rating.ts';
import { sourceLimits } from '../../../harness/rules/source-limits.ts';
import type { Bag, SiteDescription } from '../../../sim/site-description.ts';
import { charging } from './equipment-stories.ts';
import { CAR_STOPS, darkHouse, forms, house, ON_GRID, onGrid, PV_RUNS, PV_STOPS, STREET_DARK } from './house.ts';
import { judge, Story, type Values } from './telemetry-builder.ts';

const of = (story: Story, end_us = 60_000_000): Verdict => judge(sourceLimits, story.end(end_us));
const about = ({ outcome }: Verdict): string => (outcome.is === 'not exercised' ? outcome.why : outcome.worst.about);

/** An island from 3 s on; a person switches the heater on at 10 s, and from then the source gives this. */
const island = (current_A: number, changes: Values = {}): Story =>
  forms(darkHouse(), 3_000_000, { 'car.i': 10 })
    .happening(10_000_000, 'heater', 'on', 'person')
    .frame(10_000_000, { 'heater.on': 1, 'car.i': current_A, ...changes });
const ends = (story: Story, at_us: number): Story => story.frame(at_us, { ...CAR_STOPS, 'heater.on': 0 });

describe('source-limits', () => {
  it('is never armed while nothing runs and nothing charges', () => {
    const still = new Story(house()).frame(0, { ...ON_GRID, ...PV_STOPS }).frame(9_000_000, { 'car.contactor': 1 });
    expect(of(still).outcome).toEqual({ is: 'not exercised', why: 'never armed' });
  });

  it('allows an order of 0.80 of the supply breaker, and 1 mA more it does not, against the controller', () => {
    const ordered = (limit_mA: number) => of(charging(20, { 'gateway.vehicleLimit': limit_mA }));
    expect(ordered(40_000).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 40, limit: 40 } });
    expect(ordered(40_001).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { limit: 40 } });
  });

  it('judges an order that is raised while it charges, and none while it does nothing', () => {
    const raised = charging(20, { 'gateway.vehicleLimit': 20_000 }).frame(5_000_000, {
      'gateway.vehicleLimit': 50_000,
    });
    expect(of(raised).violations.controller).toBe(1);
    expect(of(onGrid().frame(5_000_000, { 'gateway.vehicleLimit': 50_000 })).violations.controller).toBe(0);
  });

  it('allows 1.02 of the smallest rating from 6 s after a step, and not more, against who made the step', () => {
    expect(of(island(40.8)).outcome).toMatchObject({ is: 'pass' });
    const over = of(island(41));
    expect(over.outcome).toMatchObject({ is: 'fail', against: 'person', worst: { found: 41, limit: 40.8, unit: 'A' } });
    expect(about(over)).toContain('0.80 of its supply breaker');
    expect(over.violations).toMatchObject({ person: 1, controller: 0 });
  });

  it('takes the first one-second value from 6 s to 7 s after the step', () => {
    // Seven seconds and 1 µs: the window from 6 s to 7 s has been full, and went on.
    expect(of(ends(island(48), 17_000_000)).outcome.is).toBe('pass');
    expect(of(ends(island(48), 17_000_001)).outcome.is).toBe('fail');
  });

  it('allows the short-time rating before: 1.5 for 0.2 s and 1.2 for the rest of a second', () => {
    const share = shortTimeShare(house().pieces.find(({ id }) => id === 'car')!.params);
    expect(share).toBeCloseTo(Math.sqrt(0.2 * 1.5 ** 2 + 0.8 * 1.2 ** 2), 12);
    const peak_A = 1.02 * 40 * share;
    expect(of(ends(island(peak_A - 0.01), 15_000_000)).outcome.is).toBe('pass');
    const over = of(ends(island(peak_A + 0.01), 15_000_000));
    expect(over.outcome.is).toBe('fail');
    expect(about(over)).toContain('short-time rating');
  });

  it('starts anew with each step, so that no value reaches back over one', () => {
    const story = island(48);
    for (const [step_us, on] of [
      [14_000_000, 1],
      [18_000_000, 0],
      [22_000_000, 1],
    ] as const) {
      story.happening(step_us, 'office', 'on', 'person').frame(step_us, { 'office.on': on });
    }
    expect(of(ends(story, 27_000_000)).outcome.is).toBe('pass');
  });

  it('holds a charge to a lower order from 6 s after it, against the equipment that does not follow', () => {
    const lowered = (current_A: number): Story =>
      charging(30, { 'gateway.vehicleLimit': 32_000 })
        .frame(10_000_000, { 'gateway.vehicleLimit': 16_000 })
        .frame(15_000_000, { 'car.i': current_A, 'car.p': -240 * current_A });
    expect(of(lowered(16.3)).outcome.is).toBe('pass');
    expect(of(lowered(16.4)).outcome).toMatchObject({
      is: 'fail',
      against: 'equipment',
      worst: { found: 16.4, scale: 40 },
    });
  });

  it('reports the warmest breaker beside a source, and holds a trip by heat against who loaded it', () => {
    const warm = of(island(20, { 'ev-breaker.thermal': 0.95 }));
    expect(warm.outcome).toMatchObject({ is: 'pass' });
    const tripped = island(20, { 'ev-breaker.thermal': 0.95 })
      .happening(20_000_000, 'ev-breaker', 'trips thermal', 'equipment')
      .frame(20_000_000, { 'ev-breaker.thermal': 1 });
    expect(of(tripped).outcome).toMatchObject({
      is: 'fail',
      against: 'person',
      worst: { value: -1, at_us: 20_000_000 },
    });
  });

  it('holds a trip under charge against the controller that raised it', () => {
    const raised = charging(20, { 'gateway.vehicleLimit': 20_000 })
      .frame(5_000_000, { 'gateway.vehicleLimit': 32_000, 'car.i': 32 })
      .happening(9_000_000, 'main', 'trips thermal', 'equipment')
      .frame(9_000_000, { 'main.thermal': 1 });
    expect(of(raised).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { value: -1 } });
  });

  it('leaves what flows in an island with who switched it on, though another limit is ordered', () => {
    const ordered = island(41).frame(30_000_000, { 'gateway.vehicleLimit': 20_000 });
    expect(of(ordered).violations).toMatchObject({ person: 2, controller: 0 });
  });

  it('does not ask of a breaker that trips in another part', () => {
    const elsewhere = island(20).happening(20_000_000, 'main', 'trips thermal', 'equipment');
    expect(of(elsewhere.frame(20_000_000, { 'main.thermal': 1 })).outcome.is).toBe('pass');
  });
});

describe('source-limits, busbar', () => {
  /** Main of 200 A on a busbar of this rating; PV and vehicle give into the live street. */
  const feeds = (busbar: number, pv_A: number, car_A: number, settings: Bag = {}): Story =>
    new Story(house({ busbar, ...settings }))
      .frame(0, { ...ON_GRID, ...PV_RUNS, 'roof.i': pv_A })
      .happening(1_000_000, 'car', 'starts', 'controller')
      .frame(1_000_000, {
        'car.energises': car_A > 0 ? 1 : 0,
        'car.i': car_A,
        'gateway.vehicleCommand': 2,
        'gateway.vehicleLimit': 40_000,
      });

  it('allows 1.20 of its rating: a main of 200 A and 1.25 of 32 A on 200 A', () => {
    expect(of(feeds(200, 32, 0)).outcome).toMatchObject({ is: 'pass', worst: { value: 0, found: 240, limit: 240 } });
  });

  it('holds what an inverter alone overfeeds against the site', () => {
    const over = of(feeds(200, 33, 0));
    expect(over.outcome).toMatchObject({ is: 'fail', against: 'site', worst: { found: 241.25, limit: 240 } });
    expect(about(over)).toContain('busbar');
  });

  it('adds a vehicle that gives, against who had it give', () => {
    expect(of(feeds(200, 20, 20)).outcome).toMatchObject({ is: 'fail', against: 'controller', worst: { found: 250 } });
  });

  it('counts no main where the street is dead, and nothing where the busbar is not given', () => {
    expect(of(feeds(200, 33, 0).frame(500_000, STREET_DARK)).outcome.is).toBe('pass');
    expect(of(feeds(0, 33, 0)).outcome.is).toBe('pass');
  });
});

describe('smallestRating', () => {
  const ratingOf = (params: Bag, settings: Bag = {}, relay = 200) => {
    const site = house(settings);
    const pieces = site.pieces.map((piece) => {
      if (piece.id === 'car') return { ...piece, params: { ...piece.params, ...params } };
      return piece.id === 'iso' ? { ...piece, params: { rating: relay } } : piece;
    });
    const facts = siteFacts({ ...site, pieces } satisfies SiteDescription);
    return smallestRating(facts, facts.forming[0]!);
  };

  it('asks nothing of a relay that stands elsewhere', () => {
    const site = house();
    const other = {
      ...site.pieces.find(({ id }) => id === 'iso')!,
      id: 'shed-relay',
      at: ['house', 'shed'],
      params: { rating: 10 },
    };
    const facts = siteFacts({
      ...site,
      buses: [...site.buses, { id: 'shed', side: 'premises' }],
      pieces: [...site.pieces, other],
    });
    expect(smallestRating(facts, facts.forming[0]!).current_A).toBe(40);
  });

  it.each([
    [{ rated: 9600, supplyBreaker: 60 }, {}, 200, 40, 'its own rating'],
    [{ cable: 32 }, {}, 200, 32, 'its cable'],
    [{ supplyBreaker: 40 }, {}, 200, 32, '0.80 of its supply breaker'],
    [{}, {}, 30, 30, 'relay iso'],
    [{}, { busbar: 25 }, 200, 25, 'the busbar'],
  ] as const)('of %o with settings %o and a relay of %f A is %f A, %s', (params, settings, relay, current_A, of) => {
    expect(ratingOf(params, settings, relay)).toEqual({ current_A, of });
  });
});
