import { abnormalFrequency } from './abnormal-frequency.ts';
import { abnormalVoltage } from './abnormal-voltage.ts';
import { ceaseOnIsland } from './cease-on-island.ts';
import { deadBusForm } from './dead-bus-form.ts';
import { enterService } from './enter-service.ts';
import { handIsolation } from './hand-isolation.ts';
import { islandFault } from './island-fault.ts';
import { islandQuality } from './island-quality.ts';
import { legVoltage } from './leg-voltage.ts';
import { lockout } from './lockout.ts';
import { manualOrder } from './manual-order.ts';
import { neutralHeld } from './neutral-held.ts';
import { noBackfeed } from './no-backfeed.ts';
import { oneBond } from './one-bond.ts';
import { openPhase } from './open-phase.ts';
import { outageTime } from './outage-time.ts';
import { overvoltageArea } from './overvoltage-area.ts';
import { plugOrder } from './plug-order.ts';
import { readyGate } from './ready-gate.ts';
import { referenceOrder } from './reference-order.ts';
import { relayDuty } from './relay-duty.ts';
import { restartLimit } from './restart-limit.ts';
import { returnToUtility } from './return-to-utility.ts';
import { rideThrough } from './ride-through.ts';
import type { Rule } from './rule.ts';
import { sourceLimits } from './source-limits.ts';
import { staleData } from './stale-data.ts';
import { syncClose } from './sync-close.ts';

export { siteFacts } from './site-facts.ts';

/** Every rule is judged in every run, each on its own. */
export const RULES: readonly Rule[] = [
  noBackfeed,
  ceaseOnIsland,
  openPhase,
  abnormalVoltage,
  abnormalFrequency,
  rideThrough,
  enterService,
  syncClose,
  deadBusForm,
  referenceOrder,
  manualOrder,
  handIsolation,
  legVoltage,
  overvoltageArea,
  neutralHeld,
  oneBond,
  islandFault,
  islandQuality,
  sourceLimits,
  returnToUtility,
  lockout,
  relayDuty,
  plugOrder,
  restartLimit,
  outageTime,
  staleData,
  readyGate,
];
