import { describe, expect, it } from 'vitest';
import { LOAD_SPEC } from '../../../sim/equipment/load-spec.ts';
import { COMMAND, VEHICLE_FAULTS } from '../../../sim/equipment/vehicle-chart.ts';
import { vehicleSpec } from '../../../sim/equipment/vehicle-params.ts';
import {
  type BoundaryChannel,
  COMMISSIONING,
  faultOfAnswer,
  INPUT_NAMES,
  INPUTS,
  INT32_max,
  OUTPUT_NAMES,
  OUTPUTS,
  OUTPUTS_AT_REST,
  POSITION,
  REQUEST,
  VEHICLE_COMMAND,
  VEHICLE_FAULT,
} from '../../../sim/gateway/boundary.ts';
import { createReferenceController } from '../../../sim/gateway/reference-controller.ts';
import type { SimUs } from '../../../sim/units.ts';
import { play, scenarioFile } from '../../helpers/sites.ts';

const answering = (name: string, value: unknown, more: object = {}) =>
  faultOfAnswer({ outputs: { ...OUTPUTS_AT_REST, ...more, [name]: value }, wake: 'never' }, 0);
const range = (name: (typeof OUTPUT_NAMES)[number]): BoundaryChannel => OUTPUTS[name];

describe('faultOfAnswer', () => {
  it.each(OUTPUT_NAMES)('takes %s at both ends of its range and refuses it one step beyond', (name) => {
    const { min, max } = range(name);
    expect([answering(name, min), answering(name, max)]).toEqual([undefined, undefined]);
    const said = `output ${name} is`;
    expect(answering(name, min - 1)).toContain(`${said} ${min - 1}; expected`);
    expect(answering(name, max + 1)).toContain(`${said} ${max + 1}; expected`);
  });

  it.each(OUTPUT_NAMES)('refuses %s as a half, a text, no number, and where it is missing', (name) => {
    for (const value of [range(name).min + 0.5, String(range(name).min), Number.NaN, Infinity, undefined, null]) {
      const expected = OUTPUTS[name].unit === 'bit' ? '0 or 1' : 'a whole number of 32 bits in ';
      expect(answering(name, value), String(value)).toContain(
        `output ${name} is ${String(value)}; expected ${expected}`,
      );
    }
  });

  it('says what would be right: bits, codes by name, ranges with their unit', () => {
    expect(answering('relayCoil', 2)).toBe('output relayCoil is 2; expected 0 or 1');
    expect(answering('relayCoil', true)).toBe('output relayCoil is true; expected 0 or 1');
    expect(answering('vehicleCommand', 77)).toBe(
      'output vehicleCommand is 77; expected 0 idle, 1 charge, 2 discharge, 3 testVoltage, 4 form, 5 stop',
    );
    expect(answering('vehicleLimit', -1)).toBe('output vehicleLimit is -1; expected 0 to 1000000 mA');
    expect(answering('shed', 65_536)).toBe('output shed is 65536; expected 0 to 65535 bits');
    expect(answering('islandFrequency', 1)).toBe(
      'output islandFrequency is 1; expected 50000 to 66000 mHz, or 0 while the vehicle is to make no voltage',
    );
  });

  it.each(['islandVoltage', 'islandFrequency'])('takes 0 for %s under each command that makes no voltage', (name) => {
    const { idle, charge, discharge, testVoltage, form, stop } = VEHICLE_COMMAND;
    for (const vehicleCommand of [idle, charge, discharge, stop])
      expect(answering(name, 0, { vehicleCommand })).toBe(undefined);
    for (const vehicleCommand of [testVoltage, form])
      expect(answering(name, 0, { vehicleCommand })).toContain(`output ${name} is 0; expected `);
  });

  it('takes a wake one microsecond from now, never and each scan; nothing at or before now, and no part of one', () => {
    const waking = (wake: unknown) => faultOfAnswer({ outputs: OUTPUTS_AT_REST, wake }, 10_000);
    for (const wake of [10_001, Number.MAX_SAFE_INTEGER, 'never', 'each scan']) expect(waking(wake)).toBe(undefined);
    for (const wake of [10_000, 0, -1])
      expect(waking(wake)).toBe(`wake is ${wake} µs, not after this scan at 10000 µs`);
    for (const wake of [10_000.5, NaN, Infinity, 2 ** 53, '10001', 'always', undefined, null, true])
      expect(waking(wake)).toBe(`wake is ${String(wake)}; expected whole µs, 'never' or 'each scan'`);
  });

  it('lets a run come to its end though its controller wants to wake in 285 years', () => {
    const wake = Number.MAX_SAFE_INTEGER as SimUs;
    const controller = { boot: () => {}, digestState: () => '', scan: () => ({ outputs: OUTPUTS_AT_REST, wake }) };
    const { complete, controllerFault } = play(scenarioFile('scenarios/outage/nobody-else.yaml'), { controller });
    expect({ complete, controllerFault }).toEqual({ complete: true, controllerFault: undefined });
  });

  it('says so of what is no answer at all', () => {
    expect(faultOfAnswer(undefined, 0)).toBe('the answer is undefined, not an object');
    expect(faultOfAnswer({ wake: 'never' }, 0)).toBe('the answer has no outputs');
  });
});

