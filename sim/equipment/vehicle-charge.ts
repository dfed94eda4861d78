import { type Bag, type Id, numberOf } from '../site-description.ts';
import { LINE_V, type SimUs } from '../units.ts';
import { Battery } from './battery.ts';
import type { Cause, Surroundings } from './piece.ts';
import { batteryOf, linkTrip_us } from './vehicle-settings.ts';

const OWN: Cause = { origin: 'equipment', number: undefined };

/** What the charge tells the work; each by a timer, never inside a solution. */
export interface ChargeEnd {
  /** Full, or no longer: what an island may push in has changed. */
  turned(): void;
  /** A level was reached; `empty` when it is the last one. */
  reached(empty: boolean): void;
  /** The d.c. link has risen to its trip. */
  linkTrips(): void;
}

/** The battery as the vehicle goes by it: full with some hysteresis, a reserve, and a report by steps. */
export class VehicleCharge {
  readonly #id: Id;
  readonly #params: Bag;
  readonly #around: Surroundings;
  readonly #end: ChargeEnd;
  readonly #battery: Battery;
  #shown: number;
  #isFull: boolean;
  #linkTimer: number | undefined;

  constructor(id: Id, params: Bag, around: Surroundings, end: ChargeEnd) {
    this.#id = id;
    this.#params = params;
    this.#around = around;
    this.#end = end;
    this.#shown = numberOf(around.start, 'soc');
    this.#isFull = this.#shown >= numberOf(params, 'chargeLimit');
    this.#battery = new Battery(around.kernel, id, this.#shown, batteryOf(params), (level) => this.#reached(level));
  }

  /** As it is reported, 0 to 1: by steps. */
  get shown(): number {
    return this.#shown;
  }

  get isFull(): boolean {
    return this.#isFull;
  }

  get hasReserve(): boolean {
    return this.#battery.socAt(this.#around.kernel.now_us) > numberOf(this.#params, 'reserve') + 1e-9;
  }

  /** Power that it takes, W, where a current may be had. */
  acceptance_W(current_A: number): number {
    return this.#isFull ? 0 : Math.min(numberOf(this.#params, 'rated'), current_A * LINE_V);
  }

  /** Power into the site from now on, W; negative charges. */
  gives(power_W: number): void {
    this.#battery.gives(power_W);
  }

  set(soc: number): void {
    this.#battery.set(soc);
    const wasFull = this.#isFull;
    this.#isFull = soc >= numberOf(this.#params, 'chargeLimit');
    this.#shown = soc;
    this.#around.noted();
    if (wasFull !== this.#isFull) this.#end.turned();
    this.#end.reached(soc <= numberOf(this.#params, 'empty'));
  }

  /** The battery has opened: what still comes in lifts the d.c. link until the converter stops. */
  open(incoming_W: number): void {
    const { kernel } = this.#around;
    this.#around.change(() => {
      this.#around.happened(this.#id, 'battery opens', OWN);
    });
    const due_us = kernel.now_us + linkTrip_us(this.#params, incoming_W);
    this.#linkTimer = kernel.at(due_us as SimUs, 'protection', this.#id, 'link trip', () => {
      this.#linkTimer = undefined;
      this.#end.linkTrips();
    });
  }

  /** The work has ended: nothing comes in any more. */
  rest(): void {
    if (this.#linkTimer !== undefined) this.#around.kernel.cancel(this.#linkTimer);
    this.#linkTimer = undefined;
  }

  state(now_us: number): number[] {
    return [this.#shown, this.#isFull ? 1 : 0, ...this.#battery.state(now_us)];
  }

  #reached(level: number): void {
    const limit = numberOf(this.#params, 'chargeLimit');
    const wasFull = this.#isFull;
    this.#shown = level;
    if (level >= limit) this.#isFull = true;
    else if (level <= limit - numberOf(this.#params, 'chargeResume')) this.#isFull = false;
    if (wasFull === this.#isFull) this.#around.noted();
    else this.#end.turned();
    this.#end.reached(level <= numberOf(this.#params, 'empty'));
  }
}
