import { INPUT_NAMES } from '../../../sim/gateway/boundary.ts';
import { MEASURED_INPUTS, TRANSFORMER_INPUTS } from '../../../sim/gateway/sensor-inputs.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { type Draws, pick, whole } from './steps.ts';

/** One fault that hides until something asks for the part, and what mends it. */
export interface HiddenFault {
  readonly kind: string;
  readonly does: string;
  readonly weight: number;
  readonly make: (draws: Draws) => Bag;
  /** Absent: nothing does. */
  readonly mended?: { readonly does: string; readonly using?: Bag };
}

const POLES = ['L1', 'L2', 'both'] as const;
const CONTACTS = ['openProved1', 'openProved2', 'closedProved1', 'closedProved2'] as const;
const MS_us = 1_000;
const S_us = 1_000_000;

const pole = ([a]: Draws): Bag => ({ pole: pick(POLES, a) });
const RELAY = { does: 'mend', using: { pole: 'both' } };
const SENSORS = { does: 'mend sensors' };

/**
 * Relay, auxiliary contacts, one sensor, one link, and what else of the equipment can fail unseen. Exchanged sense leads are
 * no failing sensor but wiring: nothing that is measured while the relay is open tells them from a sound half turn, so that a
 * closed transition would meet half a turn out.
 */
export const FAULTS: readonly HiddenFault[] = [
  { kind: 'relay', does: 'weld', weight: 4, make: pole, mended: RELAY },
  { kind: 'relay', does: 'stick', weight: 3, make: pole, mended: RELAY },
  {
    kind: 'relay',
    does: 'slow',
    weight: 3,
    make: ([a, b]) => ({ ...pole([a, b]), extra: whole(b, 5, 400) * MS_us }),
    mended: RELAY,
  },
  {
    kind: 'relay',
    does: 'lie',
    weight: 5,
    make: ([a, b]) => ({ contact: pick(CONTACTS, a), shows: whole(b, 0, 1) }),
    mended: RELAY,
  },
  {
    kind: 'relay',
    does: 'chatter',
    weight: 1,
    make: ([a, b]) => ({ ...pole([a, b]), count: whole(b, 1, 6), period: whole(a, 8, 120) * MS_us }),
    mended: RELAY,
  },
  { kind: 'relay', does: 'operate', weight: 3, make: ([a]) => ({ to: pick(['open', 'closed'], a) }), mended: RELAY },
  { kind: 'relay', does: 'lose supply', weight: 2, make: () => ({}), mended: { does: 'restore supply' } },
  {
    kind: 'gateway',
    does: 'freeze input',
    weight: 5,
    make: ([a]) => ({ input: pick(INPUT_NAMES, a) }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'stick input',
    weight: 8,
    make: ([a]) => ({ input: pick(INPUT_NAMES, a) }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'offset input',
    weight: 3,
    make: ([a, b]) => ({ input: pick(MEASURED_INPUTS, a), by: whole(b, -8, 8) * 10_000 }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'scale input',
    weight: 3,
    make: ([a, b]) => ({ input: pick(MEASURED_INPUTS, a), factor: pick([0, 0.4, 0.9, 1.1, -1, 3], b) }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'reverse current transformer',
    weight: 1,
    make: ([a]) => ({ input: pick(TRANSFORMER_INPUTS, a) }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'swap current transformers',
    weight: 1,
    make: ([a]) => ({ pair: pick(['service', 'vehicle'], a) }),
    mended: SENSORS,
  },
  {
    kind: 'gateway',
    does: 'step clock',
    weight: 2,
    make: ([a]) => ({ by: pick([-3_600, -2, -0.03, 0.03, 2, 3_600], a) * S_us }),
    mended: SENSORS,
  },
  {
    kind: 'vehicle',
    does: 'lose communication',
    weight: 4,
    make: () => ({}),
    mended: { does: 'restore communication' },
  },
  { kind: 'vehicle', does: 'lose lock', weight: 1, make: () => ({}), mended: { does: 'mend lock' } },
  { kind: 'former', does: 'open by itself', weight: 2, make: () => ({}), mended: { does: 'mend' } },
  { kind: 'former', does: 'weld', weight: 2, make: () => ({}), mended: { does: 'mend' } },
  { kind: 'main', does: 'weld', weight: 1, make: pole, mended: { does: 'mend' } },
  { kind: 'main', does: 'stick', weight: 1, make: () => ({}), mended: { does: 'mend' } },
  { kind: 'pv', does: 'stuck on', weight: 2, make: () => ({}) },
  { kind: 'pv', does: 'fail to detect', weight: 1, make: () => ({}) },
];
export const FAULTED: readonly number[] = FAULTS.flatMap(({ weight }, i) => Array<number>(weight).fill(i));
