import { radians } from '../maths.ts';
import { Frame } from '../network/frame.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, numberOf } from '../site-description.ts';
import { FollowingCore } from './following.ts';
import { FormingCore } from './forming.ts';
import { detectionMethod } from './pv-methods.ts';
import { followingOf } from './vehicle-settings.ts';

/** The largest chopping fraction of the frequency shift, either way (assumed). */
const CHOPPING_most = 0.5;

/** The two sources that a vehicle can be: one that makes the voltage, and one that follows it, with its island detection. */
export function vehicleCores(params: Bag, bus: WiredBus): { forming: FormingCore; following: FollowingCore } {
  const value = (name: string): number => numberOf(params, name);
  const frame = new Frame(radians(value('startAngle')), 0, value('frequency'));
  const neutral = flagOf(params, 'neutral');
  const forming = new FormingCore(bus, frame, value('rated'), value('virtualR'), value('virtualX'), neutral);
  const following = new FollowingCore(followingOf(params), bus.L1, bus.L2);
  const shift = { cf0: value('chopping'), sfsGain: value('shiftGain'), sfsClamp: CHOPPING_most };
  following.activeMethod = detectionMethod({ detection: 'SFS', ...shift }).lead;
  return { forming, following };
}
