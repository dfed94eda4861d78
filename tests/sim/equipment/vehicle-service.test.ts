import { describe, expect, it } from 'vitest';
import { vehicle } from '../../../sim/equipment/vehicle.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { PhasorNet } from '../../../sim/network/device.ts';
import { NOMINAL_rad_per_s } from '../../../sim/network/frame.ts';
import type { Pole } from '../../../sim/network/wiring.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor, stiffSource } from './rig-devices.ts';

const S = 1_000_000;
const MS = 1_000;
const DISCHARGE = 2;
const STOP = 5;
/** A method turns the current, so that its power is the cosine of that. */
const QUIET: Bag = { detection: 'none' };

interface Bench {
  readonly rig: Rig;
  supply(volts_pu: number, f_Hz?: number): void;
  /** Both poles to the utility part. */
  open(): void;
}

/** A vehicle that discharges its 9.6 kW on a stiff utility, beside a parallel resonant load of as much. */
function bench(params: Bag = {}, start: Bag = { mode: 'discharging' }, qf = 0): Bench {
  let utility: ReturnType<typeof stiffSource> | undefined;
  let poles: Pole[] = [];
  const rig = new Rig({
    buses: ['street', 'house'],
    pieces: [{ kind: vehicle, id: 'car', at: ['house'], legs: ['L1', 'L2'], params: { ...QUIET, ...params }, start }],
    devices: (wiring) => {
      const [street, house] = [wiring.bus('street'), wiring.bus('house')];
      wiring.addNeutral(street.N, house.N, 0.01, 0);
      poles = (['L1', 'L2'] as const).map((leg) => wiring.addPole('main', leg, street, house, 'closed'));
      const { index, L1, L2 } = street;
      utility = stiffSource({ bus: index, a: L1, b: L2, volts_V: 240, r_ohm: 1e-4, x_ohm: 1e-4 });
      const g_S = 9600 / 240 ** 2;
      const load = {
        bus: house.index,
        stamp: (net: PhasorNet) => net.shunt(house.L1, house.L2, g_S, qf * g_S, qf * g_S),
      };
      return [utility, load];
    },
  });
  return {
    rig,
    supply: (volts_pu, f_Hz = 60) =>
      rig.change(() => {
        utility!.volts_V = 240 * volts_pu;
        utility!.lead!()!.frame.setFrequency((NOMINAL_rad_per_s * f_Hz) / 60, rig.kernel.now_us);
      }),
    open: () =>
      rig.change(() => {
        for (const pole of poles) pole.state = 'open';
      }),
  };
}

const modeOf = (rig: Rig): string => VEHICLE_MODES[rig.value('car.mode')]!;
const tripsOf = (rig: Rig): string[] =>
  rig.happenings.filter(({ did }) => did.startsWith('trips')).map(({ did }) => did);

