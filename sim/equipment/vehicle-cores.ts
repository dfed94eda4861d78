import { radians } from '../maths.ts';
import { Frame } from '../network/frame.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, numberOf } from '../site-description.ts';
import { FollowingCore } from './following.ts';
import { FormingCore } from './forming.ts';
import { followingOf } from './vehicle-settings.ts';

/** The two sources that a vehicle can be: one that makes the voltage and one that follows it. */
export function vehicleCores(params: Bag, bus: WiredBus): { forming: FormingCore; following: FollowingCore } {
  const value = (name: string): number => numberOf(params, name);
  const frame = new Frame(radians(value('startAngle')), 0, value('frequency'));
  const neutral = flagOf(params, 'neutral');
  const forming = new FormingCore(bus, frame, value('rated'), value('virtualR'), value('virtualX'), neutral);
  return { forming, following: new FollowingCore(followingOf(params), bus.L1, bus.L2) };
}
