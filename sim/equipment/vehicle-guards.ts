import { assert } from '../check.ts';
import { type Bag, type Id, numberOf } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import type { Cause, EquipmentPiece, Surroundings } from './piece.ts';
import { VEHICLE_FAULTS } from './vehicle-chart.ts';
import { linkedId } from './vehicle-settings.ts';

/** Position code as the boundary table has it. */
const CLOSED = 2;

export interface GuardsEnd {
  /** A link has gone for as long as its parameter allows: a vehicle that makes the voltage must stop. */
  lost(code: number, cause: Cause): void;
  look(): void;
}

/** The wires that stop a vehicle: the enable through the isolation relay's open contacts, and the neutral former's contact. */
export class VehicleGuards {
  readonly #id: Id;
  readonly #params: Bag;
  readonly #around: Surroundings;
  readonly #end: GuardsEnd;
  #relay: EquipmentPiece | undefined;
  #former: EquipmentPiece | undefined;
  #neutralIn = false;
  readonly #timers = new Map<number, number>();

  constructor(id: Id, params: Bag, around: Surroundings, end: GuardsEnd) {
    this.#id = id;
    this.#params = params;
    this.#around = around;
    this.#end = end;
  }

  begin(): void {
    this.#relay = this.#find('interlock');
    this.#relay?.watch?.('interlock', (cause) => {
      this.#follow(this.isEnabled, VEHICLE_FAULTS.notProven, 'interlockTime', cause);
      this.#end.look();
    });
    this.#former = this.#find('neutralFormer');
    this.#neutralIn = this.#former?.signal?.('aux') === CLOSED;
    this.#former?.watch?.('aux', (cause) => {
      const isIn = this.#former?.signal?.('aux') === CLOSED;
      if (isIn !== this.#neutralIn) this.#follow(isIn, VEHICLE_FAULTS.neutralLost, 'neutralTime', cause);
      this.#neutralIn = isIn;
    });
  }

  get isEnabled(): boolean {
    return this.#relay === undefined || this.#relay.signal?.('interlock') === 1;
  }

  #find(param: string): EquipmentPiece | undefined {
    const id = linkedId(this.#params, param);
    if (id === undefined) return undefined;
    const piece = this.#around.piece(id);
    assert(piece !== undefined, `vehicle ${this.#id}: ${param} is ${id}, which is not there; was the site checked?`);
    return piece;
  }

  /** A timer from the loss; being back in time takes it away. */
  #follow(good: boolean, code: number, time: string, cause: Cause): void {
    const { kernel } = this.#around;
    const running = this.#timers.get(code);
    if (good) {
      if (running !== undefined) kernel.cancel(running);
      this.#timers.delete(code);
      return;
    }
    if (running !== undefined) return;
    const due_us = (kernel.now_us + numberOf(this.#params, time)) as SimUs;
    const handle = kernel.at(due_us, 'protection', this.#id, time, () => {
      this.#timers.delete(code);
      this.#end.lost(code, cause);
    });
    this.#timers.set(code, handle);
  }
}
