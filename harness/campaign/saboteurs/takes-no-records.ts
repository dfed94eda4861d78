import type { Inputs } from '../../../sim/gateway/boundary.ts';
import type { Saboteur } from './saboteur.ts';
import { wrapped } from './wrapped.ts';

/** Five bits, one for each record. */
const ALL_RECORDS = 31;

export const takesNoRecords: Saboteur = {
  id: 'takes-no-records',
  wrong: 'takes every record of commissioning for there, whatever is missing',
  caughtBy: [{ rule: 'ready-gate', scenarios: ['commissioning/records-missing'] }],
  make: wrapped({
    reads: (inputs: Inputs) => ({ ...inputs, commissioning: { ...inputs.commissioning, value: ALL_RECORDS } }),
  }),
};
