import { assert } from '../check.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import { EARTH, type WiredBus } from '../network/wiring.ts';
import { type Bag, type KindSpec, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';

const spec: KindSpec = {
  kind: 'fault',
  about: 'A short circuit or earth fault that can strike at one bus.',
  joins: 1,
  legs: [['L1', 'L2', 'N']],
  params: [
    {
      name: 'between',
      unit: 'choice',
      about: 'What it joins.',
      choices: ['L1-N', 'L2-N', 'L1-L2', 'L1-earth', 'L2-earth'],
      default: 'L1-N',
      source: 'assumed',
    },
    {
      name: 'resistance',
      unit: 'ohm',
      about: 'Of the fault with its arc.',
      default: 0.01,
      min: 0.001,
      max: 1e6,
      source: 'assumed: close to bolted',
    },
  ],
  does: [
    {
      name: 'strike',
      about: 'The fault strikes.',
      origin: 'equipment',
      using: [
        {
          name: 'duration',
          unit: 'µs',
          about: 'Clears by itself after this; 0: stays.',
          default: 0,
          min: 0,
          max: 3600 * US_PER_S,
          source: 'assumed',
        },
      ],
    },
    { name: 'clear', about: 'The fault is gone.', using: [], origin: 'person' },
  ],
  start: [
    {
      name: 'struck',
      unit: 'bool',
      about: 'Whether it stands at the start.',
      default: false,
      source: 'assumed: sound',
    },
  ],
};

function ends(bus: WiredBus, between: string): readonly [number, number] {
  if (between === 'L1-L2') return [bus.L1, bus.L2];
  const line = between.startsWith('L1') ? bus.L1 : bus.L2;
  return [line, between.endsWith('N') ? bus.N : EARTH];
}

/** I = U/R between two conductors while it stands. Arc extinction and direct components are left out. */
class Fault implements EquipmentPiece, PhasorDevice {
  readonly id: string;
  readonly kind = 'fault';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly #around: Surroundings;
  readonly #a: number;
  readonly #b: number;
  readonly #g_S: number;
  #struck: boolean;
  #ending: number | undefined;

  constructor(piece: Piece, around: Surroundings) {
    this.id = piece.id;
    this.#around = around;
    const bus = around.wiring.bus(piece.at[0]!);
    this.bus = bus.index;
    [this.#a, this.#b] = ends(bus, textOf(piece.params, 'between'));
    this.#g_S = 1 / numberOf(piece.params, 'resistance');
    this.#struck = around.start.struck === true;
  }

  stamp(net: PhasorNet): void {
    if (this.#struck) net.admittance(this.#a, this.#b, this.#g_S, 0);
  }

  channels(): readonly Channel[] {
    return [
      { name: `${this.id}.struck`, unit: 'bit' },
      { name: `${this.id}.i`, unit: 'A' },
    ];
  }

  write(out: Float64Array, at: number): void {
    out[at] = this.#struck ? 1 : 0;
    out[at + 1] = this.#struck ? this.#current_A() : 0;
  }

  does(name: string, using: Bag, cause: Cause): void {
    assert(name === 'strike' || name === 'clear', `a fault cannot ${name}`);
    const { kernel } = this.#around;
    if (this.#ending !== undefined) kernel.cancel(this.#ending);
    this.#ending = undefined;
    this.#set(name === 'strike');
    const duration_us = name === 'strike' ? numberOf(using, 'duration') : 0;
    if (duration_us === 0) return;
    const due_us = (kernel.now_us + duration_us) as SimUs;
    this.#ending = kernel.at(due_us, 'protection', this.id, 'fault over', () => {
      this.#ending = undefined;
      this.#set(false, cause);
    });
  }

  digestState(): readonly Plain[] {
    return [this.#struck];
  }

  /** `cause`: of an end that nobody ordered at this instant, and that is therefore recorded. */
  #set(struck: boolean, cause?: Cause): void {
    if (struck === this.#struck) return;
    this.#around.change(() => {
      if (cause !== undefined) this.#around.happened(this.id, 'fault over', cause);
      this.#struck = struck;
    });
  }

  #current_A(): number {
    const { vRe, vIm } = this.#around.level();
    const re = vRe[this.#a]! - (this.#b === EARTH ? 0 : vRe[this.#b]!);
    const im = vIm[this.#a]! - (this.#b === EARTH ? 0 : vIm[this.#b]!);
    return Math.sqrt(re * re + im * im) * this.#g_S;
  }
}

export const fault: Kind = { spec, make: (piece, around) => new Fault(piece, around) };
