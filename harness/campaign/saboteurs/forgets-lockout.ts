import { REFERENCE_CHART } from '../../../sim/gateway/reference-chart.ts';
import { changed } from './edit-chart.ts';
import { charted, type Saboteur } from './saboteur.ts';

export const forgetsLockout: Saboteur = {
  id: 'forgets-lockout',
  wrong: 'goes on by itself, after a rest, where only a person may end a lockout',
  caughtBy: [
    { rule: 'lockout', scenarios: ['relay/welded-pole', 'relay/weld-and-no-interlock'] },
    { rule: 'dead-bus-form', scenarios: ['relay/lying-closed'] },
  ],
  make: charted(() =>
    changed(REFERENCE_CHART, 'transfer.locked', (state) => ({
      ...state,
      after: { rest: [{ to: 'awaitingDeadBus', do: ['overrule'] }] },
    })),
  ),
};
