import type { Inputs, ScanResult } from '../gateway/boundary.ts';
import type { Sensors } from '../gateway/sensors.ts';
import type { RunnableKernel } from '../time/kernel.ts';
import type { SimUs } from '../units.ts';

const OWNER = 'gateway';

export interface ScanGrid {
  readonly period_us: number;
  readonly phase_us: number;
  /** How long after a change of the plant a reading may still move, µs: one cycle, a sample's wait and the latency. */
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
  /** From when a reading may move though the plant is at rest: noise, or an angle across a pole under slip. */
  readonly #restlessFrom_us: (now_us: number) => number | undefined;
  readonly #everyScan: boolean;
  readonly #due: (inputs: Inputs) => void;
  #rebooted = true;
  #counts = false;
  #wake_us: number | undefined = 0;
  #movedAt_us = 0;
  #armed: { readonly handle: number; readonly at_us: number } | undefined;
  #notBefore_us = 0;
  scans = 0;

  constructor(
    kernel: RunnableKernel,
    sensors: Sensors,
    grid: ScanGrid,
    restlessFrom_us: (now_us: number) => number | undefined,
    everyScan: boolean,
    due: (inputs: Inputs) => void,
  ) {
    this.#kernel = kernel;
    this.#sensors = sensors;
    this.#grid = grid;
    this.#restlessFrom_us = restlessFrom_us;
    this.#everyScan = everyScan;
    this.#due = due;
  }

  /** The scan that takes place would do so unforced: only such a one is recorded. */
  get counts(): boolean {
    return this.#counts;
  }

  /** A controller that has just booted knows nothing: its first scan comes at the first grid instant from `from_us` on. */
  restart(from_us: number): void {
    this.#rebooted = true;
    this.#wake_us = from_us;
    this.#notBefore_us = from_us;
    // A look that was set before would come while it still boots.
    if (this.#armed !== undefined) this.#kernel.cancel(this.#armed.handle);
    this.#armed = undefined;
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
    const differs = this.#sensors.look(now_us);
    const woken = this.#wake_us !== undefined && this.#wake_us <= now_us;
    this.#counts = this.#rebooted || woken || differs;
    if (!this.#counts && !this.#everyScan) {
      this.#rearm();
      return;
    }
    this.scans += 1;
    this.#rebooted = false;
    this.#due(this.#sensors.take(now_us, this.scans));
  }

  /** Next look: the next grid instant while a reading may move, else the one at which the controller wants to be woken. */
  #rearm(): void {
    const now_us = this.#kernel.now_us;
    const unsettled = now_us <= this.#movedAt_us + this.#grid.settle_us + this.#grid.period_us;
    if (unsettled || this.#everyScan) {
      this.#arm(now_us + 1);
      return;
    }
    const next_us = Math.min(this.#restlessFrom_us(now_us) ?? Infinity, this.#wake_us ?? Infinity);
    if (next_us < Infinity) this.#arm(Math.max(now_us + 1, next_us));
  }
}
