import { describe, expect, it } from 'vitest';
import { RunDigest } from '../../harness/run/digest.ts';
import { Listeners } from '../../harness/run/listen.ts';
import { Timeline } from '../../harness/run/timeline.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { createReferenceController } from '../../sim/gateway/reference-controller.ts';
import type { Handover, Level } from '../../sim/network/handover.ts';
import { createRun, type Run } from '../../sim/site.ts';
import { SUPPLY, type Telemetry } from '../../sim/telemetry.ts';
import type { SimUs } from '../../sim/units.ts';
import { scenarioText } from '../helpers/sites.ts';

interface Played {
  readonly digest: string;
  /** State digest every second, and at the end. */
  readonly states: readonly string[];
  /** Every frame and happening; a difference shows where it began. */
  readonly told: readonly string[];
  readonly framesAt_us: readonly number[];
  /** Every channel at the end. */
  readonly last: Readonly<Record<string, number>>;
}

/** The last thing at an instant: what is due in the same rank comes first. */
function atTheEndOf(run: Run, at_us: number, act: () => void): void {
  const again = (): number => run.kernel.at(at_us as SimUs, 'record', 'law', 'act', act);
  run.kernel.at(at_us as SimUs, 'record', 'law', 'wait', again);
}

/** A scenario against the reference controller; `meddle` sets what it likes on the run's own queue. */
function played(scenario: Scenario, meddle: (run: Run, supplies: () => string[]) => void = () => {}): Played {
  const { site, start, seed, end_us } = scenario;
  const run = createRun({ site, start, seed, end_us });
  const listeners = new Listeners();
  const digest = new RunDigest();
  const told: string[] = [];
  const framesAt_us: number[] = [];
  let names: readonly string[] = [];
  let last: Float64Array = new Float64Array(0);
  listeners.on(run.telemetry$, (telemetry: Telemetry) => {
    digest.take(telemetry);
    if (telemetry.kind === 'head') names = telemetry.channels.map(({ name }) => name);
    if (telemetry.kind === 'happening') told.push(`${telemetry.at_us} ${telemetry.piece} ${telemetry.did}`);
    if (telemetry.kind !== 'frame') return;
    const { at_us, changed, values } = telemetry;
    last = values;
    framesAt_us.push(at_us);
    told.push(`${at_us} ${changed.map((i) => `${names[i]}=${values[i]}`).join(' ')}`);
  });
  new Timeline(run, scenario, listeners);
  const supplies = (): string[] => [...last].flatMap((v, i) => (names[i]!.endsWith('.supply') ? [SUPPLY[v]!] : []));
  const states: string[] = [];
  for (let at_us = 1e6; at_us < end_us; at_us += 1e6) atTheEndOf(run, at_us, () => states.push(run.stateDigest()));
  meddle(run, supplies);
  const controller = createReferenceController(site);
  for (;;) {
    const stop = run.next();
    listeners.check();
    if (stop.kind === 'end') break;
    if (stop.kind === 'boot') controller.boot(seed);
    else run.answer(controller.scan(stop.inputs));
  }
  states.push(run.stateDigest());
  const ends = Object.fromEntries(names.map((name, i) => [name, last[i]!]));
  return { digest: digest.hex(), states, told, framesAt_us, last: ends };
}

function expectSame(found: Played, expected: Played): void {
  expect(found.told.find((line, i) => line !== expected.told[i])).toBeUndefined();
  expect(found.told).toHaveLength(expected.told.length);
  expect(found.states).toEqual(expected.states);
  expect(found.digest).toBe(expected.digest);
}

/** A utility off 60 Hz, motors and electronics; then the street's island with PV, a dark house, the vehicle's island. */
const OUTAGE = scenarioText(`
scenario: handed-over
title: Handed over from a level to itself
site:
  site: handed-over
  buses: { service: utility, meter: utility, panel: premises, house: premises }
  pieces:
    utility: { kind: utility, at: service, neighbours: 4 kW, motorShare: 20 %, powerFactor: 0.95 }
    drop: { kind: conductor, at: [service, meter], size: 4/0 Al, neutralSize: 2/0 Al, length: 30 m }
    main: { kind: breaker, at: [meter, panel], role: main, rating: 200 A }
    bond: { kind: bond, at: panel }
    relay: { kind: relay, at: [panel, house] }
    pv: { kind: pv, at: house, rated: 5 kW }
    former: { kind: former, at: house }
    vehicle: { kind: vehicle, at: house, frequency: 60.3 Hz, interlock: relay, neutralFormer: former }
    kitchen: { kind: load, at: house, legs: [L1, N], power: 900 W }
    study: { kind: load, at: house, legs: [L2, N], type: electronic, power: 400 W, powerFactor: 0.97 }
    pump: { kind: load, at: house, legs: [L1, L2], type: motor, power: 900 W }
    range: { kind: load, at: house, legs: [L1, L2], type: zip, power: 700 W }
  settings: {}
start: { utility.frequency: 60.02 Hz, pv.irradiance: 0.9 }
end: 14 s
happenings:
  - { at: 1 s, do: utility outage }
  - { at: 9 s, do: kitchen off }
`);

