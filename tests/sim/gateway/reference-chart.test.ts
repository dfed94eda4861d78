import { describe, expect, it } from 'vitest';
import { REFERENCE_CHART, referenceMachine } from '../../../sim/gateway/reference-chart.ts';
import { ORDERS } from '../../../sim/gateway/reference-orders.ts';
import { TIME_NAMES } from '../../../sim/gateway/reference-parts.ts';
import { machineOf, type PlainChart, type PlainState } from '../../../sim/gateway/reference-plain.ts';
import { REASONS } from '../../../sim/gateway/reference-reasons.ts';
import { TRANSFER_STATES, type TransferState } from '../../../sim/gateway/reference-transfer.ts';
import { chartSettings, DECLARED, MiniSite, type World } from './mini-site.ts';

/** The chart as it is, but begun in another state: plain data is easily another. */
function begunIn(state: TransferState): PlainChart {
  const { transfer } = REFERENCE_CHART.regions;
  return {
    ...REFERENCE_CHART,
    regions: { ...REFERENCE_CHART.regions, transfer: { ...transfer, initial: state } as PlainState },
  };
}

/** States in which the relay is closed, so that a site begun there begins with it closed. */
const CLOSED: readonly TransferState[] = ['onUtility', 'leaving', 'standingDown', 'met', 'lockedClosed'];
const site = (state: TransferState, world: Partial<World> = {}): MiniSite =>
  new MiniSite(machineOf(begunIn(state)), chartSettings(), world, CLOSED.includes(state));
const UNLOCKED = TRANSFER_STATES.filter((state) => state !== 'locked' && state !== 'lockedClosed');
/** The longest of all waits of the short settings, and the return. */
const LONG_s = 60;

describe('REFERENCE_CHART, from every state', () => {
  it.each(UNLOCKED)('%s: beside a good utility the house is on it again, with a source and without', (state) => {
    for (const vehicle of ['awake', 'absent', 'faulty'] as const) {
      const house = site(state, { vehicle });
      expect([vehicle, house.run(LONG_s, 'onUtility')]).toEqual([vehicle, true]);
      expect(house.run(10)).toBe(true);
      expect([house.state, house.relayClosed]).toEqual(['onUtility', true]);
    }
  });

  it.each(UNLOCKED)('%s: in an outage the house is an island', (state) => {
    const house = site(state, { utility: 'gone' });
    expect(house.run(LONG_s, 'islanded')).toBe(true);
    expect(house.relayClosed).toBe(false);
  });

  it.each(UNLOCKED)('%s: in an outage without a source it waits for one, and takes it when it comes', (state) => {
    const house = site(state, { utility: 'gone', vehicle: 'absent' });
    house.run(LONG_s);
    expect(['onUtility', 'dark']).toContain(house.state);
    house.change({ vehicle: 'awake' });
    expect(house.run(LONG_s, 'islanded')).toBe(true);
  });

  it('lockedClosed keeps the house on a good utility and forms nothing; in an outage it opens and stays locked', () => {
    const house = site('lockedClosed');
    house.run(LONG_s);
    expect([house.state, house.outputs.lockout, house.relayClosed]).toEqual(['lockedClosed', 1, true]);
    house.change({ asks: 'reset' });
    expect(house.run(LONG_s, 'onUtility')).toBe(true);
    const dark = site('lockedClosed', { utility: 'gone' });
    dark.run(LONG_s);
    expect([dark.state, dark.outputs.lockout, dark.relayClosed]).toEqual(['locked', 1, false]);
  });

  it('locked stays so beside a good utility and in an outage, until a person on the spot resets it', () => {
    for (const utility of ['good', 'gone'] as const) {
      const house = site('locked', { utility });
      house.run(LONG_s);
      expect([house.state, house.outputs.lockout, house.outputs.relayCoil]).toEqual(['locked', 1, 0]);
      house.change({ asks: 'reset' });
      expect(house.state).not.toBe('locked');
      expect(house.run(LONG_s, utility === 'good' ? 'onUtility' : 'islanded')).toBe(true);
    }
  });

  it('a reset that was asked before the lockout does not end it', () => {
    const house = site('locked', { asks: 'reset' });
    house.run(LONG_s);
    expect(house.state).toBe('locked');
  });
});

