import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed, without } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

/** It still tests both poles with a voltage: a hole is left where the contacts would have said otherwise. */
export const blindToContacts: Saboteur = {
  id: 'blind-to-contacts',
  wrong: 'goes on as soon as it has ordered the relay open, whatever the auxiliary contacts say',
  caughtBy: [
    { rule: 'dead-bus-form', scenarios: ['relay/lying-closed'] },
    { rule: 'lockout', scenarios: ['relay/too-late', 'relay/closes-by-itself-no-wire'] },
  ],
  make: charted(() =>
    changed(without(REFERENCE_CHART, '!isolated'), 'transfer.isolating', (state) => ({
      ...state,
      always: [{ to: 'awaitingDeadBus' }],
    })),
  ),
};
