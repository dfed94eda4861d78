import {
  INPUT_NAMES,
  INPUTS,
  type Inputs,
  OUTPUT_NAMES,
  OUTPUTS,
  OUTPUTS_AT_REST,
  type Outputs,
} from '../gateway/boundary.ts';
import type { Channel } from '../telemetry.ts';

const STATES = ['fresh', 'stale', 'not fitted'] as const;

/**
 * What the controller last saw and last said, as channels.
 *
 * A scan that saw nothing new leaves no trace: a fresh reading shows its age, which is its sensor's latency, a stale one
 * the instant from which it is held.
 */
export class GatewayRecord {
  #inputs: Inputs | undefined;
  #outputs: Outputs = OUTPUTS_AT_REST;

  #changed = true;

  scanned(inputs: Inputs): void {
    this.#inputs = inputs;
    this.#changed = true;
  }

  answered(outputs: Outputs): void {
    this.#outputs = outputs;
    this.#changed = true;
  }

  changedSince(): boolean {
    const changed = this.#changed;
    this.#changed = false;
    return changed;
  }

  channels(): Channel[] {
    return [
      ...OUTPUT_NAMES.map((name): Channel => ({ name: `gateway.${name}`, unit: OUTPUTS[name].unit })),
      ...INPUT_NAMES.flatMap((name): Channel[] => [
        { name: `gateway.in.${name}`, unit: INPUTS[name].unit },
        { name: `gateway.in.${name}.state`, unit: 'state', states: STATES },
        { name: `gateway.in.${name}.age`, unit: 'µs' },
        { name: `gateway.in.${name}.heldFrom`, unit: 'µs' },
      ]),
    ];
  }

  write(out: Float64Array, at: number): void {
    let next = at;
    for (const name of OUTPUT_NAMES) out[next++] = this.#outputs[name];
    const inputs = this.#inputs;
    for (const name of INPUT_NAMES) {
      const reading = inputs?.[name];
      out[next++] = name === 'vehicleHeartbeat' ? 0 : (reading?.value ?? 0);
      out[next++] = reading === undefined ? 2 : STATES.indexOf(reading.state);
      out[next++] = reading?.state === 'fresh' && inputs !== undefined ? inputs.now_us - reading.at_us : 0;
      out[next++] = reading?.state === 'stale' ? reading.at_us : 0;
    }
  }
}
