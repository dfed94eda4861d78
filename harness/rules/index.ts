import { ceaseOnIsland } from './cease-on-island.ts';
import { deadBusForm } from './dead-bus-form.ts';
import { legVoltage } from './leg-voltage.ts';
import { lockout } from './lockout.ts';
import { manualOrder } from './manual-order.ts';
import { noBackfeed } from './no-backfeed.ts';
import { plugOrder } from './plug-order.ts';
import { readyGate } from './ready-gate.ts';
import { referenceOrder } from './reference-order.ts';
import { relayDuty } from './relay-duty.ts';
import { restartLimit } from './restart-limit.ts';
import type { Rule } from './rule.ts';
import { sourceLimits } from './source-limits.ts';
import { staleData } from './stale-data.ts';
import { syncClose } from './sync-close.ts';

export { siteFacts } from './site-facts.ts';

/** Every rule is judged in every run, each on its own. */
export const RULES: readonly Rule[] = [
  noBackfeed,
  ceaseOnIsland,
  syncClose,
  deadBusForm,
  referenceOrder,
  manualOrder,
  legVoltage,
  sourceLimits,
  lockout,
  relayDuty,
  plugOrder,
  restartLimit,
  staleData,
  readyGate,
];