/** A hand opens the main: nobody else hangs on the house, PV holds it alone, and its frequency drifts, until the gateway ends it. */
const ALONE = scenarioText(`
scenario: alone
title: PV holds a house alone
site:
  site: alone
  buses: { service: utility, panel: premises, house: premises }
  pieces:
    utility: { kind: utility, at: service }
    main: { kind: breaker, at: [service, panel], role: main, rating: 200 A }
    bond: { kind: bond, at: panel }
    relay: { kind: relay, at: [panel, house] }
    pv: { kind: pv, at: house, rated: 5 kW, detection: AFD, cf0: 0.01 }
    both: { kind: load, at: house, legs: [L1, L2], type: resonant, power: 4 kW, quality: 2.5 }
  settings: { handOpening: isolation }
start: { pv.irradiance: 0.8 }
end: 4 s
happenings:
  - { at: 0.5 s, do: main open }
  - { at: 3 s, do: pv irradiance, using: { value: 0 } }
`);

/** By how much the currents into the pieces of the house miss what its relay brings on a leg, A. */
function missing_A(scenario: Scenario, { phasors }: Handover, leg: 'L1' | 'L2'): number {
  const brought = phasors.get(`relay.${leg}`) ?? [0, 0];
  let [re, im] = [-brought[0], -brought[1]];
  for (const { id, at } of scenario.site.pieces) {
    const into = at.length === 1 && at[0] === 'house' ? phasors.get(`${id}.${leg}`) : undefined;
    re += into?.[0] ?? 0;
    im += into?.[1] ?? 0;
  }
  return Math.hypot(re, im);
}

/** Hands the network over and takes it back at each instant; what was seen of it. */
function handedOver(scenario: Scenario, instants_us: readonly number[]) {
  const seen = { supplies: new Set<string>(), turning: new Set<string>(), most: 0, handovers: 0, missing_A: 0 };
  const found = played(scenario, (run, supplies) => {
    for (const at_us of instants_us) {
      atTheEndOf(run, at_us, () => {
        const handover = run.phasors.close();
        run.phasors.open(handover);
        seen.handovers += 1;
        seen.most = Math.max(seen.most, handover.islands.length);
        for (const leg of ['L1', 'L2'] as const) {
          seen.missing_A = Math.max(seen.missing_A, missing_A(scenario, handover, leg));
        }
        const now = supplies();
        for (const supply of now) seen.supplies.add(supply);
        if (handover.islands.some(({ f_Hz }) => f_Hz !== 60)) for (const supply of now) seen.turning.add(supply);
      });
    }
  });
  return { found, seen };
}

/** Instants of the frames themselves, those a microsecond beside them, and a grid that meets no step. */
function instantsOf({ framesAt_us }: Played, end_us: number): number[] {
  const instants = new Set<number>();
  framesAt_us.forEach((at_us, i) => {
    if (at_us > 1 && at_us < end_us) instants.add(at_us + (i % 3) - 1);
  });
  for (let at_us = 777; at_us < end_us; at_us += 17_131) instants.add(at_us);
  return [...instants].sort((a, b) => a - b);
}

describe('a hand-over of the network to itself', () => {
  it.each([
    ['outage: on the grid, dark, formed by the vehicle at 60.3 Hz', OUTAGE, ['utility', 'formed', 'unformed', 'dead']],
    ['main opened by hand: unformed, then decaying', ALONE, ['utility', 'unformed', 'decaying', 'dead']],
  ] as const)('%s: at any instant it changes no bit of what follows', (_, scenario, kinds) => {
    const plain = played(scenario);
    const { found, seen } = handedOver(scenario, instantsOf(plain, scenario.end_us));
    expectSame(found, plain);
    expect(seen.handovers).toBeGreaterThan(300);
    expect([...seen.supplies]).toEqual(expect.arrayContaining([...kinds]));
    expect([...seen.turning]).toEqual(
      expect.arrayContaining(['formed', 'unformed'].filter((k) => seen.supplies.has(k))),
    );
    expect(seen.most).toBeGreaterThan(1);
    // Kirchhoff at the house, but for 1 µS of leak: also while motors and electronics are on their way.
    expect(seen.missing_A).toBeLessThan(1e-3);
  });
});

/** Stands in for a level of waves in a stretch in which nothing happens: it lets the frames turn. */
class Standing implements Level {
  #held: Handover | undefined;

  /** A pole has parted: the island is two, each in the frame it had. */
  part(away: readonly string[]): void {
    const from = this.#held!;
    const islands = from.islands.flatMap((island) => [
      { ...island, buses: island.buses.filter((id) => !away.includes(id)) },
      { ...island, buses: island.buses.filter((id) => away.includes(id)) },
    ]);
    this.#held = { ...from, islands };
  }

