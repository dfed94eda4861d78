import { assert } from '../check.ts';
import type { Handover, Level } from '../network/handover.ts';
import { closePhasors, openPhasors } from '../network/phasor-handover.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import type { Kernel } from '../time/time.ts';
import { type SimUs, US_PER_S } from '../units.ts';

/** Steps a second just after a happening, and their number: longer while a part has no former. */
const FINE_Hz = 480;
const FINE_STEPS = 24;
const FINE_STEPS_UNFORMED = 240;
const COARSE_Hz = 120;
const OWNER = 'plant';

/** What the plant tells the rest of the site. */
export interface PlantWatcher {
  /** Something is about to change at this instant. */
  changing(): void;
  /** The network has been cut anew: what follows from topology alone is stale. */
  cut(): void;
  /** A solution stands at this instant; true while a window over it still moves. */
  solved(now_us: number): boolean;
  /** Record a frame now. */
  frame(): void;
}

/**
 * Keeps the phasor level in step with the clock: half a cycle a step while anything moves, finer just after a happening,
 * not at all while nothing does.
 *
 * Step instants are counted from the last happening and rounded to whole µs from the exact count. A step in which no bit
 * of any memory changes is the last one: the next would change nothing either.
 *
 * Closed, it neither steps nor solves: another level has the network, and what falls due meanwhile is made up for by one
 * fresh solution when it is opened.
 */
export class Plant implements Level {
  readonly #kernel: Kernel;
  readonly #level: PhasorLevel;
  readonly #watcher: PlantWatcher;
  /** Steps go on though nothing moves: for the law that this changes nothing. */
  readonly #restless: boolean;
  #last_us = 0;
  #anchor_us = 0;
  #fineSteps = FINE_STEPS;
  #index = 0;
  #moving = false;
  #dirty = false;
  #stepHandle: number | undefined;
  #begun = false;
  #closed = false;
  /** While it was closed a step fell due or a change was made. */
  #missed = false;
  steps = 0;

  constructor(kernel: Kernel, level: PhasorLevel, watcher: PlantWatcher, restless: boolean) {
    this.#kernel = kernel;
    this.#level = level;
    this.#watcher = watcher;
    this.#restless = restless;
  }

  /** A change has been made at this instant whose solution is still to come: what stands is no state to record. */
  get dirty(): boolean {
    return this.#dirty || (this.#closed && this.#missed);
  }

  /** First solutions: loops and filters settle on them, then the run starts as if it had always been so. */
  begin(settle: () => void): void {
    const now_us = this.#kernel.now_us;
    for (let round = 0; round < 12; round += 1) {
      this.#level.cut(now_us);
      this.#level.solve(0, now_us);
      settle();
    }
    this.#level.cut(now_us);
    this.#level.solve(0, now_us);
    this.#watcher.cut();
    this.#begun = true;
    this.#restart();
  }

  /** See Surroundings.change. */
  change(mutate: () => void): void {
    if (!this.#begun) {
      mutate();
      return;
    }
    if (this.#closed) {
      this.#watcher.changing();
      mutate();
      this.#missed = true;
      return;
    }
    this.#bringUp();
    this.#watcher.changing();
    mutate();
    if (this.#dirty) return;
    this.#dirty = true;
    this.#kernel.at(this.#kernel.now_us, 'record', OWNER, 'solve', () => {
      this.#dirty = false;
      this.#cut();
      this.#solveAnew();
    });
  }

  #cut(): void {
    this.#level.cut(this.#kernel.now_us);
    this.#watcher.cut();
  }

  #solveAnew(): void {
    const now_us = this.#kernel.now_us;
    this.#level.solve(0, now_us);
    this.#level.shownAt_us = now_us;
    this.#level.accept(0);
    this.#watcher.solved(now_us);
    this.#watcher.frame();
    this.#restart();
  }

  /** Nothing is moved: between two solutions the network is told as it turns and falls by itself. */
  close(): Handover {
    assert(!this.#dirty, 'a level is closed when the changes of its instant have been solved');
    assert(!this.#closed, 'a closed level is not closed again');
    this.#closed = true;
    this.#missed = false;
    return closePhasors(this.#level, this.#kernel.now_us);
  }

  open(from: Handover): void {
    assert(this.#closed, 'only a closed level is opened');
    assert(from.at_us === this.#kernel.now_us, 'a level is opened at the instant of the hand-over');
    this.#closed = false;
    if (this.#missed) this.#cut();
    if (openPhasors(this.#level, from) || this.#missed) this.#solveAnew();
  }

  /** Brings memory and solution up to now, under the topology as it was. */
  #bringUp(): void {
    if (this.#dirty) return; // Already done at this instant: the change that made it dirty did it.
    const now_us = this.#kernel.now_us;
    if (this.#moving && now_us > this.#last_us) this.advance(now_us);
    this.#last_us = now_us;
    this.#level.shownAt_us = now_us;
    this.#watcher.frame();
  }

  #restart(): void {
    const now_us = this.#kernel.now_us;
    this.#moving = true;
    this.#last_us = now_us;
    this.#anchor_us = now_us;
    this.#index = 0;
    this.#fineSteps = this.#level.hasUnformed ? FINE_STEPS_UNFORMED : FINE_STEPS;
    this.#setStep();
  }

  #setStep(): void {
    if (this.#stepHandle !== undefined) this.#kernel.cancel(this.#stepHandle);
    this.#index += 1;
    const fine = Math.min(this.#index, this.#fineSteps);
    const due_us =
      this.#anchor_us + Math.round((fine * US_PER_S) / FINE_Hz + ((this.#index - fine) * US_PER_S) / COARSE_Hz);
    this.#arm(due_us);
  }

  #arm(due_us: number): void {
    this.#stepHandle = this.#kernel.at(due_us as SimUs, 'plant', OWNER, 'step', () => {
      this.#stepHandle = undefined;
      this.#step();
    });
  }

  #step(): void {
    if (this.#closed) {
      this.#missed = true;
      return;
    }
    const now_us = this.#kernel.now_us;
    assert(now_us > this.#last_us, 'a step has a length');
    const moved = this.advance(now_us);
    this.#watcher.frame();
    const decay_s = this.#level.decayStep_s;
    if (moved || this.#level.hasUnformed) {
      this.#setStep();
    } else if (decay_s !== undefined) {
      // Only a stored charge is left: its steps are counted from here, as long as its time constant allows.
      this.#anchor_us = now_us + Math.round(decay_s * US_PER_S) - Math.round(US_PER_S / COARSE_Hz);
      this.#fineSteps = 0;
      this.#index = 0;
      this.#setStep();
    } else if (this.#restless) {
      this.#setStep();
    } else {
      this.#moving = false;
    }
  }

  /** One step to now; true when any bit of memory changed. */
  advance(now_us: SimUs): boolean {
    const h_s = (now_us - this.#last_us) / US_PER_S;
    const advanced = this.#level.advance(h_s, this.#last_us);
    this.#last_us = now_us;
    this.#level.solve(h_s, now_us);
    const accepted = this.#level.accept(h_s);
    const windows = this.#watcher.solved(now_us);
    this.steps += 1;
    const moved = advanced || accepted || windows;
    if (moved || this.#level.hasUnformed || this.#level.decayStep_s !== undefined) this.#level.shownAt_us = now_us;
    return moved;
  }
}
