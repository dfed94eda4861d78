import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { breaker } from '../../sim/equipment/breaker.ts';
import { conductor } from '../../sim/equipment/conductor.ts';
import { load } from '../../sim/equipment/load.ts';
import { ZIP_CLASSES } from '../../sim/equipment/load-zip.ts';
import { pv } from '../../sim/equipment/pv.ts';
import { utility } from '../../sim/equipment/utility.ts';
import type { PhasorDevice } from '../../sim/network/device.ts';
import type { Wiring } from '../../sim/network/wiring.ts';
import type { Bag, Conductor } from '../../sim/site-description.ts';
import { Rig, type RigPiece } from '../sim/equipment/rig.ts';
import { currentSource } from '../sim/equipment/rig-devices.ts';
import { booksOf } from './network-rig.ts';

const S = 1_000_000;
const LEGS: readonly (readonly Conductor[])[] = [
  ['L1', 'N'],
  ['L2', 'N'],
  ['L1', 'L2'],
];

interface Joint {
  /** Share of the way back to an earlier bus. */
  readonly parent: number;
  readonly kind: 'conductor' | 'breaker';
  readonly length_m: number;
}
interface Wanted {
  readonly bus: number;
  readonly legs: readonly Conductor[];
  readonly params: Bag;
}
interface Site {
  readonly joints: readonly Joint[];
  readonly loads: readonly Wanted[];
  readonly pv_W: number;
  readonly volts_pu: number;
}

const share = fc.double({ min: 0, max: 0.999, noNaN: true });
const between = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const joint = fc.record({
  parent: share,
  kind: fc.constantFrom('conductor' as const, 'breaker' as const),
  length_m: between(3, 60),
});

const constant: fc.Arbitrary<Bag> = fc.oneof(
  fc.record({
    type: fc.constant('impedance'),
    power: between(20, 3000),
    powerFactor: between(0.5, 1),
    reactive: fc.constantFrom('lagging', 'leading'),
  }),
  fc.record({
    type: fc.constant('resonant'),
    power: between(50, 2000),
    quality: between(0.1, 3),
    resonance: between(50, 70),
  }),
);
const adapting: fc.Arbitrary<Bag> = fc.oneof(
  fc.record({
    type: fc.constant('zip'),
    power: between(50, 1500),
    powerFactor: between(0.9, 1),
    zipClass: fc.constantFrom('A', 'B', 'C', 'D', 'E', 'F'),
  }),
  fc.record({ type: fc.constant('electronic'), power: between(50, 1500), powerFactor: between(0.9, 1) }),
  fc.record({ type: fc.constant('motor'), power: between(100, 1500), torque: between(0.3, 0.9) }),
);

const site = (params: fc.Arbitrary<Bag>): fc.Arbitrary<Site> =>
  fc.record({
    joints: fc.array(joint, { minLength: 1, maxLength: 4 }),
    loads: fc.array(fc.record({ bus: share, legs: fc.constantFrom(...LEGS), params }), { minLength: 1, maxLength: 6 }),
    pv_W: fc.constantFrom(0, 1500, 4000),
    volts_pu: between(0.96, 1.04),
  });

const busName = (index: number): string => (index === 0 ? 'service' : `bus${index}`);

function piecesOf({ joints, loads }: Site): RigPiece[] {
  const tree = joints.map(({ parent, kind, length_m }, i): RigPiece => {
    const at = [busName(Math.floor(parent * (i + 1))), busName(i + 1)];
    return kind === 'conductor'
      ? { kind: conductor, id: `joint${i}`, at, params: { length: length_m } }
      : { kind: breaker, id: `joint${i}`, at, legs: ['L1', 'L2'], params: { rating: 200 } };
  });
  const hung = loads.map(({ bus, legs, params }, i): RigPiece => {
    const at = [busName(Math.floor(bus * (joints.length + 1)))];
    return { kind: load, id: `load${i}`, at, legs, params };
  });
  return [...tree, ...hung];
}

function rigOf(wanted: Site, devices?: (wiring: Wiring) => readonly PhasorDevice[]): Rig {
  const supplied = devices === undefined;
  const street: RigPiece = { kind: utility, id: 'street', at: ['service'], start: { voltage: wanted.volts_pu } };
  const sun: RigPiece = {
    kind: pv,
    id: 'sun',
    at: [busName(wanted.joints.length)],
    params: { rated: Math.max(1000, wanted.pv_W) },
  };
  return new Rig({
    buses: [0, ...wanted.joints.map((_, i) => i + 1)].map(busName),
    pieces: [...(supplied ? [street] : []), ...piecesOf(wanted), ...(supplied && wanted.pv_W > 0 ? [sun] : [])],
    ...(devices === undefined ? {} : { devices }),
  });
}

