import { describe, expect, it } from 'vitest';
import { bond } from '../../sim/equipment/bond.ts';
import { CONDUCTORS, conductor, conductorImpedance } from '../../sim/equipment/conductor.ts';
import { fault } from '../../sim/equipment/fault.ts';
import { saturationSusceptance, starOf, type TransformerData } from '../../sim/equipment/service-transformer.ts';
import { utility } from '../../sim/equipment/utility.ts';
import type { Bag } from '../../sim/site-description.ts';
import { Rig, type RigPiece } from '../sim/equipment/rig.ts';
import { currentSource, resistor, stiffSource } from '../sim/equipment/rig-devices.ts';

const street = (params: Bag = {}): RigPiece => ({ kind: utility, id: 'street', at: ['service'], params });

/** The defaults of the kind, as a file that gives nothing gets them. */
const byDefault = (name: string): number => utility.spec.params.find((param) => param.name === name)!.default as number;
const DATA: TransformerData = {
  rated_VA: byDefault('rating'),
  resistance: byDefault('resistance') / 100,
  reactance: byDefault('reactance') / 100,
  magnetising: byDefault('magnetising') / 100,
  noLoadLoss: byDefault('noLoadLoss') / 100,
  knee: byDefault('knee'),
  airCore: byDefault('airCore'),
  saturationLag_s: 0.01,
};

// Three-winding data of the 25 kVA unit in the IEEE 8500-node test feeder: R 0.6, 1.2, 1.2 %, X 2.04, 2.04, 1.36 %. The
// delta of reactances gives the star by hand: high (2.04 + 2.04 - 1.36)/2 = 1.36 %, halves 0.68 %.
describe('starOf', () => {
  it('agrees with the three-winding data of a 25 kVA unit: 13.824 m + j31.334 mohm and 6.912 m + j3.917 mohm', () => {
    const { high, half } = starOf(DATA);
    expect(high[0]).toBeCloseTo(0.006 * 2.304, 9);
    expect(high[1]).toBeCloseTo(0.0136 * 2.304, 9);
    expect(half[0]).toBeCloseTo(0.012 * 0.576, 9);
    expect(half[1]).toBeCloseTo(0.0068 * 0.576, 9);
  });

  it('gives 2.08 % at 240 V: half of the 10 012 A that a circuit simulator found for two sources back to back', () => {
    const { high, half } = starOf(DATA);
    const bolted_A = 240 / Math.hypot(high[0] + 2 * half[0], high[1] + 2 * half[1]);
    expect(Math.abs(bolted_A / (10_012 / 2) - 1)).toBeLessThan(2e-4);
  });
});

// Describing function of a flux curve of two straight pieces, knee 1.15 and 0.4 pu beyond, worked out by hand for 25 kVA;
// the printed digits allow half of the last one.
describe('saturationSusceptance', () => {
  it.each([
    [1.15, 0.17, 0.005],
    [1.2, 1.1, 0.05],
    [1.25, 2.8, 0.05],
    [1.3, 5.1, 0.05],
    [1.33, 6.7, 0.05],
  ])('takes at %f pu of flux %f kvar', (flux, kvar, half) => {
    const found = (DATA.magnetising + saturationSusceptance(flux, DATA.knee, DATA.airCore)) * flux * flux * 25;
    expect(Math.abs(found - kvar)).toBeLessThan(half);
  });

  it('is the fundamental of the current by direct integration over a cycle at 1.4 pu', () => {
    const [flux, knee, airCore] = [1.4, 1.15, 0.4];
    const n = 20_000;
    let sum = 0;
    for (let k = 0; k < n; k += 1) {
      const wave = Math.sin((2 * Math.PI * (k + 0.5)) / n);
      const beyond = Math.sign(wave) * Math.max(0, flux * Math.abs(wave) - knee);
      sum += (2 / n) * (beyond / airCore) * wave;
    }
    expect(saturationSusceptance(flux, knee, airCore)).toBeCloseTo(sum / flux, 6);
  });
});