  open(from: Handover): void {
    this.#held = from;
  }

  advance(to_us: SimUs): void {
    const { at_us, islands, phasors } = this.#held!;
    const turned = islands.map((island) => {
      if (Math.abs(island.f_Hz - 60) < 1e-9) return island;
      const angle_rad = island.angle_rad + 2 * Math.PI * (island.f_Hz - 60) * ((to_us - at_us) / 1e6);
      return { ...island, angle_rad: Math.atan2(Math.sin(angle_rad), Math.cos(angle_rad)) };
    });
    this.#held = { at_us: to_us, islands: turned, phasors };
  }

  close(): Handover {
    return this.#held!;
  }
}

describe('a window of another level', () => {
  /** Opened and closed at these instants, s. */
  const windowed = (scenario: Scenario, from_s: number, to_s: number): { found: Played; solves: number } => {
    let solves = 0;
    const found = played(scenario, (run) => {
      const other = new Standing();
      let before = 0;
      atTheEndOf(run, from_s * 1e6, () => {
        other.open(run.phasors.close());
        before = run.counts.solves;
      });
      atTheEndOf(run, to_s * 1e6, () => {
        solves = run.counts.solves - before;
        other.advance(run.kernel.now_us);
        run.phasors.open(other.close());
      });
    });
    return { found, solves };
  };

  it.each([
    ['on the grid', 0.4, 0.7],
    ['in the island of the vehicle', 12, 12.7],
  ])('over a quiet stretch %s (%f to %f s) changes no bit of what is recorded', (_, from_s, to_s) => {
    const { found, solves } = windowed(OUTAGE, from_s, to_s);
    const plain = played(OUTAGE);
    expect(solves).toBe(0);
    expect(found.told.find((line, i) => line !== plain.told[i])).toBeUndefined();
    expect(found.digest).toBe(plain.digest);
  });

  it('keeps a change that falls into it for its end, with the happening at its own instant', () => {
    const { found, solves } = windowed(OUTAGE, 8.99, 9.05);
    const plain = played(OUTAGE);
    expect(solves).toBe(0);
    expect(found.told).toContain('9000000 kitchen off');
    const linesAt = (one: Played, at_us: number): string[] => one.told.filter((line) => line.startsWith(`${at_us} `));
    expect(linesAt(plain, 9_000_000).length).toBeGreaterThan(1);
    expect(linesAt(found, 9_000_000)).toHaveLength(1);
    expect(linesAt(found, 9_050_000).length).toBeGreaterThan(0);
    for (const channel of ['house.v1', 'house.v2', 'house.f']) {
      expect(found.last[channel]).toBeCloseTo(plain.last[channel]!, 6);
    }
  });

  it('over a load that goes off, at 60 Hz where nothing of the hand-over differs, shows it at its end', () => {
    const scenario = scenarioText(
      [
        'scenario: steady',
        'title: A load goes off',
        'site: juniper-lane.yaml',
        'start: { pv.irradiance: 0 }',
        'end: 1.1 s',
        'happenings:',
        '  - { at: 1 s, do: kitchen off }',
      ].join('\n'),
    );
    const { found } = windowed(scenario, 0.95, 1.05);
    const plain = played(scenario);
    for (const channel of ['house.v1', 'house.v2', 'main.i1']) {
      expect(found.last[channel]).toBeCloseTo(plain.last[channel]!, 9);
    }
    expect(Math.abs(plain.last['main.i1']! - plain.last['main.i2']!)).toBeGreaterThan(2);
  });

  it('over the opening of the main goes on with two islands, the house alone with its PV', () => {
    const standing = new Standing();
    const { last } = played(ALONE, (run) => {
      atTheEndOf(run, 490_000, () => standing.open(run.phasors.close()));
      atTheEndOf(run, 510_000, () => {
        standing.part(['panel', 'house']);
        standing.advance(run.kernel.now_us);
        run.phasors.open(standing.close());
      });
      atTheEndOf(run, 560_000, () => run.cutShort('seen enough'));
    });
    expect(SUPPLY[last['service.supply']!]).toBe('utility');
    expect(SUPPLY[last['house.supply']!]).toBe('unformed');
    // The capacitor of the inverter's filter draws it down.
    expect(last['house.f']).toBeLessThan(59.9);
    expect(last['house.v12']).toBeCloseTo(240, 0);
  });

  it('over steps that fall due goes on stepping at its end: an outage still ends in the island of the vehicle', () => {
    const { found, solves } = windowed(OUTAGE, 1.01, 1.06);
    const plain = played(OUTAGE);
    expect(solves).toBe(0);
    expect(found.framesAt_us.filter((at_us) => at_us > 1_060_000 && at_us < 1_200_000).length).toBeGreaterThan(20);
    expect(SUPPLY[found.last['house.supply']!]).toBe('formed');
    expect(found.last['house.v12']).toBeCloseTo(plain.last['house.v12']!, 3);
  });
});
