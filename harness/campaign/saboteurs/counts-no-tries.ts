import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

export const countsNoTries: Saboteur = {
  id: 'counts-no-tries',
  wrong: 'starts its source again however often it has failed',
  caughtBy: [{ rule: 'restart-limit', scenarios: ['vehicle/fails-again-and-again'] }],
  make: charted(() => changed(REFERENCE_CHART, 'transfer.forming', ({ entry: _, ...state }) => state)),
};
