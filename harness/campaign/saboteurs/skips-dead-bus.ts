import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

/** The test of the poles goes with it: behind a live bus it would never come to its end, and so be a proof by itself. */
export const skipsDeadBus: Saboteur = {
  id: 'skips-dead-bus',
  wrong: 'forms as soon as the relay is proved open, without a look at the voltage of its bus',
  caughtBy: [{ rule: 'dead-bus-form', scenarios: ['relay/saw-runs-down'] }],
  make: charted(() => {
    const isolating = changed(REFERENCE_CHART, 'transfer.isolating', (state) => ({
      ...state,
      always: [{ if: ['openProved'], to: 'formingNeutral' }],
    }));
    return changed(isolating, 'transfer.formingNeutral', (state) => ({
      ...state,
      always: [{ if: ['neutralIn'], to: 'forming' }],
    }));
  }),
};
