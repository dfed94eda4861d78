import { type Channels, isOn } from './channels.ts';

/** Which legs of the service have no path to a utility that is switched on. */
export interface Absence {
  readonly L1: boolean;
  readonly L2: boolean;
  readonly any: boolean;
}

const absent = (L1: boolean, L2: boolean): Absence => ({ L1, L2, any: L1 || L2 });
const NONE = absent(false, false);
const BOTH = absent(true, true);
const ONLY_L1 = absent(true, false);
const ONLY_L2 = absent(false, true);

export class Presence {
  readonly #at: Readonly<Record<'present1' | 'present2', number>>;

  constructor(channels: Channels, serviceBus: string) {
    this.#at = channels.of(serviceBus, 'present1', 'present2');
  }

  absence(values: Float64Array): Absence {
    if (isOn(values, this.#at.present1)) return isOn(values, this.#at.present2) ? NONE : ONLY_L2;
    return isOn(values, this.#at.present2) ? ONLY_L1 : BOTH;
  }

  /** Nothing is absent before a run begins: what is absent at its first frame begins there. */
  absenceBefore(values: Float64Array | undefined): Absence {
    return values === undefined ? NONE : this.absence(values);
  }
}
