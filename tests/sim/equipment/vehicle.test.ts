import { describe, expect, it } from 'vitest';
import { vehicle } from '../../../sim/equipment/vehicle.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { Rig } from './rig.ts';
import { resistor, stiffSource } from './rig-devices.ts';

const S = 1_000_000;
const CHARGE = 1;
const DISCHARGE = 2;
const TEST = 3;
const FORM = 4;
const STOP = 5;

/** A vehicle on a stiff utility. */
function onGrid(params: Bag = {}, start: Bag = {}, volts_V = 240): Rig & { source?: { volts_V: number } } {
  let source: { volts_V: number } | undefined;
  const rig: Rig & { source?: { volts_V: number } } = new Rig({
    buses: ['house'],
    pieces: [{ kind: vehicle, id: 'car', at: ['house'], params, start }],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      const utility = stiffSource({ bus: index, a: L1, b: L2, volts_V, r_ohm: 1e-4, x_ohm: 0 });
      source = utility;
      return [utility];
    },
  });
  if (source !== undefined) rig.source = source;
  return rig;
}

/** A vehicle alone with a resistor across the legs. */
function alone(ohms: number, params: Bag = {}, start: Bag = {}): Rig & { load?: { ohms: number } } {
  let load: { ohms: number } | undefined;
  const rig: Rig & { load?: { ohms: number } } = new Rig({
    buses: ['house'],
    pieces: [{ kind: vehicle, id: 'car', at: ['house'], params, start }],
    devices: (wiring) => {
      const { index, L1, L2 } = wiring.bus('house');
      load = resistor(index, L1, L2, ohms);
      return [load as ReturnType<typeof resistor>];
    },
  });
  if (load !== undefined) rig.load = load;
  return rig;
}

const modeOf = (rig: Rig): string => VEHICLE_MODES[rig.value('car.mode')]!;

