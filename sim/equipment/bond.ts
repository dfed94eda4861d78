import { assert } from '../check.ts';
import { EARTH, type NeutralBranch, type WiredBus } from '../network/wiring.ts';
import { type Bag, type KindSpec, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';

const spec: KindSpec = {
  kind: 'bond',
  about: 'Joins the neutral of one bus to earth: the main or system bonding jumper with its grounding electrode.',
  joins: 1,
  legs: [['N']],
  params: [
    {
      name: 'resistance',
      unit: 'ohm',
      about: 'Of the jumper itself.',
      default: 0.001,
      min: 1e-6,
      max: 1000,
      source: 'assumed: a short copper jumper',
    },
    {
      name: 'electrode',
      unit: 'ohm',
      about: 'From the grounding electrode to true earth, in series with the jumper.',
      default: 25,
      min: 0,
      max: 100_000,
      source: 'from memory: nec, 250.53(A)(2), one rod may stay alone up to 25 ohm',
    },
    {
      name: 'when',
      unit: 'choice',
      about: 'Always joined, or switched by a relay: joined on the grid, or in the island.',
      choices: ['always', 'grid', 'island'],
      default: 'always',
      source: 'common practice, no source',
    },
    {
      name: 'relay',
      unit: 'text',
      about: 'Relay whose proved opening switches a bond that is not always joined; none: nothing does.',
      default: 'none',
      source: 'assumed',
    },
  ],
  does: [
    { name: 'lift', about: 'Somebody takes the jumper off.', using: [], origin: 'person' },
    { name: 'restore', about: 'Somebody puts the jumper back.', using: [], origin: 'person' },
  ],
  start: [{ name: 'joined', unit: 'bool', about: 'Whether the jumper is on.', default: true, source: 'nec, 250.24' }],
};

/** Neutral-to-earth bond: one branch N to earth, R = jumper + electrode. It is no line conductor and parts nothing. */
class Bond implements EquipmentPiece {
  readonly id: string;
  readonly kind = 'bond';
  readonly devices = [];
  readonly #around: Surroundings;
  readonly #when: string;
  readonly #relay: string;
  readonly #bus: WiredBus;
  readonly #branch: NeutralBranch;
  #fitted: boolean;
  readonly bond: { readonly bus: number; joined(): boolean };

  constructor(piece: Piece, around: Surroundings) {
    this.id = piece.id;
    this.#around = around;
    this.#when = textOf(piece.params, 'when');
    this.#relay = textOf(piece.params, 'relay');
    this.#fitted = around.start.joined !== false;
    this.#bus = around.wiring.bus(piece.at[0]!);
    const r_ohm = numberOf(piece.params, 'resistance') + numberOf(piece.params, 'electrode');
    this.#branch = around.wiring.addNeutral(this.#bus.N, EARTH, r_ohm, 0, this.#fitted);
    this.bond = { bus: this.#bus.index, joined: () => this.#branch.connected };
  }

  begin(): void {
    if (this.#when === 'always') return;
    const relay = this.#around.piece(this.#relay);
    relay?.watch?.('openProved1', (cause) => this.#follow(cause));
    this.#branch.connected = this.#wanted();
  }

  channels(): readonly Channel[] {
    return [{ name: `${this.id}.joined`, unit: 'bit' }];
  }

  write(out: Float64Array, at: number): void {
    out[at] = this.#branch.connected ? 1 : 0;
  }

  does(name: string, _using: Bag, cause: Cause): void {
    assert(name === 'lift' || name === 'restore', `a bond cannot ${name}`);
    this.#fitted = name === 'restore';
    this.#follow(cause);
  }

  digestState(): readonly Plain[] {
    return [this.#fitted, this.#branch.connected];
  }

  #wanted(): boolean {
    if (!this.#fitted || this.#when === 'always') return this.#fitted;
    const open = this.#around.piece(this.#relay)?.signal?.('openProved1') === 1;
    return open === (this.#when === 'island');
  }

  #follow(cause: Cause): void {
    const wanted = this.#wanted();
    if (wanted === this.#branch.connected) return;
    this.#around.change(() => {
      this.#around.happened(this.id, wanted ? 'bond joined' : 'bond parted', cause);
      this.#branch.connected = wanted;
    });
  }
}

export const bond: Kind = { spec, make: (piece, around) => new Bond(piece, around) };
