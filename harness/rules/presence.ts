import { type Channels, isOn } from './channels.ts';

/** Which legs of the service have no path to a utility that is switched on. */
export interface Absence {
  readonly L1: boolean;
  readonly L2: boolean;
  readonly any: boolean;
}

export class Presence {
  readonly #at: Readonly<Record<'present1' | 'present2', number>>;

  constructor(channels: Channels, serviceBus: string) {
    this.#at = channels.of(serviceBus, 'present1', 'present2');
  }

  absence(values: Float64Array): Absence {
    const L1 = !isOn(values, this.#at.present1);
    const L2 = !isOn(values, this.#at.present2);
    return { L1, L2, any: L1 || L2 };
  }
}
