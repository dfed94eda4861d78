import type { Id } from '../../sim/site-description.ts';

/**
 * What shows that a rule works, and not only that it is there. Scenarios are files below `scenarios/`, without their ending.
 *
 * A rule that never came near its limit may have the limit wrong; one that always speaks together with another says nothing
 * of its own. `tests/laws/near-misses.test.ts` holds each entry to what it says.
 */
export interface Proof {
  /** Passes it by less than 5 % of its scale. */
  readonly inside?: string;
  /** The same with one value moved by a scan or about one per cent: fails it. */
  readonly beyond?: string;
  /** It alone fails here: by the saboteur, or by an inverter or something else that is at fault or wrongly set. */
  readonly alone?: { readonly saboteur?: Id; readonly scenario: string };
  /** Why a place stays empty, or why the margin of `inside` is no smaller. */
  readonly because?: string;
}

/** In the order of the rules. */
export const PROOFS: Readonly<Record<Id, Proof>> = {
  'no-backfeed': {
    inside: 'near/no-backfeed-inside',
    beyond: 'near/no-backfeed-beyond',
    alone: { scenario: 'near/no-backfeed-beyond' },
  },
  'cease-on-island': {
    inside: 'near/cease-on-island-inside',
    beyond: 'near/cease-on-island-beyond',
    alone: { scenario: 'near/cease-on-island-alone' },
  },
  'open-phase': {
    inside: 'near/open-phase-inside',
    beyond: 'near/open-phase-beyond',
    alone: { scenario: 'near/open-phase-beyond' },
  },
  'abnormal-voltage': {
    inside: 'near/abnormal-voltage-inside',
    beyond: 'near/abnormal-voltage-beyond',
    alone: { scenario: 'near/abnormal-voltage-beyond' },
  },
  'abnormal-frequency': {
    inside: 'near/abnormal-frequency-inside',
    beyond: 'near/abnormal-frequency-beyond',
    alone: { scenario: 'near/abnormal-frequency-beyond' },
  },
  'ride-through': {
    inside: 'near/ride-through-inside',
    beyond: 'near/ride-through-beyond',
    alone: { scenario: 'near/ride-through-beyond' },
  },
  'enter-service': {
    inside: 'near/enter-service-inside',
    beyond: 'near/enter-service-beyond',
    alone: { scenario: 'near/enter-service-beyond' },
  },
  'sync-close': {
    inside: 'near/sync-close-inside',
    beyond: 'near/sync-close-beyond',
    alone: { saboteur: 'skips-sync-check', scenario: 'relay/island-meets-the-street' },
  },
  'dead-bus-form': {
    inside: 'near/dead-bus-form-inside',
    beyond: 'near/dead-bus-form-beyond',
    alone: { saboteur: 'skips-dead-bus', scenario: 'relay/saw-runs-down' },
  },
  'reference-order': {
    inside: 'near/reference-order-inside',
    beyond: 'near/reference-order-beyond',
    alone: { saboteur: 'opens-under-pv', scenario: 'street/brown-out-exporting' },
  },
  'manual-order': {
    inside: 'near/manual-order-inside',
    beyond: 'near/manual-order-beyond',
    alone: { scenario: 'near/manual-order-alone' },
  },
  'hand-isolation': {
    inside: 'near/hand-isolation-inside',
    beyond: 'near/hand-isolation-beyond',
    alone: { scenario: 'near/hand-isolation-beyond' },
    because:
      'a start of forming counts by yes or no; the request that allows it is 0.24 s short of its ten minutes, or past them',
  },
  'leg-voltage': {
    inside: 'near/leg-voltage-inside',
    beyond: 'near/leg-voltage-beyond',
    alone: { saboteur: 'ignores-one-leg', scenario: 'street/charged-then-neutral-breaks' },
  },
  'overvoltage-area': {
    inside: 'near/overvoltage-area-inside',
    beyond: 'near/overvoltage-area-beyond',
    alone: { scenario: 'near/overvoltage-area-alone' },
    because: 'its times are shorter than the half cycle that this level tells apart; what is near is the level of 1.3',
  },
  'neutral-held': {
    inside: 'near/neutral-held-inside',
    beyond: 'near/neutral-held-beyond',
    alone: { scenario: 'near/neutral-held-beyond' },
  },
  'one-bond': {
    inside: 'near/one-bond-inside',
    beyond: 'near/one-bond-beyond',
    alone: { scenario: 'street/feeder-neutral-breaks' },
  },
  'island-fault': {
    inside: 'near/island-fault-inside',
    beyond: 'near/island-fault-beyond',
    alone: { scenario: 'outage/fault-too-light' },
  },
  'island-quality': {
    inside: 'near/island-quality-inside',
    beyond: 'near/island-quality-beyond',
    alone: { saboteur: 'runs-slow', scenario: 'near/island-quality-inside' },
  },
  'source-limits': {
    inside: 'near/source-limits-inside',
    beyond: 'near/source-limits-beyond',
    alone: { saboteur: 'over-draws', scenario: 'outage/evening' },
  },
  'return-to-utility': {
    inside: 'near/return-to-utility-inside',
    beyond: 'near/return-to-utility-beyond',
    alone: { saboteur: 'returns-too-soon', scenario: 'outage/evening' },
  },
  lockout: {
    inside: 'near/lockout-inside',
    beyond: 'near/lockout-beyond',
    alone: { saboteur: 'forgets-lockout', scenario: 'relay/stuck' },
  },
  'relay-duty': {
    inside: 'near/relay-duty-inside',
    beyond: 'near/relay-duty-beyond',
    alone: { scenario: 'near/relay-duty-beyond' },
  },
  'plug-order': {
    inside: 'near/plug-order-inside',
    beyond: 'near/plug-order-beyond',
    alone: { scenario: 'near/plug-order-beyond' },
  },
  'restart-limit': {
    inside: 'near/restart-limit-inside',
    beyond: 'near/restart-limit-beyond',
    alone: { saboteur: 'counts-no-tries', scenario: 'vehicle/fails-again-and-again' },
  },
  'outage-time': {
    inside: 'near/outage-time-inside',
    beyond: 'near/outage-time-beyond',
    alone: { saboteur: 'never-times-out', scenario: 'outage/evening' },
  },
  'stale-data': {
    inside: 'near/stale-data-inside',
    beyond: 'near/stale-data-beyond',
    alone: { saboteur: 'trusts-stale-data', scenario: 'sensors/frozen-before-pv' },
  },
  'ready-gate': {
    inside: 'near/ready-gate-inside',
    beyond: 'near/ready-gate-beyond',
    alone: { saboteur: 'takes-no-records', scenario: 'commissioning/records-missing' },
    because: 'a record is there or missing, and one missing is too many',
  },
};
