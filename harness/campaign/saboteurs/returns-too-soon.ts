import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

/** Two haste in one: it neither counts how long the utility has been good, nor lets PV cease before its source stops. */
export const returnsTooSoon: Saboteur = {
  id: 'returns-too-soon',
  wrong: 'goes back at the first sight of a good utility, with PV still running in the island',
  caughtBy: [
    { rule: 'return-to-utility', scenarios: ['outage/evening'] },
    { rule: 'reference-order', scenarios: ['outage/return-at-noon'] },
  ],
  make: charted(() => {
    const uncounted = changed(REFERENCE_CHART, 'return.counting', () => ({ always: [{ to: 'qualified' }] }));
    return changed(uncounted, 'transfer.returning', () => ({ always: [{ to: 'stopping' }] }));
  }),
};