describe('vehicle', () => {
  it('charges 9.6 kW on a 50 A circuit, its contactor closed 520 ms after the order, and rests then', () => {
    const rig = onGrid();
    rig.order('vehicleCommand', CHARGE);
    rig.run(10 * S);
    expect(modeOf(rig)).toBe('charging');
    expect(rig.when('car', 'joins')).toEqual([520_000]);
    expect(rig.value('car.p')).toBeCloseTo(-9600, 0);
    expect(rig.value('car.energises')).toBe(0);
    const { steps } = rig;
    rig.run(60 * S);
    expect(rig.steps).toBe(steps);
  });

  it('ends a charge by its ramp before the contactor opens', () => {
    const rig = onGrid({}, { mode: 'charging' });
    expect(rig.value('car.p')).toBeCloseTo(-9600, 0);
    rig.run(S);
    rig.order('vehicleCommand', STOP);
    rig.run(10 * S);
    expect(modeOf(rig)).toBe('idle');
    const [left] = rig.when('car', 'leaves');
    expect(left).toBeGreaterThan(3.5 * S);
    expect(left).toBeLessThan(4.5 * S);
    const before = rig.trace('car.i').filter(([at_us]) => at_us < left!);
    expect(before[before.length - 1]![1]).toBeLessThanOrEqual(1);
  });

  it('forms 240 V behind its impedance by a ramp of 1 s, and energises from 0.02 pu on', () => {
    const rig = alone(57.6);
    rig.order('vehicleCommand', FORM);
    rig.run(5 * S);
    expect(modeOf(rig)).toBe('forming');
    expect(rig.when('car', 'forms')).toEqual([520_000 + 20_000 + 1]);
    expect(rig.value('car.reference')).toBe(1);
    // Z_v = (0.02 + j0.05) 6 ohm in series with 57.6 ohm; the leak of 1 µS a leg takes the last digits.
    const expected_V = (240 * 57.6) / Math.hypot(57.6 + 0.12, 0.3);
    expect(rig.volts('house', 'L1', 'L2')).toBeCloseTo(expected_V, 3);
    const { steps } = rig;
    rig.run(50 * S);
    expect(rig.steps).toBe(steps);
  });

  it('stands at E / (1 + Z_v Y) on a load with a capacitor, by its default impedance of 0.02 + j0.05 pu', () => {
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind: vehicle, id: 'car', at: ['house'], start: { mode: 'forming' } }],
      devices: (wiring) => {
        const { index, L1, L2 } = wiring.bus('house');
        return [resistor(index, L1, L2, 57.6, 0.1)];
      },
    });
    // (0.12 + j0.3) ohm times (1/57.6 + j0.1) S; 5 % less of either part moves the voltage by more than 0.02 V.
    const [re, im] = [1 + 0.12 / 57.6 - 0.3 * 0.1, 0.3 / 57.6 + 0.12 * 0.1];
    expect(rig.volts('house', 'L1', 'L2')).toBeCloseTo(240 / Math.hypot(re, im), 3);
  });

  it('stops forming at once on an order, and opens 50 ms later', () => {
    const rig = alone(57.6, {}, { mode: 'forming' });
    rig.run(S);
    rig.order('vehicleCommand', STOP);
    rig.run(2 * S);
    expect(rig.when('car', 'stops')).toEqual([S + 20_000]);
    expect(rig.when('car', 'leaves')).toEqual([S + 70_000]);
    expect(rig.volts('house', 'L1', 'L2')).toBe(0);
  });

  it('gives 4.8 V as a test that does not energise, then forms from there', () => {
    const rig = alone(57.6);
    rig.order('vehicleCommand', TEST);
    rig.run(2 * S);
    expect(modeOf(rig)).toBe('testing');
    expect(rig.volts('house', 'L1', 'L2')).toBeCloseTo(4.79, 1);
    expect(rig.value('car.energises')).toBe(0);
    rig.order('vehicleCommand', FORM);
    rig.run(4 * S);
    expect(rig.when('car', 'joins')).toHaveLength(1);
    expect(rig.when('car', 'forms')).toEqual([2 * S + 20_000 + 1]);
    expect(rig.value('car.forms')).toBe(1);
  });

  it('discharges 9.6 kW in phase on a live bus', () => {
    const rig = onGrid();
    rig.order('vehicleCommand', DISCHARGE);
    rig.run(10 * S);
    expect(modeOf(rig)).toBe('discharging');
    expect(rig.value('car.p')).toBeGreaterThan(9500);
    expect(rig.value('car.energises')).toBe(1);
  });

  it('stops forming 0.5 s after the voltage has fallen below 0.7 of its reference, and forms again once by itself', () => {
    const rig = alone(57.6, {}, { mode: 'forming' });
    rig.run(S);
    rig.change(() => {
      rig.load!.ohms = 3; // 80 A wanted of 60, then 48, then 40 A: 180, 144, 120 V; below 0.7 pu after 0.2 s.
    });
    rig.run(60 * S);
    const stops = rig.when('car', 'stops');
    expect(stops).toHaveLength(2);
    expect(stops[0]).toBeGreaterThan(S + 700_000);
    expect(stops[0]).toBeLessThan(S + 720_000);
    expect(rig.when('car', 'forms')).toHaveLength(1);
    expect(rig.value('car.restarts')).toBe(1);
    expect(modeOf(rig)).toBe('stopped');
    expect(rig.value('car.fault')).toBe(2);
    expect(rig.happenings.find(({ did }) => did === 'stops')?.origin).toBe('equipment');
  });

  it('takes a short circuit for one: limit reached and below 0.5 of its reference, off within 0.5 s', () => {
    const rig = alone(57.6, { retries: 0 }, { mode: 'forming' });
    rig.run(S);
    rig.change(() => {
      rig.load!.ohms = 0.5;
    });
    rig.run(3 * S);
    expect(rig.when('car', 'stops')).toEqual([S + 400_000]);
    expect(rig.value('car.fault')).toBe(1);
    rig.order('vehicleCommand', STOP);
    rig.run(4 * S);
    expect(modeOf(rig)).toBe('idle');
    expect(rig.value('car.fault')).toBe(0);
  });

  it('gives 1.5 times its 40 A for 0.2 s, 1.2 times for 10 s in all, then 40 A, and has rested after 60 s', () => {
    const rig = alone(57.6, { undervoltage: 0 }, { mode: 'forming' });
    rig.run(S);
    rig.change(() => {
      rig.load!.ohms = 3.5;
    });
    const amps = (at_us: number): number => {
      rig.run(at_us);
      return rig.value('car.i');
    };
    expect(amps(S + 100_000)).toBeCloseTo(60, 6);
    expect(amps(S + 199_999)).toBeCloseTo(60, 6);
    expect(amps(S + 200_001)).toBeCloseTo(48, 6);
    expect(amps(11 * S - 1)).toBeCloseTo(48, 6);
    expect(amps(11 * S + 1)).toBeCloseTo(40, 6);
    expect(rig.value('car.limitReached')).toBe(1);
    rig.change(() => {
      rig.load!.ohms = 57.6;
    });
    rig.run(70 * S);
    rig.change(() => {
      rig.load!.ohms = 3.5;
    });
    expect(amps(70 * S + 100_000)).toBeCloseTo(40, 6);
    rig.change(() => {
      rig.load!.ohms = 57.6;
    });
    rig.run(72 * S);
    rig.change(() => {
      rig.load!.ohms = 3.5;
    });
    expect(amps(72 * S + 100_000)).toBeCloseTo(60, 6);
  });

  it('is gone from the bus 50 ms after the plug is pulled, whatever the current', () => {
    const rig = alone(12, {}, { mode: 'forming' });
    rig.run(S);
    rig.happen('car', 'unplug');
    expect(rig.value('car.plugged')).toBe(0);
    rig.run(2 * S);
    expect(rig.when('car', 'leaves')).toEqual([S + 50_000]);
    expect(rig.when('car', 'stops')).toEqual([S + 50_000]);
    expect(rig.happenings.find(({ did }) => did === 'stops')?.origin).toBe('person');
    expect(rig.value('car.p')).toBe(0);
  });

  it('boots for 60 s after it was woken, and gives control supply from then on if its firmware is new enough', () => {
    const rig = alone(57.6, {}, { awake: false });
    expect(rig.piece('car').signal!('controlSupply')).toBe(0);
    rig.happen('car', 'wake');
    rig.run(59_999_999);
    expect(modeOf(rig)).toBe('booting');
    rig.run(60 * S);
    expect(modeOf(rig)).toBe('idle');
    expect(rig.piece('car').signal!('ready')).toBe(1);
    expect(rig.piece('car').signal!('controlSupply')).toBe(24);
    const old = alone(57.6, { firmware: '4.1.9' });
    expect(old.piece('car').signal!('controlSupply')).toBe(0);
    expect(old.piece('car').signal!('commissioning')).toBe(29);
  });

  it('is woken by an order, forms when it has booted, and sleeps after 30 min of idleness', () => {
    const rig = alone(57.6, {}, { awake: false });
    rig.order('vehicleCommand', FORM);
    rig.run(70 * S);
    expect(rig.when('car', 'joins')).toEqual([60_520_000]);
    rig.order('vehicleCommand', STOP);
    rig.run(70 * S + 1_800_070_000 - 1);
    expect(modeOf(rig)).toBe('idle');
    rig.run(70 * S + 1_800_070_000);
    expect(modeOf(rig)).toBe('asleep');
  });

  it('goes to sleep when idle and not while it forms', () => {
    const rig = alone(57.6);
    rig.happen('car', 'sleep');
    expect(modeOf(rig)).toBe('asleep');
    const busy = alone(57.6, {}, { mode: 'forming' });
    busy.happen('car', 'sleep');
    busy.run(S);
    expect(modeOf(busy)).toBe('forming');
  });

  it('neither forms nor discharges at or below its reserve, nor charges when full', () => {
    const low = alone(57.6, {}, { soc: 0.2 });
    low.order('vehicleCommand', FORM);
    low.run(5 * S);
    expect(modeOf(low)).toBe('idle');
    low.happen('car', 'set soc', { soc: 0.21 });
    low.run(10 * S);
    expect(modeOf(low)).toBe('forming');
    const grid = onGrid({}, { soc: 0.2 });
    grid.order('vehicleCommand', DISCHARGE);
    grid.run(5 * S);
    expect(modeOf(grid)).toBe('idle');
    const full = onGrid({}, { soc: 0.9 });
    full.order('vehicleCommand', CHARGE);
    full.run(5 * S);
    expect(modeOf(full)).toBe('idle');
  });

  it('stops forming by itself when empty, and reports the charge by steps of 1 %', () => {
    const rig = alone(12, { capacity: 10_000 }, { mode: 'forming', soc: 0.0725 });
    rig.run(3600 * S);
    expect(modeOf(rig)).toBe('stopped');
    expect(rig.value('car.fault')).toBe(9);
    expect(rig.value('car.soc')).toBe(0.05);
    expect(rig.trace('car.soc').map(([, soc]) => soc)).toEqual([0.0725, 0.07, 0.06, 0.05]);
  });

  it('follows a lower limit within 5 s, both ways, and does not charge below 6 A', () => {
    for (const command of [CHARGE, DISCHARGE]) {
      const rig = onGrid();
      rig.order('vehicleCommand', command);
      rig.run(10 * S);
      rig.order('vehicleLimit', 16_000);
      rig.run(15 * S);
      expect(rig.value('car.i')).toBeCloseTo(16, 1);
    }
    const rig = onGrid();
    rig.order('vehicleLimit', 5_900);
    rig.order('vehicleCommand', CHARGE);
    rig.run(10 * S);
    expect(modeOf(rig)).toBe('idle');
  });

  it('lets go of a charge at 0.55 pu within half a cycle, and charges again 30 s after the voltage is back', () => {
    const rig = onGrid({}, { mode: 'charging' });
    rig.run(S);
    rig.change(() => {
      rig.source!.volts_V = 132;
    });
    rig.run(2 * S);
    const [ceased] = rig.when('car', 'ceases charging');
    expect(ceased).toBeLessThan(S + 8_334);
    rig.change(() => {
      rig.source!.volts_V = 240;
    });
    rig.run(40 * S);
    const [started] = rig.when('car', 'starts charging');
    expect(started).toBeGreaterThan(32.5 * S);
    expect(started).toBeLessThan(32.6 * S);
  });

  it('trips UV2 while it discharges into 0.4 pu, at 0.16 s less the switching, and counts 300 s of good service', () => {
    const rig = onGrid({}, { mode: 'discharging' });
    rig.run(S);
    rig.change(() => {
      rig.source!.volts_V = 96;
    });
    rig.run(2 * S);
    const [tripped] = rig.when('car', 'trips UV2');
    expect(tripped).toBeGreaterThan(S + 144_000);
    expect(tripped).toBeLessThan(S + 161_000);
    expect(rig.value('car.tripped')).toBe(1);
    rig.change(() => {
      rig.source!.volts_V = 240;
    });
    rig.run(310 * S);
    const starts = rig.when('car', 'starts');
    expect(starts).toHaveLength(1);
    expect(starts[0]).toBeGreaterThan(302 * S);
  });

  it('stops 0.5 s after the link was lost, its heartbeat still; orders arrive when the link is back', () => {
    const rig = alone(57.6, {}, { mode: 'forming' });
    rig.run(1.25 * S);
    expect(rig.piece('car').signal!('heartbeat')).toBe(12);
    rig.happen('car', 'lose communication');
    rig.run(2 * S);
    expect(rig.when('car', 'stops')).toEqual([1.75 * S]);
    expect(rig.piece('car').signal!('heartbeat')).toBe(12);
    expect(rig.piece('car').signal!('fault')).toBe(0); // What it showed last.
    rig.order('vehicleCommand', STOP);
    rig.run(5 * S);
    expect(modeOf(rig)).toBe('stopped');
    rig.happen('car', 'restore communication');
    rig.run(6 * S);
    expect(modeOf(rig)).toBe('idle');
    const patient = alone(57.6, { onLinkLoss: 'go on' }, { mode: 'forming' });
    patient.happen('car', 'lose communication');
    patient.run(9 * S);
    expect(modeOf(patient)).toBe('forming');
  });

  it('stays off after a fault until a person clears it', () => {
    const rig = alone(57.6, {}, { mode: 'forming' });
    rig.run(S);
    rig.happen('car', 'fault', { code: 4 });
    rig.run(30 * S);
    expect(modeOf(rig)).toBe('faulted');
    expect(rig.value('car.fault')).toBe(4);
    expect(rig.piece('car').signal!('ready')).toBe(0);
    rig.happen('car', 'clear fault');
    rig.run(32 * S);
    expect(modeOf(rig)).toBe('forming');
  });

  it('holds the neutral in the middle where it has three terminals', () => {
    let load: ReturnType<typeof resistor> | undefined;
    const rig = new Rig({
      buses: ['house'],
      pieces: [{ kind: vehicle, id: 'car', at: ['house'], params: { neutral: true }, start: { mode: 'forming' } }],
      devices: (wiring) => {
        const { index, L1, N } = wiring.bus('house');
        load = resistor(index, L1, N, 12);
        return [load];
      },
    });
    rig.run(S);
    // 120 V behind 3 (0.02 + j0.05) ohm into 12 ohm; the other half unloaded.
    expect(rig.volts('house', 'L1', 'N')).toBeCloseTo((120 * 12) / Math.hypot(12.06, 0.15), 3);
    expect(rig.volts('house', 'N', 'L2')).toBeCloseTo(120, 3);
    expect(rig.piece('car').neutral?.holds()).toBe(true);
  });
});