describe('conductor', () => {
  it('with 100 ft of 4/0 aluminium gives a bolted 3572 A behind 25 kVA: 47.65 m + j47.37 mohm', () => {
    const [r_ohm, x_ohm] = conductorImpedance('4/0 Al', 30.48, 0, 0);
    // Poles of the street and the fault itself are 3 mohm of the loop.
    const pieces: RigPiece[] = [
      street({ neighbours: 0 }),
      {
        kind: conductor,
        id: 'drop',
        at: ['service', 'meter'],
        params: { resistance: r_ohm - 0.0015, reactance: x_ohm },
      },
      {
        kind: fault,
        id: 'short',
        at: ['meter'],
        params: { between: 'L1-L2', resistance: 0.001 },
        start: { struck: true },
      },
    ];
    const rig = new Rig({ buses: ['service', 'meter'], pieces });
    expect(Math.abs(rig.value('short.i') / 3572 - 1)).toBeLessThan(2e-4);
  });

  // 61 % of the conductivity of IEC 60028 copper (IACS) and 0.403 %/K for aluminium, 100 % and 0.393 %/K for copper, at
  // 75 °C, sections by ASTM B258. 7 % allows for two printed digits, stranding and skin effect.
  it.each([
    ['2 Al', 66_360],
    ['1/0 Al', 105_600],
    ['2/0 Al', 133_100],
    ['4/0 Al', 211_600],
    ['250 kcmil Al', 250_000],
    ['6 Cu', 26_240],
    ['2 Cu', 66_360],
    ['2/0 Cu', 133_100],
    ['4/0 Cu', 211_600],
  ])('has for %s the resistance that follows from its section', (size, circularMils) => {
    const area_mm2 = circularMils * (Math.PI / 4) * 0.0254 ** 2;
    const metal = size.endsWith('Al') ? (1 + 0.00403 * 55) / 0.61 : 1 + 0.00393 * 55;
    const found = CONDUCTORS[size]![0] / ((304.8 / 58 / area_mm2) * metal);
    expect(Math.abs(found - 1)).toBeLessThan(0.07);
  });
});

// Series divider with an earth path of 25 ohm, worked out by hand: 12 and 48 ohm on 120 V legs give the neutral
// (10 - 2.5)/(1/12 + 1/48 + 1/25) = 52.02 V; without earth path 240 V in the ratio 12 : 48.
describe('bond', () => {
  const rig = () =>
    new Rig({
      buses: ['service'],
      pieces: [street({ neighbours: 0, rating: 1_000_000 }), { kind: bond, id: 'earth', at: ['service'] }],
      devices: (wiring) => {
        const bus = wiring.bus('service');
        return [resistor(bus.index, bus.L1, bus.N, 12), resistor(bus.index, bus.N, bus.L2, 48)];
      },
    });

  it('with 25 ohm of earth path leaves 68.0 / 172.0 V on 1200 / 300 W when the service neutral opens', () => {
    const site = rig();
    site.happen('street', 'open neutral');
    site.run(10_000);
    expect(site.volts('service', 'L1', 'N')).toBeCloseTo(67.98, 1);
    expect(site.volts('service', 'N', 'L2')).toBeCloseTo(172.02, 1);
  });

  it('when lifted leaves 48 / 192 V', () => {
    const site = rig();
    site.happen('earth', 'lift');
    site.happen('street', 'open neutral');
    site.run(10_000);
    expect(Math.abs(site.volts('service', 'L1', 'N') - 48)).toBeLessThan(0.1);
    expect(Math.abs(site.volts('service', 'N', 'L2') - 192)).toBeLessThan(0.1);
  });
});

