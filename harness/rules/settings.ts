import { type LimitKey, limit } from '../limits/index.ts';
import type { DeviceFacts, SiteFacts } from './facts.ts';
import { toUs } from './intervals.ts';

/** Whether the site lets a live section meet a live one; `open` (break before make) where it says nothing. */
export function transitionOf({ site }: SiteFacts): 'open' | 'closed' {
  return site.settings.transition === 'closed' ? 'closed' : 'open';
}

/** Time to leave an island: 2 s, or what `agreedClearing` (µs) says was agreed with the utility, at most 5 s. */
export function clearingOf({ site }: SiteFacts): { readonly limit_us: number; readonly key: LimitKey } {
  const usual_us = toUs(limit('ieee-1547-2018.island.clear').values.time_s);
  const agreed_us = site.settings.agreedClearing;
  if (typeof agreed_us !== 'number' || agreed_us === usual_us)
    return { limit_us: usual_us, key: 'ieee-1547-2018.island.clear' };
  const most_us = toUs(limit('ieee-1547-2018.island.agreed').values.time_s);
  return { limit_us: Math.min(agreed_us, most_us), key: 'ieee-1547-2018.island.agreed' };
}

/** T_return: 300 s, or what `returnGood` (µs) says, kept inside 60 to 600 s. */
export function returnGoodOf({ site }: SiteFacts): number {
  const { time_s, timeMin_s, timeMax_s } = limit('own.return.good').values;
  const { returnGood } = site.settings;
  if (typeof returnGood !== 'number') return toUs(time_s);
  return Math.min(toUs(timeMax_s), Math.max(toUs(timeMin_s), returnGood));
}

/** How far above its reserve a charge that had run down to it counts again: `reserveReturn`, at most a tenth of the battery. */
export function reserveReturnOf({ site }: SiteFacts): number {
  const { reserveReturn } = site.settings;
  const most_1 = limit('own.outage.recovered').values.share_pu;
  return typeof reserveReturn === 'number' ? Math.min(most_1, reserveReturn) : 0;
}

/** For how long an on-site request to form holds: 10 min, or less where `requestLapse` (µs) says so. */
export function requestLapseOf({ site }: SiteFacts): number {
  const most_us = toUs(limit('own.hand.forming').values.time_s);
  const { requestLapse } = site.settings;
  return typeof requestLapse === 'number' ? Math.min(most_us, requestLapse) : most_us;
}

/**
 * What a hand that opens this main means. `isolation` needs the main's position: where no contact shows it, every opening
 * is an outage, unless `formWhenHandOpenedUnknown` is off.
 */
export function handOpeningOf({ site }: SiteFacts, main: DeviceFacts): 'isolation' | 'outage' {
  if (site.settings.handOpening === 'outage') return 'outage';
  return main.params.aux === false && site.settings.formWhenHandOpenedUnknown !== false ? 'outage' : 'isolation';
}
