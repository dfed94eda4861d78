import type { Controller } from '../../sim/gateway/boundary.ts';

/** What a controller was asked when it was last heard of. */
export const CALLS = ['load', 'boot', 'scan', 'digestState', 'inState'] as const;
export type Call = (typeof CALLS)[number];

/** Bytes shared with a thread in which a controller runs: entries and returns counted, the call, and its simulated instant. */
export const GUARD_BYTES = 16;

export interface Guard {
  enter(call: Call, at_us?: number): void;
  leave(): void;
}

/** The thread's side. Odd while the controller has the word. */
export function guardOf(shared: SharedArrayBuffer): Guard {
  const words = new Int32Array(shared, 0, 2);
  const instant = new Float64Array(shared, 8, 1);
  return {
    enter(call, at_us = instant[0]) {
      words[1] = CALLS.indexOf(call);
      instant[0] = at_us ?? 0;
      Atomics.add(words, 0, 1);
    },
    leave: () => void Atomics.add(words, 0, 1),
  };
}

export interface Watched {
  /** Grows with each entry and each return. */
  readonly count: number;
  readonly inController: boolean;
  readonly call: Call;
  readonly at_us: number;
}

/** The watcher's side. */
export function readGuard(shared: SharedArrayBuffer): Watched {
  const words = new Int32Array(shared, 0, 2);
  const count = Atomics.load(words, 0);
  return { count, inController: count % 2 !== 0, call: CALLS[words[1]!]!, at_us: new Float64Array(shared, 8, 1)[0]! };
}

/** The same controller, with every call counted in and out. */
export function guarded(controller: Controller, guard: Guard): Controller {
  const around = <Answer>(call: Call, at_us: number | undefined, ask: () => Answer): Answer => {
    guard.enter(call, at_us);
    try {
      return ask();
    } finally {
      guard.leave();
    }
  };
  return {
    boot: (seed) => around('boot', undefined, () => controller.boot(seed)),
    scan: (inputs) => around('scan', inputs.now_us, () => controller.scan(inputs)),
    digestState: () => around('digestState', undefined, () => controller.digestState()),
    ...(controller.inState === undefined
      ? {}
      : { inState: () => around('inState', undefined, () => controller.inState!()) }),
  };
}
