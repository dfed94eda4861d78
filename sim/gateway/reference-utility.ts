import { LEG_V, LINE_V } from '../units.ts';
import type { InputName, Inputs } from './boundary.ts';

/** Voltages of one side of the relay, pu, and the angle between its legs. */
interface Side {
  readonly p1: number;
  readonly p2: number;
  readonly p12: number;
  readonly opposed: boolean;
}

/** Levels, pu, below which an inverter's category lets it leave sooner: of the line-to-line voltage, the one that it judges. */
export interface RideLevels {
  readonly low_pu: number;
  readonly mid_pu: number;
}

/** Names of the readings of both sides, in the same order. */
const SIDES = {
  utility: ['utilityL1', 'utilityL2', 'utilityL12', 'utilityLegAngle'],
  backup: ['backupL1', 'backupL2', 'backupL12', 'backupLegAngle'],
} as const satisfies Record<string, readonly [InputName, InputName, InputName, InputName]>;
/** Legs this far off 180 degrees are no sound service. */
const ANGLE_OFF_mdeg = 20_000;
/** Below this, pu, an outage is quick; below or above those it is slow. */
const DEEP_pu = 0.5;
const LOW_pu = 0.88;
const HIGH_pu = 1.1;
const TOO_HIGH_pu = 1.2;
/** Legs that differ by more than this, pu, while line to line is good: the neutral has moved. */
const NEUTRAL_MOVED_pu = 0.2;
/** Legs that differ by more are not good enough to return to. */
const LEGS_DIFFER_pu = 0.1;

export type UtilityFlag =
  | 'troubled'
  | 'sound'
  | 'odd'
  | 'belowDeep'
  | 'lineLow'
  | 'lineMid'
  | 'legLost'
  | 'neutralMoved'
  | 'tooHigh'
  | 'unusual'
  | 'good';

/**
 * What the utility looks like. Line to line and the angle between the legs decide, never leg magnitudes alone: a dead leg
 * that hangs on a living one over a 240 V load reads up to 120 V, in phase.
 *
 * Where the utility's own readings are stale and the relay is closed, the house side is the same conductor and is read
 * instead. With neither there is no opinion: neither troubled nor sound.
 */
export function utilityFlags(inputs: Inputs, closed: boolean, ride: RideLevels): Record<UtilityFlag, boolean> {
  const own = sideOf(inputs, 'utility');
  const side = own ?? (closed ? sideOf(inputs, 'backup') : undefined);
  const { p1, p2, p12, opposed } = side ?? { p1: 1, p2: 1, p12: 1, opposed: true };
  const least = Math.min(p1, p2, p12);
  const most = Math.max(p1, p2, p12);
  const neutralMoved = p12 >= LOW_pu && p12 <= HIGH_pu && opposed && Math.abs(p1 - p2) > NEUTRAL_MOVED_pu;
  const someLeg = Math.max(p1, p2) >= DEEP_pu;
  const legLost = someLeg && !neutralMoved && (Math.min(p1, p2) < DEEP_pu || !opposed);
  const tooHigh = most > TOO_HIGH_pu;
  const troubled = least < LOW_pu || most > HIGH_pu || legLost || neutralMoved;
  return {
    troubled: side !== undefined && troubled,
    sound: side !== undefined && !troubled,
    odd: legLost || tooHigh || (neutralMoved && Math.min(p1, p2) < DEEP_pu),
    belowDeep: least < DEEP_pu,
    lineLow: p12 < ride.low_pu,
    lineMid: p12 < ride.mid_pu,
    legLost,
    neutralMoved,
    tooHigh,
    unusual: least < 0.917 || most > 1.058,
    good: own !== undefined && isGood(own, inputs),
  };
}

/** Good enough to go back to. */
function isGood({ p1, p2, p12, opposed }: Side, { utilityFrequency }: Inputs): boolean {
  const inside = [p1, p2, p12].every((p) => p >= 0.9 && p <= 1.06);
  const f_mHz = utilityFrequency.value;
  const isHertzGood = utilityFrequency.state === 'fresh' && f_mHz >= 59_500 && f_mHz <= 60_500;
  return inside && opposed && Math.abs(p1 - p2) <= LEGS_DIFFER_pu && isHertzGood;
}

/** Undefined where a reading is not fresh. */
function sideOf(inputs: Inputs, name: keyof typeof SIDES): Side | undefined {
  const [leg1, leg2, line, angle] = SIDES[name].map((input) => inputs[input]);
  if ([leg1, leg2, line, angle].some((reading) => reading?.state !== 'fresh')) return undefined;
  return {
    p1: leg1!.value / 1000 / LEG_V,
    p2: leg2!.value / 1000 / LEG_V,
    p12: line!.value / 1000 / LINE_V,
    opposed: Math.abs(Math.abs(angle!.value) - 180_000) <= ANGLE_OFF_mdeg,
  };
}