// A lost leg, all in phase, worked out by hand: v2/R2 + (120 + v2)/RH = I with I = P/(120 + v2). Negative: in phase with
// the living leg.
describe('utility lose leg', () => {
  const R300_ohm = 48;
  const R1500_ohm = 9.6;
  const HEATER_ohm = 12.8;
  it.each([
    [1000, R1500_ohm, undefined, 54.9],
    [2000, R1500_ohm, undefined, 91.0],
    [4000, R1500_ohm, undefined, 144.9],
    [3000, R1500_ohm, undefined, 120.0],
    [1000, R300_ohm, undefined, 167.2],
    [4000, R300_ohm, HEATER_ohm, 94.1],
    [1000, R300_ohm, HEATER_ohm, -6.1],
    [0, R300_ohm, HEATER_ohm, -94.7],
    [0, R1500_ohm, HEATER_ohm, -51.4],
  ])(
    'with %d W of following source, %f ohm on L2 and %s ohm across shows %f V there',
    (power_W, r2_ohm, across_ohm, v2_V) => {
      const rig = new Rig({
        buses: ['service'],
        pieces: [street({ neighbours: 0, rating: 1_000_000 })],
        devices: (wiring) => {
          const bus = wiring.bus('service');
          return [
            resistor(bus.index, bus.N, bus.L2, r2_ohm),
            resistor(bus.index, bus.L1, bus.L2, across_ohm ?? 1e9),
            currentSource(bus.index, bus.L1, bus.L2, power_W / (120 + v2_V)),
          ];
        },
      });
      rig.happen('street', 'lose leg', { leg: 'L2' });
      rig.run(20_000);
      const { N, L2 } = rig.wiring.bus('service');
      expect(Math.abs(rig.across(N, L2)[0] - v2_V)).toBeLessThan(0.1);
      expect(rig.volts('service', 'L1', 'N')).toBeCloseTo(120, 0);
    },
  );
});

describe('utility saturation', () => {
  /** Voltage, pu, at which 20 A meet 24 ohm and a saturated reactance side by side; impedances in series left out. */
  function balance(): number {
    let [low, high] = [1, 2];
    for (let round = 0; round < 60; round += 1) {
      const u = (low + high) / 2;
      const k = 1.15 / u;
      const b = 0.005 + (1 - (2 / Math.PI) * (Math.asin(Math.min(1, k)) + k * Math.sqrt(Math.max(0, 1 - k * k)))) / 0.4;
      const amps_A = Math.hypot((u * 240) / 24, b * u * (25_000 / 240));
      if (amps_A < 20) low = u;
      else high = u;
    }
    return low;
  }

  function left(saturation: string): number {
    const rig = new Rig({
      buses: ['service'],
      pieces: [street({ neighbours: 2400, saturation })],
      devices: (wiring) => {
        const bus = wiring.bus('service');
        return [currentSource(bus.index, bus.L1, bus.L2, 20)];
      },
    });
    rig.happen('street', 'outage');
    rig.run(500_000);
    return rig.volts('service', 'L1', 'L2') / 240;
  }

  it('holds 20 A on 24 ohm down to the balance of current, where the iron would let 2 pu stand without it', () => {
    expect(Math.abs(left('islands') / balance() - 1)).toBeLessThan(0.005);
    expect(left('never')).toBeGreaterThan(1.9);
  });
});

// No-load data of the same 25 kVA unit: 0.5 % and 0.2 %, that is 125 var and 50 W at 240 V, 460.8 and 1152 ohm.
describe('utility at no load', () => {
  it('takes 50 W and 125 var when it is energised from the house at 240 V', () => {
    const rig = new Rig({
      buses: ['service'],
      pieces: [{ ...street({ neighbours: 0 }), start: { on: false } }],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('service');
        return [stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-4, x_ohm: 0, kind: 'forming' })];
      },
    });
    const pole = rig.wiring.poles[0]!;
    const [re, im] = rig.across(pole.nodeB, pole.nodeA).map((volts_V) => volts_V * 1000);
    expect(Math.abs((240 * re!) / 50 - 1)).toBeLessThan(2e-3);
    expect(Math.abs((240 * -im!) / 125 - 1)).toBeLessThan(2e-3);
  });
});
