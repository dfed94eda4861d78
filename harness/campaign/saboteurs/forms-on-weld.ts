import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed, without } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

/** It asks neither the contacts nor the test voltage, so that a welded pole is never found. */
export const formsOnWeld: Saboteur = {
  id: 'forms-on-weld',
  wrong: 'forms over a welded pole: neither contacts nor the test voltage are waited for',
  caughtBy: [{ rule: 'no-backfeed', scenarios: ['relay/weld-and-no-interlock'] }],
  make: charted(() => {
    const blind = changed(without(REFERENCE_CHART, '!isolated'), 'transfer.isolating', (state) => ({
      ...state,
      always: [{ to: 'awaitingDeadBus' }],
    }));
    return changed(blind, 'transfer.proving.testing', (state) => ({
      ...state,
      always: [{ to: '#reference.transfer.forming' }],
    }));
  }),
};
