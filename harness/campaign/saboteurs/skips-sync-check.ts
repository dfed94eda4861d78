import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

export const skipsSyncCheck: Saboteur = {
  id: 'skips-sync-check',
  wrong: 'closes the relay between the island and the utility wherever the angle stands',
  caughtBy: [{ rule: 'sync-close', scenarios: ['relay/island-meets-the-street'] }],
  make: charted(() => changed(REFERENCE_CHART, 'transfer.synchronising', () => ({ always: [{ to: 'meeting' }] }))),
};
