import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import type { Id, Plain } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { LINE_V, type SimUs, US_PER_S } from '../units.ts';
import { TripWatch } from './pv-trips.ts';
import { COMPRESSOR, RunningMotor } from './running-motor.ts';

/** Motors that have stopped start again once the voltage has been back above this for their delay, pu. */
const STARTS_AGAIN = 0.9;

export interface MotorSettings {
  /** Equal groups of motors. */
  readonly groups: number;
  /** Share of 1 whose contactor lets go at low voltage; the nearest number of groups. */
  readonly contactors: number;
  /** pu. */
  readonly dropBelow: number;
  readonly dropTime_us: number;
  readonly restart_us: number;
  /** By how much the last group starts after the first one. */
  readonly spread_us: number;
}

/**
 * Motors that start together: one rotor, perhaps behind a contactor that lets go at low voltage, and a timer of their own.
 *
 * A rotor cut off from the bus by its contactor is forgotten: it is at rest before it may start again.
 */
export class MotorGroup {
  readonly motor: RunningMotor;
  readonly #at: WiredBus;
  readonly #owner: Id;
  readonly #kernel: Kernel;
  readonly #change: (mutate: () => void) => void;
  readonly #restart_us: number;
  readonly #drop: TripWatch | undefined;
  #timer: number | undefined;
  #due_us = 0;
  #uBefore = 1;

  /** @param index - which of the groups; the first ones have contactors, the last one starts last */
  constructor(
    settings: MotorSettings,
    index: number,
    at: WiredBus,
    owner: Id,
    kernel: Kernel,
    change: (mutate: () => void) => void,
  ) {
    this.motor = new RunningMotor(COMPRESSOR, at.L1, at.L2, 0);
    this.#at = at;
    this.#owner = owner;
    this.#kernel = kernel;
    this.#change = change;
    const { groups, contactors, dropBelow, dropTime_us, restart_us, spread_us } = settings;
    this.#restart_us = restart_us + (groups > 1 ? Math.round((index * spread_us) / (groups - 1)) : 0);
    if (index >= Math.round(contactors * groups)) return;
    const row = { row: `contactors ${index + 1}`, side: 'under', level: dropBelow, time_us: dropTime_us } as const;
    this.#drop = new TripWatch(kernel, owner, row, 0, () => {
      if (this.motor.running) change(() => this.motor.stop());
    });
  }

  /** Takes the new solution in; true while anything of it moves. */
  accept(net: PhasorNet, h_s: number): boolean {
    const moving = this.motor.accept(net, h_s);
    const u = this.#voltage(net);
    if (this.motor.running) {
      const from_us = net.now_us - Math.round(h_s * US_PER_S);
      this.#drop?.look(this.#uBefore, u, from_us, net.now_us);
    } else {
      this.#drop?.clear();
      if (this.motor.rated_VA > 0) this.#awaitRestart(u >= STARTS_AGAIN);
    }
    this.#uBefore = u;
    return moving;
  }

  digest(now_us: number): readonly Plain[] {
    const waits_us = this.#timer === undefined ? -1 : this.#due_us - now_us;
    return [...this.motor.digest(), waits_us, this.#drop?.left_us(now_us) ?? -1];
  }

  #voltage(net: PhasorNet): number {
    const re = net.re(this.#at.L1) - net.re(this.#at.L2);
    const im = net.im(this.#at.L1) - net.im(this.#at.L2);
    return Math.sqrt(re * re + im * im) / LINE_V;
  }

  #awaitRestart(back: boolean): void {
    if (!back && this.#timer !== undefined) {
      this.#kernel.cancel(this.#timer);
      this.#timer = undefined;
    } else if (back && this.#timer === undefined) {
      this.#due_us = this.#kernel.now_us + this.#restart_us;
      this.#timer = this.#kernel.at(this.#due_us as SimUs, 'protection', this.#owner, 'motors start again', () => {
        this.#timer = undefined;
        this.#change(() => this.motor.start());
      });
    }
  }
}