describe('REFERENCE_CHART, a second outage', () => {
  const story = (): MiniSite => {
    const house = new MiniSite(referenceMachine, chartSettings());
    house.run(1);
    house.change({ utility: 'gone' });
    house.run(5);
    house.change({ utility: 'good' });
    return house;
  };

  it('at each 10 ms of the way back ends in an island, and good again, on the utility', { timeout: 120_000 }, () => {
    const whole = story();
    const from_us = whole.now_us + 2_900_000;
    expect(whole.run(30, 'onUtility')).toBe(true);
    const seen = new Set<string>();
    for (let at_us = from_us; at_us <= whole.now_us + 100_000; at_us += 10_000) {
      const house = story();
      house.run((at_us - house.now_us) / 1e6);
      seen.add(house.state);
      house.change({ utility: 'gone' });
      house.run(0.5);
      expect([at_us, house.run(10, 'islanded')]).toEqual([at_us, true]);
      house.change({ utility: 'good' });
      expect([at_us, house.run(30, 'onUtility')]).toEqual([at_us, true]);
    }
    for (const state of ['stopping', 'partingNeutral', 'closing', 'onUtility']) expect(seen).toContain(state);
  });

  it('a good utility for less than the count closes nothing', () => {
    const house = story();
    for (let i = 0; i < 5; i += 1) {
      house.run(2.9);
      house.change({ utility: 'gone' });
      house.run(0.1);
      house.change({ utility: 'good' });
    }
    expect(house.visited).not.toContain('closing');
    expect(house.state).toBe('islanded');
  });
});

describe('REFERENCE_CHART, order', () => {
  it('leaves by leaving, isolating, dead bus, neutral, proof, and comes back by stopping, neutral, closing', () => {
    const house = new MiniSite(referenceMachine, chartSettings());
    house.change({ utility: 'gone' });
    house.run(5);
    house.change({ utility: 'good' });
    house.run(20, 'onUtility');
    const order = [...house.visited];
    expect(order).toEqual([
      'onUtility',
      'isolating',
      'deadBus',
      'formingNeutral',
      'proving',
      'forming',
      'islanded',
      'stopping',
      'resting',
      'partingNeutral',
      'closing',
    ]);
  });

  it('a welded pole behind contacts that lie is not proven: no form order, and lockout', () => {
    const house = new MiniSite(referenceMachine, chartSettings(), { welded: true });
    house.change({ utility: 'gone' });
    expect(house.run(5, 'locked')).toBe(true);
    expect(house.visited).not.toContain('forming');
    expect(house.outputs.reason).toBe(REASONS.notProven.code);
  });

  it('a relay that does not open locks out 100 ms after the order; by policy the voltage test may overrule', () => {
    const house = new MiniSite(referenceMachine, chartSettings(), { stuck: true });
    house.change({ utility: 'gone' });
    expect(house.run(5, 'isolating')).toBe(true);
    const ordered_us = house.now_us;
    expect(house.run(5, 'locked')).toBe(true);
    expect(house.now_us - ordered_us).toBe(100_000);
    const bold = new MiniSite(referenceMachine, chartSettings({ stuckContact: 'voltage test' }), { stuck: true });
    bold.change({ utility: 'gone' });
    expect(bold.run(5, 'awaitingDeadBus')).toBe(false); // Both poles are closed: no contact is overruled by that.
    expect(bold.visited).not.toContain('proving');
  });

  it('a contact that never says open locks out; by policy the voltage test overrules it, but not on a welded pole', () => {
    const endsIn = (stuckContact: 'lockout' | 'voltage test', welded: boolean): string => {
      const house = new MiniSite(referenceMachine, chartSettings({ stuckContact }), { mute: true, welded });
      house.change({ utility: 'gone' });
      house.run(30);
      return house.state;
    };
    expect(endsIn('lockout', false)).toBe('locked');
    expect(endsIn('voltage test', false)).toBe('islanded');
    expect(endsIn('voltage test', true)).toBe('locked');
  });

  it('a short circuit is tried once more; where it holds the test voltage down it is no weld, and the utility ends it', () => {
    const house = new MiniSite(referenceMachine, chartSettings());
    house.change({ utility: 'gone' });
    house.run(5, 'islanded');
    house.change({ vehicle: 'shorted', welded: true });
    expect(house.state).toBe('dark');
    house.change({ vehicle: 'awake' });
    expect(house.run(5, 'proving')).toBe(true);
    house.run(300);
    expect([house.state, house.outputs.vehicleCommand]).toEqual(['dark', 5]);
    expect(house.outputs.reason).toBe(REASONS.shortCircuit.code);
    house.change({ utility: 'good' });
    expect(house.run(10, 'onUtility')).toBe(true);
  });

  it('a closed transition meets in step, and the source goes as the relay touches', () => {
    const house = new MiniSite(referenceMachine, chartSettings({ transition: 'closed' }));
    house.change({ utility: 'gone' });
    house.run(5);
    house.change({ utility: 'good' });
    expect(house.run(30, 'onUtility')).toBe(true);
    expect([...house.visited]).toContain('meeting');
    expect([...house.visited]).not.toContain('stopping');
  });

  it('three tries to close, each after an island anew; then it runs on and tells', () => {
    const house = new MiniSite(referenceMachine, chartSettings());
    house.change({ utility: 'gone' });
    house.run(5);
    house.change({ utility: 'good', stuck: true });
    house.run(60);
    expect(house.state).toBe('islanded');
    expect(house.actor.getSnapshot().context.closeTries).toBe(3);
    expect(house.outputs.reason).toBe(REASONS.doesNotClose.code);
    house.change({ stuck: false, asks: 'reset' });
    expect(house.run(30, 'onUtility')).toBe(true);
  });
});

