import { Subject } from 'rxjs';
import { assert } from '../check.ts';
import type { Cause } from '../equipment/piece.ts';
import type { Id } from '../site-description.ts';
import type { Channel, Telemetry } from '../telemetry.ts';
import type { Kernel } from '../time/time.ts';

/** One thing that has channels. */
export interface Writer {
  channels(): readonly Channel[];
  write(out: Float64Array, at: number): void;
  /** False: nothing of it has changed since it was last asked. Without this it is written for every frame. */
  changedSince?(): boolean;
}

/**
 * What a perfect recorder sees: a head, frames where anything has changed, happenings, an end.
 *
 * A frame holds until the next; -0 is recorded as 0 and NaN is an assertion that names the channel.
 */
export class Recorder {
  readonly telemetry$ = new Subject<Telemetry>();
  readonly #kernel: Kernel;
  #writers: readonly Writer[] = [];
  #starts: number[] = [];
  #channels: Channel[] = [];
  #values = new Float64Array(0);
  #before = new Float64Array(0);
  #happenings = 0;
  #started = false;
  frames = 0;

  constructor(kernel: Kernel) {
    this.#kernel = kernel;
  }

  begin(writers: readonly Writer[]): void {
    this.#writers = writers;
    for (const writer of writers) {
      this.#starts.push(this.#channels.length);
      this.#channels.push(...writer.channels());
    }
    this.#values = new Float64Array(this.#channels.length);
    this.#before = new Float64Array(this.#channels.length).fill(Number.NaN);
    this.#started = true;
    this.telemetry$.next({ kind: 'head', channels: this.#channels });
    this.frame();
  }

  /** A frame, if any value differs from the frame before. */
  frame(): void {
    if (!this.#started) return;
    const values = this.#values;
    const changed: number[] = [];
    for (let w = 0; w < this.#writers.length; w += 1) {
      const writer = this.#writers[w]!;
      if (writer.changedSince?.() === false) continue;
      const start = this.#starts[w]!;
      writer.write(values, start);
      this.#compare(start, this.#starts[w + 1] ?? values.length, changed);
    }
    if (changed.length === 0) return;
    const before = this.#before;
    const at_us = this.#kernel.now_us;
    this.telemetry$.next(
      this.frames === 0 ? { kind: 'frame', at_us, values, changed } : { kind: 'frame', at_us, values, changed, before },
    );
    this.frames += 1;
    for (let i = 0; i < changed.length; i += 1) before[changed[i]!] = values[changed[i]!]!;
  }

  #compare(start: number, end: number, changed: number[]): void {
    const values = this.#values;
    for (let i = start; i < end; i += 1) {
      const value = values[i]!;
      if (value === 0) values[i] = 0; // -0 is recorded as 0.
      if (value === this.#before[i]) continue;
      assert(
        !Number.isNaN(value),
        `channel ${this.#channels[i]?.name ?? '?'} is not a number at ${this.#kernel.now_us} µs`,
      );
      changed.push(i);
    }
  }

  happened(piece: Id, did: string, cause: Cause): Cause {
    this.#happenings += 1;
    const number = this.#happenings;
    this.telemetry$.next({
      kind: 'happening',
      at_us: this.#kernel.now_us,
      number,
      piece,
      did,
      origin: cause.origin,
      cause: cause.number,
    });
    return { origin: cause.origin, number };
  }

  end(complete: boolean): void {
    this.telemetry$.next({ kind: 'end', at_us: this.#kernel.now_us, complete });
    this.telemetry$.complete();
  }
}