/** Books of every part that is alive: nothing missing at any node, and all powers together nothing. */
function checkBooks(rig: Rig, pieceIds: readonly string[]): void {
  for (const part of rig.level.parts) {
    if (part.kind === 'dead') continue;
    const books = booksOf(rig.wiring, part);
    expect(books.missing_A).toBeLessThan(1e-9 * books.throughput_A);
    const powers = [...books.devices.values()];
    const sum_W = powers.reduce((sum, power) => sum + power, books.wires_W);
    // The street alone turns over 3 MVA in its Norton pair: less than 100 W through the site drowns in its rounding.
    const through_W = Math.max(
      100,
      powers.reduce((sum, power) => sum + Math.abs(power), 0),
    );
    expect(Math.abs(sum_W)).toBeLessThan(1e-9 * through_W);
    // What a load shows is what it takes.
    for (const id of pieceIds) {
      const shown_W = rig.value(`${id}.p`);
      const [device] = rig.piece(id).devices;
      const taken_W = books.devices.get(device!);
      if (taken_W !== undefined) expect(Math.abs(shown_W - taken_W)).toBeLessThan(1e-9 * through_W);
    }
  }
}

/** Power of a load by its own law, W, at u pu of its nominal voltage. */
function lawOf(params: Bag, u: number): number {
  const power_W = params.power as number;
  if (params.type === 'electronic') return power_W;
  if (params.type === 'impedance' || params.type === 'resonant') return power_W * u * u;
  if (params.type === 'motor') return motorPower_W(power_W, params.torque as number, u);
  const { zp, ip, pp } = ZIP_CLASSES[params.zipClass as string]!;
  return power_W * (zp * u * u + ip * u + pp);
}

/**
 * Textbook circuit: Rs + jl, then jXm beside Rr/s + jl, with l + Xm = 2.5, transient reactance 0.12, rotor 0.1 s; the slip at
 * which |Ir|² Rr/s is the torque.
 */
function motorPower_W(power_W: number, torque: number, u: number): number {
  const xm = Math.sqrt(2.38 * 2.5);
  const l = 2.5 - xm;
  const at = (slip: number) => {
    const rotor = 2.5 / (2 * Math.PI * 60 * 0.1) / slip;
    const size2 = rotor ** 2 + 2.5 ** 2;
    const re = (xm * xm * rotor) / size2;
    const im = (xm * (rotor ** 2 + l * 2.5)) / size2;
    const i2 = u ** 2 / ((0.02 + re) ** 2 + (l + im) ** 2);
    return { torque: i2 * re, taken: i2 * (0.02 + re) };
  };
  let [low, high] = [1e-9, 0.5];
  for (let round = 0; round < 100; round += 1) {
    const middle = (low + high) / 2;
    if (at(middle).torque < torque) low = middle;
    else high = middle;
  }
  return (at(low).taken * power_W) / torque;
}

describe('the network', () => {
  it('balances currents at every node and power over the whole site to 1e-9, and each load obeys its own law', () => {
    let judged = 0;
    fc.assert(
      fc.property(site(fc.oneof(constant, adapting)), (wanted) => {
        const rig = rigOf(wanted);
        rig.run(20 * S);
        const { steps } = rig;
        rig.run(30 * S);
        expect(rig.steps).toBe(steps); // At rest; else there is no steady state to judge.
        const ids = wanted.loads.map((_, i) => `load${i}`);
        checkBooks(rig, ids);
        for (const [i, { legs, params, bus }] of wanted.loads.entries()) {
          if (rig.value(`load${i}.state`) !== 1) continue; // Cut out or stopped.
          const wired = rig.wiring.bus(busName(Math.floor(bus * (wanted.joints.length + 1))));
          const nominal_V = legs.includes('N') ? 120 : 240;
          const u = Math.hypot(...rig.across(wired[legs[0]!], wired[legs[1]!])) / nominal_V;
          if (params.type === 'zip' && (u > 1.1 || u < 0.6)) continue;
          const expected_W = lawOf(params, u);
          expect(Math.abs(rig.value(`load${i}.p`) / expected_W - 1)).toBeLessThan(
            params.type === 'motor' ? 1e-8 : 1e-9,
          );
          judged += 1;
        }
      }),
      { numRuns: 300 },
    );
    expect(judged).toBeGreaterThan(800);
  });

  it('balances with poles open as well, in every part that is alive', () => {
    fc.assert(
      fc.property(site(constant), fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }), (wanted, open) => {
        const rig = rigOf({ ...wanted, pv_W: 0 });
        rig.change(() => {
          for (const [i, pole] of rig.wiring.poles.entries()) if (open[i] === true && i % 2 === 0) pole.state = 'open';
        });
        rig.run(S);
        checkBooks(rig, []);
      }),
      { numRuns: 300 },
    );
  });

  it('is reciprocal: a unit current here and a voltmeter there, exchanged, show the same phasor', () => {
    const pick = fc.tuple(share, fc.constantFrom(...LEGS));
    fc.assert(
      fc.property(site(constant), pick, pick, (wanted, here, there) => {
        const shown = (from: typeof here, to: typeof here): readonly [number, number] => {
          const count = wanted.joints.length + 1;
          const rig = rigOf(wanted, (wiring) => {
            const at = wiring.bus(busName(Math.floor(from[0] * count)));
            return [currentSource(at.index, at[from[1][0]!], at[from[1][1]!], 1, true)];
          });
          const meter = rig.wiring.bus(busName(Math.floor(to[0] * count)));
          return rig.across(meter[to[1][0]!], meter[to[1][1]!]);
        };
        const [a, b] = [shown(here, there), shown(there, here)];
        expect(Math.hypot(a[0] - b[0], a[1] - b[1])).toBeLessThan(1e-9 * Math.max(Math.hypot(...a), 1e-3));
      }),
      { numRuns: 300 },
    );
  });
});
