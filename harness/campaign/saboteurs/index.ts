import { blindToContacts } from './blind-to-contacts.ts';
import { countsNoTries } from './counts-no-tries.ts';
import { forgetsLockout } from './forgets-lockout.ts';
import { formsOnWeld } from './forms-on-weld.ts';
import { ignoresOneLeg } from './ignores-one-leg.ts';
import { neverTimesOut } from './never-times-out.ts';
import { opensUnderPv } from './opens-under-pv.ts';
import { overDraws } from './over-draws.ts';
import { returnsTooSoon } from './returns-too-soon.ts';
import { runsSlow } from './runs-slow.ts';
import type { Saboteur } from './saboteur.ts';
import { skipsDeadBus } from './skips-dead-bus.ts';
import { skipsSyncCheck } from './skips-sync-check.ts';
import { takesNoRecords } from './takes-no-records.ts';
import { trustsStaleData } from './trusts-stale-data.ts';

export type { Catch, Saboteur } from './saboteur.ts';

/** Every controller that is wrong on purpose. */
export const SABOTEURS: readonly Saboteur[] = [
  blindToContacts,
  skipsDeadBus,
  opensUnderPv,
  skipsSyncCheck,
  returnsTooSoon,
  ignoresOneLeg,
  neverTimesOut,
  forgetsLockout,
  trustsStaleData,
  overDraws,
  formsOnWeld,
  runsSlow,
  countsNoTries,
  takesNoRecords,
];
