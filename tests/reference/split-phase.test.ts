import { describe, expect, it } from 'vitest';
import { breaker } from '../../sim/equipment/breaker.ts';
import { former } from '../../sim/equipment/former.ts';
import { EARTH } from '../../sim/network/wiring.ts';
import { Rig } from '../sim/equipment/rig.ts';
import { centreTap, currentSource, joinLines, resistor, stiffSource } from '../sim/equipment/rig-devices.ts';

const near = (found: number, expected: number, tolerance: number): void =>
  expect(Math.abs(found / expected - 1), `found ${found}, expected ${expected}`).toBeLessThan(tolerance);

/** 10 µF at 60 Hz. */
const FILTER_S = 2 * Math.PI * 60 * 10e-6;

/**
 * 25 kVA centre-tap transformer (primary referred to 240 V), 100 ft of drop, main breaker, 3.0 kW on L1, 0.5 kW on L2, and
 * 3500 W / 240 V of current across L1-L2 with 10 µF. The main's pole and neutral link (1 mohm each) come off the drop.
 */
function house(params: { readonly former: boolean }): Rig {
  return new Rig({
    buses: ['service', 'meter', 'house'],
    pieces: [
      { kind: breaker, id: 'main', at: ['meter', 'house'], params: { role: 'main', rating: 200 } },
      { kind: former, id: 'nf', at: ['house'], start: { closed: params.former } },
    ],
    devices: (wiring) => {
      const [service, meter, home] = [wiring.bus('service'), wiring.bus('meter'), wiring.bus('house')];
      const { index, L1, L2, N } = home;
      wiring.addNeutral(service.N, EARTH, 1e-3, 0);
      wiring.addNeutral(service.N, meter.N, 16e-3 - 1e-3, 4.3e-3);
      return [
        centreTap({
          bus: service.index,
          p: wiring.addInnerNode(service),
          L1: service.L1,
          L2: service.L2,
          N: service.N,
          half: { r_ohm: 6.912e-3, x_ohm: 3.9168e-3 },
          loss_ohm: 20e3,
          supply: { r_ohm: 13.824e-3, x_ohm: 31.334e-3, volts_V: 240 },
        }),
        joinLines(wiring, service, meter, 10e-3 - 1e-3, 4.1e-3),
        resistor(index, L1, N, 4.8),
        resistor(index, L2, N, 28.8),
        resistor(index, L1, L2, 1e9, FILTER_S),
        currentSource(index, L1, L2, 14.5833),
      ];
    },
  });
}

const legs = (rig: Rig): readonly [number, number, number] => [
  rig.volts('house', 'L1', 'N'),
  rig.volts('house', 'N', 'L2'),
  rig.volts('house', 'L1', 'L2'),
];

// Independent circuit simulator (ngspice 39), circuits b1 and b2: the main opens with PV on; rms of the steady cycles.
describe('hand-opened main with unequal legs against an independent circuit simulator (ngspice 39)', () => {
  const opened = (withFormer: boolean): readonly [number, number, number] => {
    const rig = house({ former: withFormer });
    rig.run(100_000);
    rig.happen('main', 'open');
    rig.run(1_000_000);
    return legs(rig);
  };

  it('circuit b1, before the opening: 119.51 / 120.54 / 240.04 V', () => {
    const rig = house({ former: false });
    rig.run(100_000);
    const found = legs(rig);
    [119.51, 120.54, 240.04].forEach((expected, i) => {
      near(found[i]!, expected, 1e-4);
    });
  });

  it('circuit b1, no neutral former: 69.445 / 416.67 / 486.11 V', () => {
    const found = opened(false);
    [69.445, 416.67, 486.11].forEach((expected, i) => {
      near(found[i]!, expected, 1e-4);
    });
  });

  // The transient run still moved by 0.02 %; the tolerance allows for it. 5 % of the winding's impedance moves
  // the legs by 0.015 V only: the closed form below is what catches that.
  it('circuit b2, neutral former in: 119.8 / 120.4 / 240.2 V', () => {
    const found = opened(true);
    [119.8, 120.4, 240.2].forEach((expected, i) => {
      near(found[i]!, expected, 5e-4);
    });
  });
});