describe('REFERENCE_CHART, the main opened by hand', () => {
  it('dark until a person on the spot asks; a request lapses after 10 min', () => {
    const house = new MiniSite(referenceMachine, chartSettings(), { vehicle: 'absent' });
    house.change({ mainOpen: true });
    expect(house.run(5, 'openedByHand')).toBe(true);
    house.change({ asks: 'form' });
    house.run(599);
    expect(house.places['request']).toBe('asked');
    house.run(2);
    house.change({ vehicle: 'awake' });
    house.run(60);
    expect(house.state).toBe('openedByHand');
    house.change({ asks: 'nothing' });
    house.change({ asks: 'form' });
    expect(house.run(10, 'islanded')).toBe(true);
  });

  it('stays dark when the hand comes while the island is being made', () => {
    for (const state of ['isolating', 'deadBus', 'formingNeutral', 'proving', 'forming'] as const) {
      const house = new MiniSite(referenceMachine, chartSettings());
      house.change({ utility: 'gone' });
      expect([state, house.run(5, state)]).toEqual([state, true]);
      house.change({ mainOpen: true });
      house.run(60);
      expect([state, house.state]).toEqual([state, 'openedByHand']);
    }
  });

  it('forms by itself where an opening counts as an outage', () => {
    const house = new MiniSite(referenceMachine, chartSettings({ handOpening: 'outage' }));
    house.change({ mainOpen: true });
    expect(house.run(10, 'islanded')).toBe(true);
  });
});

describe('REFERENCE_CHART, as data', () => {
  it('has an order for every state of the transfer, and a state for every order', () => {
    const states = Object.keys(REFERENCE_CHART.regions['transfer']?.states ?? {});
    expect([...states].sort()).toEqual([...TRANSFER_STATES].sort());
    expect(Object.keys(ORDERS).sort()).toEqual([...TRANSFER_STATES].sort());
  });

  it('goes through JSON and back unchanged', () => {
    expect(JSON.parse(JSON.stringify(REFERENCE_CHART))).toEqual(REFERENCE_CHART);
  });

  it('takes each of its times from a setting of the site', () => {
    for (const name of TIME_NAMES) expect(DECLARED).toContain(name);
  });

  it('has a code of its own for each reason', () => {
    const codes = Object.values(REASONS).map(({ code }) => code);
    expect(new Set(codes).size).toBe(codes.length);
  });

  it('is wrong once a guard is: a chart that skips the proof forms on a welded pole', () => {
    const text = JSON.stringify(REFERENCE_CHART).replace('{"if":["polesProved"],"to":"proved"}', '{"to":"proved"}');
    const wrong = JSON.parse(
      text.replace('{"if":["!polesProved"],"to":"unproved"}', '{"if":["!openProved"],"to":"unproved"}'),
    );
    const house = new MiniSite(machineOf(wrong as PlainChart), chartSettings(), { welded: true });
    house.change({ utility: 'gone' });
    expect(house.run(5, 'forming')).toBe(true);
  });
});
