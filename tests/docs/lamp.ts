import type { Cause, EquipmentPiece, Kind, Surroundings } from '../../sim/equipment/piece.ts';
import type { PhasorDevice, PhasorNet } from '../../sim/network/device.ts';
import type { WiredBus } from '../../sim/network/wiring.ts';
import { type Bag, type KindSpec, numberOf, type Piece, type Plain } from '../../sim/site-description.ts';
import type { Channel } from '../../sim/telemetry.ts';
import { LEG_V } from '../../sim/units.ts';

const spec: KindSpec = {
  kind: 'lamp',
  about: 'A lamp from L1 to neutral, behind a switch.',
  joins: 1,
  legs: [['L1', 'N']],
  params: [{ name: 'power', unit: 'W', about: 'At 120 V.', default: 100, min: 1, max: 1000, source: 'assumed' }],
  does: [
    { name: 'on', about: 'Somebody switches it on.', using: [], origin: 'person' },
    { name: 'off', about: 'Somebody switches it off.', using: [], origin: 'person' },
  ],
  start: [{ name: 'on', unit: 'bool', about: 'Whether it is on.', default: true, source: 'assumed' }],
};

/** I = P/Un² · U while it is on. The warming of its filament is left out. */
class Lamp implements EquipmentPiece, PhasorDevice {
  readonly id: string;
  readonly kind = 'lamp';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly #around: Surroundings;
  readonly #nodes: WiredBus;
  readonly #g_S: number;
  #on: boolean;

  constructor({ id, at, params }: Piece, around: Surroundings) {
    this.id = id;
    this.#around = around;
    this.#nodes = around.wiring.bus(at[0]!);
    this.bus = this.#nodes.index;
    this.#g_S = numberOf(params, 'power') / (LEG_V * LEG_V);
    this.#on = around.start['on'] === true;
  }

  stamp(net: PhasorNet): void {
    if (this.#on) net.shunt(this.#nodes.L1, this.#nodes.N, this.#g_S, 0, 0);
  }

  does(name: string, _using: Bag, _cause: Cause): void {
    this.#around.change(() => {
      this.#on = name === 'on';
    });
  }

  channels(): readonly Channel[] {
    return [{ name: `${this.id}.on`, unit: 'bit' }];
  }

  write(out: Float64Array, at: number): void {
    out[at] = this.#on ? 1 : 0;
  }

  digestState(): readonly Plain[] {
    return [this.#on];
  }
}

export const lamp: Kind = { spec, make: (piece, around) => new Lamp(piece, around) };