/** A two-wire source of 240 V onto two leg loads (ohm), with the former in or out. */
function twoWire(load1_ohm: number, load2_ohm: number, withFormer: boolean): Rig {
  return new Rig({
    buses: ['house'],
    pieces: [{ kind: former, id: 'nf', at: ['house'], start: { closed: withFormer } }],
    devices: (wiring) => {
      const { index, L1, L2, N } = wiring.bus('house');
      return [
        stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-5, x_ohm: 1e-5, kind: 'forming' }),
        resistor(index, L1, N, load1_ohm),
        resistor(index, L2, N, load2_ohm),
      ];
    },
  });
}

// Ampere-turn balance, by hand: v1 - v2 = -z I_N, I_N = v1 Y1 - v2 Y2, so v1/v12 = (1 + z Y2) / (2 + z (Y1 + Y2)).
describe('neutral former against the closed form of a balanced autotransformer, z = 0.03 + j0.03 ohm', () => {
  it.each([
    [4.8, 28.8],
    [1, 1000],
    [2, 5],
  ])('legs of %f and %f ohm: leg voltages and neutral current', (load1_ohm, load2_ohm) => {
    const rig = twoWire(load1_ohm, load2_ohm, true);
    const [Y1, Y2] = [1 / load1_ohm, 1 / load2_ohm];
    const [aRe, aIm] = [1 + 0.03 * Y2, 0.03 * Y2];
    const [bRe, bIm] = [2 + 0.03 * (Y1 + Y2), 0.03 * (Y1 + Y2)];
    const v1 = {
      re: (240 * (aRe * bRe + aIm * bIm)) / (bRe ** 2 + bIm ** 2),
      im: (240 * (aIm * bRe - aRe * bIm)) / (bRe ** 2 + bIm ** 2),
    };
    const neutral_A = Math.hypot(v1.re * Y1 - (240 - v1.re) * Y2, v1.im * Y1 + v1.im * Y2);
    // The source's 14 µohm and the leaks of 1 µS are the difference.
    near(rig.volts('house', 'L1', 'N'), Math.hypot(v1.re, v1.im), 2e-5);
    near(rig.volts('house', 'N', 'L2'), Math.hypot(240 - v1.re, v1.im), 2e-5);
    near(rig.value('nf.neutralCurrent'), neutral_A, 1e-4);
    // v1 - v2 = 2 v1 - v12 by size: |z| times the neutral current. 5 % of either part of z fails it.
    const { L1, L2, N } = rig.wiring.bus('house');
    const [upper, lower] = [rig.across(L1, N), rig.across(N, L2)];
    near(Math.hypot(upper[0] - lower[0], upper[1] - lower[1]), Math.hypot(0.03, 0.03) * neutral_A, 1e-3);
  });

  it('shifts a leg of 1 ohm by 1.79 V against an empty one', () => {
    const rig = twoWire(1, 1e6, true);
    // By hand: (1 + 0) / (2 + z) · 240 V, |2.03 + j0.03| = 2.030222.
    near(120 - rig.volts('house', 'L1', 'N'), 120 - 240 / 2.030222, 0.005);
  });

  it('draws 0.30 A of magnetising current at 240 V', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind: former, id: 'nf', at: ['house'], start: { closed: true } }],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 10, x_ohm: 0, kind: 'forming' })];
      },
    });
    const { L1, L2 } = rig.wiring.bus('house');
    const [re, im] = rig.across(L1, L2);
    near(Math.hypot(240 - re, im) / 10, 240 / 800, 1e-3);
  });
});

// Published open-neutral teaching example: lamps of 100 W (144 ohm) and 200 W (72 ohm) in series on 240 V.
describe('legs without a neutral', () => {
  it('144 and 72 ohm on 240 V: 160 and 80 V', () => {
    const rig = twoWire(144, 72, false);
    near(rig.volts('house', 'L1', 'N'), 160, 1e-4);
    near(rig.volts('house', 'N', 'L2'), 80, 1e-4);
  });
});
