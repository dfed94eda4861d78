import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changedAll } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

/** Nothing comes of time alone: no trouble becomes an outage, no wait comes to its end. */
export const neverTimesOut: Saboteur = {
  id: 'never-times-out',
  wrong: 'waits for ever wherever a time should end the wait',
  caughtBy: [
    { rule: 'outage-time', scenarios: ['outage/evening'] },
    { rule: 'leg-voltage', scenarios: ['street/charged-then-neutral-breaks'] },
  ],
  make: charted(() => changedAll(REFERENCE_CHART, ({ after: _, ...state }) => state)),
};
