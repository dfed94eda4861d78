import { assert } from '../check.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import type { NeutralBranch, WiredBus } from '../network/wiring.ts';
import {
  type Bag,
  flagOf,
  type KindSpec,
  numberOf,
  type ParamSpec,
  type Piece,
  type Plain,
  textOf,
} from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';

const FEET_1000_m = 304.8;

/**
 * Resistance at 75 °C and reactance at 60 Hz of one conductor in a plastic conduit, ohm per 1000 ft.
 *
 * NEC chapter 9 table 9, from memory; printed there with two digits.
 */
export const CONDUCTORS: Readonly<Record<string, readonly [r: number, x: number]>> = {
  '6 Cu': [0.49, 0.051],
  '2 Cu': [0.19, 0.045],
  '2/0 Cu': [0.1, 0.043],
  '4/0 Cu': [0.062, 0.041],
  '2 Al': [0.32, 0.045],
  '1/0 Al': [0.2, 0.044],
  '2/0 Al': [0.16, 0.043],
  '4/0 Al': [0.1, 0.041],
  '250 kcmil Al': [0.085, 0.041],
};
const SIZES = Object.keys(CONDUCTORS);
const TABLE = 'from memory: nec, chapter 9 table 9, plastic conduit';

const ohms = (name: string, about: string): ParamSpec => ({
  name,
  unit: 'ohm',
  about: `${about}; resistance and reactance both 0: by size and length.`,
  default: 0,
  min: 0,
  max: 1000,
  source: TABLE,
});

const spec: KindSpec = {
  kind: 'conductor',
  about: 'Two line conductors and a neutral between two buses, such as a service drop or a feeder.',
  joins: 2,
  legs: [['L1', 'L2', 'N']],
  params: [
    {
      name: 'size',
      unit: 'choice',
      about: 'Of each line conductor, AWG or kcmil and metal.',
      choices: SIZES,
      default: '4/0 Al',
      source: 'common practice, no source: 200 A service',
    },
    {
      name: 'neutralSize',
      unit: 'choice',
      about: 'Of the neutral.',
      choices: SIZES,
      default: '2/0 Al',
      source: 'common practice, no source: reduced neutral',
    },
    { name: 'length', unit: 'm', about: 'One way.', default: 30.48, min: 0.01, max: 10_000, source: 'assumed: 100 ft' },
    ohms('resistance', 'Of each line conductor, one way'),
    ohms('reactance', 'Of each line conductor at 60 Hz, one way'),
    ohms('neutralResistance', 'Of the neutral, one way'),
    ohms('neutralReactance', 'Of the neutral at 60 Hz, one way'),
    {
      name: 'neutral',
      unit: 'bool',
      about: 'Whether a neutral is run along.',
      default: true,
      source: 'common practice, no source',
    },
  ],
  does: [
    { name: 'open neutral', about: 'Its neutral breaks.', using: [], origin: 'equipment' },
    { name: 'mend neutral', about: 'Its neutral is mended.', using: [], origin: 'person' },
  ],
  start: [
    {
      name: 'neutralBroken',
      unit: 'bool',
      about: 'Whether its neutral is broken.',
      default: false,
      source: 'assumed: sound',
    },
  ],
};

/** Series impedance of one conductor, ohm at 60 Hz: given directly, or Z = z' · l by the table. */
export function conductorImpedance(
  size: string,
  length_m: number,
  r_ohm: number,
  x_ohm: number,
): readonly [number, number] {
  if (r_ohm > 0 || x_ohm > 0) return [r_ohm, x_ohm];
  const row = CONDUCTORS[size];
  assert(row !== undefined, `no conductor of size ${size}`);
  return [(row[0] * length_m) / FEET_1000_m, (row[1] * length_m) / FEET_1000_m];
}

/** Z = r + jx in each line between two buses and in their neutral. Mutual and shunt terms are left out. */
class ConductorPiece implements EquipmentPiece, PhasorDevice {
  readonly id: string;
  readonly kind = 'conductor';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly #around: Surroundings;
  readonly #from: WiredBus;
  readonly #to: WiredBus;
  readonly #r_ohm: number;
  readonly #x_ohm: number;
  readonly #neutral: NeutralBranch | undefined;

  constructor({ id, at, params }: Piece, around: Surroundings) {
    this.id = id;
    this.#around = around;
    const { wiring } = around;
    this.#from = wiring.bus(at[0]!);
    this.#to = wiring.bus(at[1]!);
    this.bus = this.#from.index;
    wiring.link(this.#from, this.#to);
    const length_m = numberOf(params, 'length');
    const of = (size: string, r: string, x: string) =>
      conductorImpedance(textOf(params, size), length_m, numberOf(params, r), numberOf(params, x));
    [this.#r_ohm, this.#x_ohm] = of('size', 'resistance', 'reactance');
    const [r_ohm, x_ohm] = of('neutralSize', 'neutralResistance', 'neutralReactance');
    const whole = around.start.neutralBroken !== true;
    this.#neutral = flagOf(params, 'neutral')
      ? wiring.addNeutral(this.#from.N, this.#to.N, r_ohm, x_ohm, whole)
      : undefined;
  }

  stamp(net: PhasorNet): void {
    net.series(this.#from.L1, this.#to.L1, this.#r_ohm, this.#x_ohm);
    net.series(this.#from.L2, this.#to.L2, this.#r_ohm, this.#x_ohm);
  }

  channels(): readonly Channel[] {
    return [{ name: `${this.id}.neutral`, unit: 'bit' }];
  }

  write(out: Float64Array, at: number): void {
    out[at] = this.#neutral?.connected === true ? 1 : 0;
  }

  does(name: string, _using: Bag, cause: Cause): void {
    assert(name === 'open neutral' || name === 'mend neutral', `a conductor cannot ${name}`);
    const connected = name === 'mend neutral';
    const branch = this.#neutral;
    if (branch === undefined || branch.connected === connected) return;
    this.#around.change(() => {
      this.#around.happened(this.id, connected ? 'neutral back' : 'neutral lost', cause);
      branch.connected = connected;
    });
  }

  digestState(): readonly Plain[] {
    return [this.#neutral?.connected === true];
  }
}

export const conductor: Kind = { spec, make: (piece, around) => new ConductorPiece(piece, around) };
