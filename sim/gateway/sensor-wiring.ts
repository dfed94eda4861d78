import { cos, radians } from '../maths.ts';
import type { InputName } from './boundary.ts';
import { SIDES, type Side, TRANSFORMER_PAIRS, type TransformerPair } from './sensor-inputs.ts';
import { halfTurn_mdeg } from './sensor-noise.ts';

/** True value of an input at an instant, in its unit. */
export type ValueAt = (instant_us: number) => number;

/** Below this a leg has no angle worth a number, mV. */
const SPEAKS_mV = 1_000;

/**
 * Which conductor each measuring input hangs on. Everything can be put on wrongly, and each wrong turn can be made twice:
 * then it is right again.
 */
export class SensorWiring {
  readonly #reversed = new Set<InputName>();
  readonly #swapped = new Set<TransformerPair>();
  readonly #swappedSides = new Set<Side>();

  reverse(input: InputName): void {
    toggle(this.#reversed, input);
  }

  swapTransformers(pair: TransformerPair): void {
    toggle(this.#swapped, pair);
  }

  swapLegs(side: Side): void {
    toggle(this.#swappedSides, side);
  }

  mend(): void {
    this.#reversed.clear();
    this.#swapped.clear();
    this.#swappedSides.clear();
  }

  digestState(): readonly (readonly string[])[] {
    return [this.#reversed, this.#swapped, this.#swappedSides].map((set) => [...set].sort());
  }

  /** What an input sees as it is wired, from what each would see if it were wired right. */
  seen(name: InputName, right: (name: InputName) => ValueAt): ValueAt {
    for (const side of SIDES) {
      if (!this.#swappedSides.has(side)) continue;
      if (name === `${side}L1`) return right(`${side}L2`);
      if (name === `${side}L2`) return right(`${side}L1`);
    }
    if (name.startsWith('pole')) return this.#acrossPole(name, right);
    return this.#current(name, right);
  }

  #current(name: InputName, right: (name: InputName) => ValueAt): ValueAt {
    let source = name;
    let turned = this.#reversed.has(name);
    for (const pair of this.#swapped) {
      const [first, second] = TRANSFORMER_PAIRS[pair];
      if (name !== first && name !== second) continue;
      source = name === first ? second : first;
      turned = !turned; // The legs are opposed: the current of one against the voltage of the other counts backwards.
    }
    if (this.#swappedSides.has('utility') && (name === 'serviceL1' || name === 'serviceL2')) turned = !turned;
    const at = right(source);
    return turned ? (t_us) => -at(t_us) : at;
  }

  /** With the leads of one side exchanged each pole is reckoned against the other leg, taken as exactly opposed. */
  #acrossPole(name: InputName, right: (name: InputName) => ValueAt): ValueAt {
    const [utility, backup] = SIDES.map((side) => this.#swappedSides.has(side));
    const leg = name.endsWith('L1') ? 'L1' : 'L2';
    const other = leg === 'L1' ? 'L2' : 'L1';
    if (utility !== true && backup !== true) return right(name);
    if (utility === true && backup === true)
      return right(name.startsWith('poleVolts') ? `poleVolts${other}` : `poleAngle${other}`);
    const utilityVolts = right(utility === true ? `utility${other}` : `utility${leg}`);
    const backupVolts = right(backup === true ? `backup${other}` : `backup${leg}`);
    const angle = right(`poleAngle${leg}`);
    return (t_us) => {
      const a_mV = utilityVolts(t_us);
      const b_mV = backupVolts(t_us);
      const speaks = a_mV >= SPEAKS_mV && b_mV >= SPEAKS_mV;
      const angle_mdeg = speaks ? halfTurn_mdeg(angle(t_us) + 180_000) : 0;
      if (name.startsWith('poleAngle')) return angle_mdeg;
      if (!speaks) return Math.max(a_mV, b_mV);
      const square = a_mV * a_mV + b_mV * b_mV - 2 * a_mV * b_mV * cos(radians(angle_mdeg / 1000));
      return Math.sqrt(Math.max(0, square));
    };
  }
}

function toggle<T>(set: Set<T>, one: T): void {
  if (!set.delete(one)) set.add(one);
}
