import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

export const opensUnderPv: Saboteur = {
  id: 'opens-under-pv',
  wrong: 'opens the relay while PV runs, without waiting until it has ceased',
  caughtBy: [{ rule: 'reference-order', scenarios: ['relay/waits-for-running-pv'] }],
  make: charted(() => changed(REFERENCE_CHART, 'transfer.leaving', () => ({ always: [{ to: 'isolating' }] }))),
};