// IEEE 1547-2018: tables of trips, 6.4.2 momentary cessation, 6.5.2.7 droop, 4.10 enter service.
describe('a vehicle that discharges, as a following source', () => {
  it('trips at once above 1.2725 pu: 1.25 pu of the crest for 1 ms, and not below', () => {
    for (const [volts_pu, trips] of [
      [1.2735, ['trips INST']],
      [1.2715, []],
    ] as const) {
      const { rig, supply } = bench();
      rig.run(S);
      supply(volts_pu);
      rig.run(S + 50 * MS);
      expect(tripsOf(rig)).toEqual(trips);
    }
  });

  it('once in service stays there outside the enter-service window, at 1.09 pu and at 59 Hz', () => {
    const { rig, supply } = bench();
    rig.run(S);
    supply(1.09);
    rig.run(100 * S);
    supply(1, 59);
    rig.run(200 * S);
    expect(modeOf(rig)).toBe('discharging');
    expect(tripsOf(rig)).toEqual([]);
    rig.order('vehicleCommand', STOP);
    rig.run(210 * S);
    rig.order('vehicleCommand', DISCHARGE);
    rig.run(300 * S);
    expect(modeOf(rig)).toBe('idle'); // To begin it needs the window.
  });

  it('begins at an order by its 3 s ramp, but after a trip by 300 s of waiting and 300 s of stairs, quiet in between', () => {
    const { rig, supply } = bench({}, {});
    rig.order('vehicleCommand', DISCHARGE);
    rig.run(10 * S);
    expect(rig.value('car.p')).toBeCloseTo(9600, 0);
    supply(0.4);
    rig.run(12 * S);
    expect(tripsOf(rig)).toEqual(['trips UV2']);
    supply(1);
    rig.run(313 * S);
    const [, begins_us] = rig.when('car', 'starts');
    expect(begins_us! / S).toBeGreaterThan(312);
    expect(begins_us! / S).toBeLessThan(313);
    const steps = rig.steps;
    for (const [after_s, stairs] of [
      [14, 1],
      [16, 2],
      [149, 10],
      [151, 11],
      [284, 19],
      [286, 20],
    ] as const) {
      rig.run(begins_us! + after_s * S);
      expect(rig.value('car.p') / 9600).toBeCloseTo(stairs / 20, 4);
    }
    expect(rig.steps - steps).toBeLessThan(4000);
    rig.order('vehicleCommand', STOP);
    rig.run(begins_us! + 320 * S);
    rig.order('vehicleCommand', DISCHARGE);
    rig.run(begins_us! + 325 * S);
    expect(rig.value('car.p')).toBeCloseTo(9600, 0); // Its service was not interrupted this time.
  });

  it('comes back by the ramp when the street was dark while it rested', () => {
    const { rig, supply } = bench({}, {});
    rig.run(S);
    supply(0);
    rig.run(5 * S);
    supply(1);
    rig.order('vehicleCommand', DISCHARGE);
    rig.run(320 * S);
    expect(rig.value('car.p') / 9600).toBeCloseTo(0.05, 4);
  });

  it('of category III ceases within 83 ms at 0.4 pu with its contactor closed, and is back over 0.4 s', () => {
    const { rig, supply } = bench({ category: 'III', switching: 0 });
    rig.run(S);
    supply(0.4);
    rig.run(1.5 * S);
    // Its one-cycle rms passes 0.50 pu after (1 - 0.50²)/(1 - 0.40²) of a cycle, 14.88 ms.
    expect(Math.abs(rig.when('car', 'ceases')[0]! / MS - 1000 - 83 - 14.88)).toBeLessThan(0.5);
    expect([modeOf(rig), rig.value('car.energises'), rig.value('car.contactor')]).toEqual(['discharging', 0, 1]);
    supply(1);
    rig.run(1.7 * S);
    expect(rig.value('car.p')).toBeLessThan(0.6 * 9600);
    rig.run(2.2 * S);
    expect(rig.value('car.p')).toBeCloseTo(9600, 0);
    expect(tripsOf(rig)).toEqual([]);
  });

  it('that has ceased for the moment trips without ceasing twice: category III, 0.4 pu for 2 s', () => {
    const { rig, supply } = bench({ category: 'III', switching: 0 });
    rig.run(S);
    supply(0.4);
    rig.run(4 * S);
    expect(tripsOf(rig)).toEqual(['trips UV2']);
    expect(rig.when('car', 'ceases')).toHaveLength(1);
    expect(rig.value('car.tripped')).toBe(1);
  });

  it('gives 1 - (61 - 60.036)/(60 · 0.05) = 0.6787 of its power at 61 Hz, and all again at 60 Hz', () => {
    const { rig, supply } = bench();
    rig.run(S);
    supply(1, 61);
    rig.run(60 * S);
    expect(rig.value('car.p') / 9600).toBeCloseTo(1 - (61 - 60.036) / 3, 4);
    supply(1, 60);
    rig.run(120 * S);
    expect(rig.value('car.p')).toBeCloseTo(9600, 0);
  });

  it('on a matched load of Qf 1 is off within 2 s by its active method, and stays without it', () => {
    for (const fails of [false, true]) {
      const { rig, open } = bench({ detection: 'SFS' }, { mode: 'discharging' }, 1);
      if (fails) rig.happen('car', 'fail to detect');
      rig.run(S);
      open();
      rig.run(3 * S);
      expect(modeOf(rig) === 'discharging').toBe(fails);
    }
  });

  it('takes each method of a PV inverter, and single trip rows in place of its category', () => {
    const { rig, supply } = bench({ detection: 'SMS', ov1: 1.05, ov1Time: 500 * MS, switching: 0 });
    rig.run(S);
    supply(1.06);
    rig.run(2 * S);
    expect(tripsOf(rig)).toEqual(['trips OV1']);
  });

  it('with three terminals detects a lost leg in 2 s: legs 0.1 pu apart', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [
        {
          kind: vehicle,
          id: 'car',
          at: ['house'],
          legs: ['L1', 'L2', 'N'],
          params: { neutral: true },
          start: { mode: 'discharging' },
        },
      ],
      devices: (wiring) => {
        const { index, L1, L2, N } = wiring.bus('house');
        const half = stiffSource({ bus: index, a: L1, b: N, volts_V: 120, r_ohm: 1e-4, x_ohm: 0 });
        // The lost leg is held up by nothing but this load and the vehicle.
        return [half, resistor(index, N, L2, 2)];
      },
    });
    rig.run(5 * S);
    const found = rig.happenings.find(({ did }) => did === 'trips OPEN PHASE');
    expect(found).toBeDefined();
    expect(found!.at_us / S).toBeLessThanOrEqual(2);
  });
});
