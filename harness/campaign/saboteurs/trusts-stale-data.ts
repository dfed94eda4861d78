import { INPUT_NAMES, type Inputs, type Reading } from '../../../sim/gateway/boundary.ts';
import type { Saboteur } from './saboteur.ts';
import { wrapped } from './wrapped.ts';

export const trustsStaleData: Saboteur = {
  id: 'trusts-stale-data',
  wrong: 'acts on the last reading of a sensor that no longer tells anything, as if it were of now',
  caughtBy: [
    { rule: 'stale-data', scenarios: ['sensors/contact-goes-quiet-while-proving', 'sensors/frozen-before-pv'] },
    { rule: 'dead-bus-form', scenarios: ['sensors/contact-goes-quiet-while-proving'] },
  ],
  make: wrapped({ reads: refreshed }),
};

function refreshed(inputs: Inputs): Inputs {
  const fresh = (reading: Reading): Reading =>
    reading.state === 'stale' ? { value: reading.value, at_us: inputs.now_us, state: 'fresh' } : reading;
  return { ...inputs, ...Object.fromEntries(INPUT_NAMES.map((name) => [name, fresh(inputs[name])])) };
}