describe('the boundary table', () => {
  it('lets a forming source be set over the whole of its own range, and no further', () => {
    const own = (name: string) => vehicleSpec.params.find((spec) => spec.name === name);
    for (const [output, name] of [
      ['islandVoltage', 'voltage'],
      ['islandFrequency', 'frequency'],
    ] as const) {
      const { min, max } = range(output);
      expect([min, max]).toEqual([own(name)!.min! * 1000, own(name)!.max! * 1000]);
    }
  });

  it('has the codes of the vehicle: its faults and its commands, name by name', () => {
    expect(VEHICLE_FAULT).toEqual(VEHICLE_FAULTS);
    expect(VEHICLE_COMMAND).toEqual(COMMAND);
  });

  it('gives each channel with codes a range that ends where they end', () => {
    for (const codes of [POSITION, REQUEST, VEHICLE_FAULT, VEHICLE_COMMAND]) {
      const values = Object.values<number>(codes).sort((a, b) => a - b);
      expect(values).toEqual(values.map((_, index) => index));
    }
    expect([INPUTS.vehicleFault.max, OUTPUTS.vehicleCommand.max]).toEqual([9, 5]);
    expect(INPUTS.commissioning.max).toBe(Object.values(COMMISSIONING).reduce((sum, value) => sum + value, 0));
  });

  it('holds every range inside int32', () => {
    for (const { min, max } of [...Object.values(INPUTS), ...Object.values(OUTPUTS)]) {
      expect(min).toBeGreaterThanOrEqual(-INT32_max);
      expect(max).toBeLessThanOrEqual(INT32_max);
      expect(min).toBeLessThan(max);
    }
  });

  it('is kept by the sensors and by the reference controller through outage, island and return', () => {
    const scenario = scenarioFile('scenarios/outage/evening.yaml');
    const reference = createReferenceController(scenario.site);
    const odd: string[] = [];
    let scans = 0;
    const result = play(scenario, {
      controller: {
        boot: (seed) => reference.boot(seed),
        digestState: () => reference.digestState(),
        scan: (inputs) => {
          scans += 1;
          for (const name of INPUT_NAMES) {
            const { min, max } = INPUTS[name];
            const { value } = inputs[name];
            if (!Number.isInteger(value) || value < min || value > max) odd.push(`${name} ${value}`);
          }
          return reference.scan(inputs);
        },
      },
    });
    expect(odd).toEqual([]);
    expect(scans).toBeGreaterThan(100);
    expect(result.controllerFault).toBe(undefined);
  });

  it('has a bit for each shed contact that a load may hang on', () => {
    const bit = LOAD_SPEC.params.find(({ name }) => name === 'shedBit');
    expect(OUTPUTS.shed.max).toBe(2 ** bit!.max! - 1);
  });
});
