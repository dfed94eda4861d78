import { describe, expect, it } from 'vitest';
import { ignoresOneLeg } from '../../../../harness/campaign/saboteurs/ignores-one-leg.ts';
import { overDraws } from '../../../../harness/campaign/saboteurs/over-draws.ts';
import { runsSlow } from '../../../../harness/campaign/saboteurs/runs-slow.ts';
import { takesNoRecords } from '../../../../harness/campaign/saboteurs/takes-no-records.ts';
import { trustsStaleData } from '../../../../harness/campaign/saboteurs/trusts-stale-data.ts';
import { wrapped } from '../../../../harness/campaign/saboteurs/wrapped.ts';
import type { Controller, Inputs } from '../../../../sim/gateway/boundary.ts';
import { createReferenceController } from '../../../../sim/gateway/reference-controller.ts';
import { siteOf } from '../../../helpers/sites.ts';
import { inputsOf } from '../../../sim/gateway/inputs.ts';

const site = siteOf('juniper-lane');
const CLOSED = { relayL1Closed: 1, relayL2Closed: 1 };

/** Boots and scans once: where the transfer is then, and what was ordered. */
function scanned(controller: Controller, inputs: Inputs) {
  controller.boot(1);
  const { outputs, wake } = controller.scan(inputs);
  const state = controller.inState?.().find((name) => name.startsWith('transfer.'));
  return { outputs, wake, state };
}

describe('wrapped', () => {
  it('with nothing between is the reference controller, states and digest included', () => {
    const [plain, same] = [createReferenceController(site), wrapped({})(site)];
    expect(scanned(same, inputsOf(CLOSED))).toEqual(scanned(plain, inputsOf(CLOSED)));
    expect(same.digestState()).toBe(plain.digestState());
  });
});

describe('overDraws', () => {
  it('orders 80 A where the circuit bears 40 A, and never more than the boundary can say', () => {
    expect(scanned(createReferenceController(site), inputsOf(CLOSED)).outputs.vehicleLimit).toBe(40_000);
    expect(scanned(overDraws.make(site), inputsOf(CLOSED)).outputs.vehicleLimit).toBe(80_000);
    const roomy = { ...site, pieces: site.pieces.map((piece) => ({ ...piece, params: { ...piece.params, ...HUGE } })) };
    expect(scanned(createReferenceController(roomy), inputsOf(CLOSED)).outputs.vehicleLimit).toBe(900_000);
    expect(scanned(overDraws.make(roomy), inputsOf(CLOSED)).outputs.vehicleLimit).toBe(1_000_000);
  });
  const HUGE = { rated: 216_000, supplyBreaker: 2000, cable: 2000, rating: 2000 };
});

describe('runsSlow', () => {
  it('orders 59.2 Hz where the reference controller leaves the frequency to the source', () => {
    expect(scanned(createReferenceController(site), inputsOf(CLOSED)).outputs.islandFrequency).toBe(60_000);
    expect(scanned(runsSlow.make(site), inputsOf(CLOSED)).outputs.islandFrequency).toBe(59_200);
  });
});

describe('takesNoRecords', () => {
  it('has nothing to say of a missing record, which the reference controller names', () => {
    const missing = inputsOf({ ...CLOSED, commissioning: 15 });
    expect(scanned(createReferenceController(site), missing).outputs.reason).toBe(116);
    expect(scanned(takesNoRecords.make(site), missing).outputs.reason).toBe(0);
  });
});

describe('trustsStaleData', () => {
  it('goes by contacts that tell nothing any more, and leaves readings that are not fitted alone', () => {
    const stale = inputsOf(CLOSED, { relayL1Closed: 'stale' });
    expect(scanned(createReferenceController(site), stale).state).toBe('transfer.booting');
    expect(scanned(trustsStaleData.make(site), stale).state).toBe('transfer.onUtility.proved');
    expect(stale.relayL1Closed.state).toBe('stale');
    const unfitted = inputsOf(CLOSED, { relayL1Closed: 'not fitted' });
    expect(scanned(trustsStaleData.make(site), unfitted).state).toBe('transfer.booting');
  });
});

describe('ignoresOneLeg', () => {
  it('takes L2 for what L1 is: its contacts, its voltage, the angle between them', () => {
    const l1Alone = inputsOf({ relayL1Closed: 1, relayL2Open: 1, backupL2: 0, backupL12: 120_000, backupLegAngle: 0 });
    expect(scanned(createReferenceController(site), l1Alone).state).toBe('transfer.booting');
    expect(scanned(ignoresOneLeg.make(site), l1Alone).state).toBe('transfer.onUtility.proved');
    const l2Alone = inputsOf({ relayL1Open: 1, relayL2Closed: 1 });
    expect(scanned(ignoresOneLeg.make(site), l2Alone).state).toBe('transfer.dark.ready');
  });

  it('does not see that one leg of the utility is lost', () => {
    const lost = inputsOf({ ...CLOSED, utilityL2: 0, utilityL12: 120_000, utilityLegAngle: 0 });
    const supply = (controller: Controller): string | undefined => {
      scanned(controller, lost);
      return controller.inState?.().find((name) => name.startsWith('supply.'));
    };
    expect(supply(createReferenceController(site))).toBe('supply.low.odd');
    expect(supply(ignoresOneLeg.make(site))).toBe('supply.sound.usual');
  });
});
