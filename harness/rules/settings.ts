import { type LimitKey, limit } from '../limits/index.ts';
import type { SiteFacts } from './facts.ts';
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
