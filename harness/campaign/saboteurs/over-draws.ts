import { OUTPUTS } from '../../../sim/gateway/boundary.ts';
import type { Saboteur } from './saboteur.ts';
import { wrapped } from './wrapped.ts';

const TOO_MUCH = 2;

export const overDraws: Saboteur = {
  id: 'over-draws',
  wrong: 'lets the vehicle draw twice the current that its circuit and the service bear',
  caughtBy: [
    { rule: 'source-limits', scenarios: ['outage/evening'] },
    { rule: 'leg-voltage', scenarios: ['street/charged-then-neutral-breaks'] },
  ],
  make: wrapped({
    orders: (outputs) => ({
      ...outputs,
      vehicleLimit: Math.min(OUTPUTS.vehicleLimit.max, TOO_MUCH * outputs.vehicleLimit),
    }),
  }),
};
