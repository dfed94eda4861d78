import type { Controller, Inputs, Outputs } from '../../../sim/gateway/boundary.ts';
import { createReferenceController } from '../../../sim/gateway/reference-controller.ts';
import type { Saboteur } from './saboteur.ts';

/** What stands between the reference controller and the site. */
interface Between {
  readonly reads?: (inputs: Inputs) => Inputs;
  readonly orders?: (outputs: Outputs) => Outputs;
}

/** The reference controller whose readings, or orders, are changed on their way. */
export function wrapped({ reads, orders }: Between): Saboteur['make'] {
  return (site): Controller => {
    const inner = createReferenceController(site);
    return {
      boot: (seed) => inner.boot(seed),
      scan: (inputs) => {
        const { outputs, wake } = inner.scan(reads === undefined ? inputs : reads(inputs));
        return { outputs: orders === undefined ? outputs : orders(outputs), wake };
      },
      digestState: () => inner.digestState(),
      inState: () => inner.inState?.() ?? [],
    };
  };
}
