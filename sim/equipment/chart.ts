import { type Actor, type AnyActorLogic, createActor, type InputFrom } from 'xstate';
import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';

/** More steps than this without time passing are two states that send each other back and forth. */
export const CHART_OPTIONS = { maxIterations: 100 } as const;

/**
 * Starts a statechart on the kernel's queue.
 *
 * What a chart throws would come out of xstate later, on the wall clock's queue; so it is thrown again by the kernel, at
 * this very instant.
 */
export function startChart<Logic extends AnyActorLogic>(
  logic: Logic,
  kernel: Kernel,
  owner: Id,
  input: InputFrom<Logic>,
): Actor<Logic> {
  const actor = createActor(logic, { clock: kernel.clockFor(owner, 'protection'), input } as never) as Actor<Logic>;
  actor.subscribe({
    error: (thrown) => {
      kernel.at(kernel.now_us, 'plant', owner, 'chart failed', () => {
        throw thrown;
      });
    },
  });
  return actor.start() as Actor<Logic>;
}
