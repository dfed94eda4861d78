import type { InputName, Inputs } from '../../../sim/gateway/boundary.ts';
import type { Saboteur } from './saboteur.ts';
import { wrapped } from './wrapped.ts';

/** Each reading of leg L2, and the one of L1 that stands in for it. */
const COPIES: Readonly<Partial<Record<InputName, InputName>>> = {
  utilityL2: 'utilityL1',
  backupL2: 'backupL1',
  poleVoltsL2: 'poleVoltsL1',
  poleAngleL2: 'poleAngleL1',
  relayL2Open: 'relayL1Open',
  relayL2Closed: 'relayL1Closed',
};
/** Line to line as twice the leg L1, and the legs as opposed as they should be. */
const LINES = { utilityL12: 'utilityL1', backupL12: 'backupL1' } as const;
const ANGLES = { utilityLegAngle: 'utilityL1', backupLegAngle: 'backupL1' } as const;
const OPPOSED_mdeg = 180_000;

/** A gateway built for one pole: what it does not measure it believes to be like what it does. */
export const ignoresOneLeg: Saboteur = {
  id: 'ignores-one-leg',
  wrong: 'looks at leg L1 and its pole alone, and takes the same for true of L2',
  caughtBy: [
    { rule: 'dead-bus-form', scenarios: ['sensors/contact-goes-quiet-while-proving'] },
    { rule: 'leg-voltage', scenarios: ['street/charged-then-neutral-breaks'] },
  ],
  make: wrapped({ reads: oneLegged }),
};

function oneLegged(inputs: Inputs): Inputs {
  const copies = Object.entries(COPIES).map(([name, from]) => [name, inputs[from]]);
  const lines = Object.entries(LINES).map(([name, from]) => [name, { ...inputs[from], value: 2 * inputs[from].value }]);
  const angles = Object.entries(ANGLES).map(([name, from]) => [name, { ...inputs[from], value: OPPOSED_mdeg }]);
  return { ...inputs, ...Object.fromEntries([...copies, ...lines, ...angles]) };
}
