import { INPUT_NAMES, type InputName } from '../../../sim/gateway/boundary.ts';
import { MEASURES } from '../../../sim/gateway/sensor-inputs.ts';
import { SENSOR_SETTINGS } from '../../../sim/gateway/sensor-spec.ts';
import { Sensors, type Tap } from '../../../sim/gateway/sensors.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { createChance } from '../../../sim/time/chance.ts';
import type { SimUs } from '../../../sim/units.ts';

/** Sensors over signals that a test writes as functions of time; an input that is not written stands at 0. */
export interface SensorRig {
  readonly sensors: Sensors;
  /** Looks, takes the scan and gives the value of one input. */
  value(input: InputName, at_us: number): number;
  /** The same with instant and state. */
  reading(input: InputName, at_us: number): { value: number; at_us: number; state: string };
  happen(does: string, using?: Bag, at_us?: number): void;
}

interface RigOptions {
  readonly signals?: { readonly [name in InputName]?: (t_us: number) => number };
  readonly settings?: Bag;
  readonly latency_us?: number;
  readonly missing?: readonly InputName[];
  readonly seed?: number;
}

export function sensorRig({
  signals = {},
  settings = {},
  latency_us = 0,
  missing = [],
  seed = 1,
}: RigOptions): SensorRig {
  const taps = Object.fromEntries(
    INPUT_NAMES.map((name): [InputName, Tap] => [
      name,
      {
        at: signals[name] ?? (() => 0),
        latency_us: MEASURES[name] === undefined ? 0 : latency_us,
        fitted: !missing.includes(name),
      },
    ]),
  ) as Record<InputName, Tap>;
  const defaults = Object.fromEntries(SENSOR_SETTINGS.map((spec) => [spec.name, spec.default!]));
  const sensors = new Sensors(taps, { ...defaults, ...settings }, createChance(seed));
  const reading: SensorRig['reading'] = (input, at_us) => {
    sensors.look(at_us);
    return sensors.take(at_us as SimUs, 1)[input];
  };
  return {
    sensors,
    reading,
    value: (input, at_us) => reading(input, at_us).value,
    happen: (does, using = {}, at_us = 0) => sensors.does(does, using, at_us),
  };
}
