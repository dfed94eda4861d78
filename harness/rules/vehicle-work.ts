import { limit } from '../limits/index.ts';
import { type Channels, isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';

/** Codes of `gateway.vehicleCommand`. */
export const COMMAND = { idle: 0, charge: 1, discharge: 2, testVoltage: 3, form: 4, stop: 5 } as const;

/** What a vehicle is doing, told from its channels. */
export class VehicleWork {
  readonly source: SourceFacts;
  readonly #at: Readonly<Record<'p' | 'energises' | 'forms', number>>;
  readonly #quiet_W: number;

  constructor(channels: Channels, source: SourceFacts) {
    this.source = source;
    this.#at = channels.of(source.id, 'p', 'energises', 'forms');
    this.#quiet_W = limit('ieee-1547-2018.ceased.active').values.power_pu * source.rated_W;
  }

  forms(values: Float64Array): boolean {
    return isOn(values, this.#at.forms) && isOn(values, this.#at.energises);
  }

  /** It takes more than 1 % of its rating and does not form: what an island gives back to the vehicle that forms it is no charge. */
  charges(values: Float64Array): boolean {
    return !isOn(values, this.#at.forms) && values[this.#at.p]! < -this.#quiet_W;
  }

  discharges(values: Float64Array): boolean {
    return !isOn(values, this.#at.forms) && isOn(values, this.#at.energises);
  }

  isActive(values: Float64Array): boolean {
    return isOn(values, this.#at.energises) || this.charges(values);
  }
}
