import type { Inputs, ScanResult } from '../gateway/boundary.ts';
import { readingsDiffer, type Sensors } from '../gateway/sensors.ts';
import type { RunnableKernel } from '../time/kernel.ts';
import type { SimUs } from '../units.ts';

const OWNER = 'gateway';

export interface ScanGrid {
  readonly period_us: number;
  readonly phase_us: number;
  /** How long after a change of the plant a reading may still move, µs: one cycle and the longest latency. */
  readonly settle_us: number;
}

/**
 * Scans on their grid, and only those that count.
 *
 * While the plant moves, and until the slowest sensor has seen the end of it, every grid instant is looked at; a scan is
 * handed out when a value or a state has changed, or `wake` has come. Then the grid sleeps until the next change.
 */
export class Scanner {
  readonly #kernel: RunnableKernel;
  readonly #sensors: Sensors;
  readonly #grid: ScanGrid;
  /** Readings that move though the plant is at rest: an angle across a pole under slip. */
  readonly #restless: () => boolean;
  readonly #everyScan: boolean;
  readonly #due: (inputs: Inputs) => void;
  #last: Inputs | undefined;
  #wake_us: number | undefined = 0;
  #movedAt_us = 0;
  #armed: { readonly handle: number; readonly at_us: number } | undefined;
  #notBefore_us = 0;
  scans = 0;

  constructor(
    kernel: RunnableKernel,
    sensors: Sensors,
    grid: ScanGrid,
    restless: () => boolean,
    everyScan: boolean,
    due: (inputs: Inputs) => void,
  ) {
    this.#kernel = kernel;
    this.#sensors = sensors;
    this.#grid = grid;
    this.#restless = restless;
    this.#everyScan = everyScan;
    this.#due = due;
  }

  /** Inputs of the last scan that took place. */
  get last(): Inputs | undefined {
    return this.#last;
  }

  /** A controller that has just booted knows nothing: its first scan comes at the first grid instant from `from_us` on. */
  restart(from_us: number): void {
    this.#last = undefined;
    this.#wake_us = from_us;
    this.#notBefore_us = from_us;
    this.#arm(from_us);
  }

  /** Something that a sensor can see has changed at this instant. */
  moved(): void {
    const now_us = this.#kernel.now_us;
    this.#movedAt_us = now_us;
    // What comes after the scans of this instant is seen by the next: as if they had all taken place.
    this.#arm(this.#kernel.hasReached('scan') ? now_us + 1 : now_us);
  }

  answered(result: ScanResult): void {
    this.#wake_us =
      result.wake === 'never' ? undefined : result.wake === 'each scan' ? this.#kernel.now_us + 1 : result.wake;
    this.#rearm();
  }

  #arm(from_us: number): void {
    const at_us = this.#gridFrom(Math.max(from_us, this.#notBefore_us));
    if (this.#armed !== undefined) {
      if (this.#armed.at_us <= at_us) return;
      this.#kernel.cancel(this.#armed.handle);
    }
    const handle = this.#kernel.at(at_us as SimUs, 'scan', OWNER, 'scan', () => {
      this.#armed = undefined;
      this.#look();
    });
    this.#armed = { handle, at_us };
  }

  #gridFrom(from_us: number): number {
    const { period_us, phase_us } = this.#grid;
    const steps = Math.max(0, Math.ceil((from_us - phase_us) / period_us));
    return phase_us + steps * period_us;
  }

  #look(): void {
    const now_us = this.#kernel.now_us;
    const inputs = this.#sensors.read(now_us, this.scans + 1);
    const woken = this.#wake_us !== undefined && this.#wake_us <= now_us;
    const counts = this.#everyScan || woken || this.#last === undefined || readingsDiffer(inputs, this.#last);
    if (!counts) {
      this.#rearm();
      return;
    }
    this.scans += 1;
    this.#last = inputs;
    this.#due(inputs);
  }

  /** Next look: the next grid instant while a reading may move, else the one at which the controller wants to be woken. */
  #rearm(): void {
    const now_us = this.#kernel.now_us;
    const unsettled = now_us <= this.#movedAt_us + this.#grid.settle_us + this.#grid.period_us;
    if (unsettled || this.#everyScan || this.#restless()) this.#arm(now_us + 1);
    else if (this.#wake_us !== undefined) this.#arm(Math.max(now_us + 1, this.#wake_us));
  }
}
