import { atan2, cos, degrees, TWO_PI, wrapAngle } from '../maths.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import {
  type NeutralBranch,
  POLE_CLOSED_S,
  type Pole,
  type PoleState,
  type WiredBus,
  type Wiring,
} from '../network/wiring.ts';
import type { Conductor, Id, Leg } from '../site-description.ts';
import { type Channel, POLE } from '../telemetry.ts';

/** Below this a leg has no angle worth a number, V. */
const SPEAKS_V = 1;
const LEGS: readonly Leg[] = ['L1', 'L2'];
/** The neutral link or pole of a device, ohm (assumed, as for a closed line pole). */
const NEUTRAL_ohm = 1e-3;

/** What stands across one pole, and what flows through it. */
export interface PoleReading {
  /** Magnitude of the phasor difference, V rms. */
  readonly volts_V: number;
  /** First bus against second, deg, -180 to 180; 0 where either side is below 1 V. */
  readonly angle_deg: number;
  /** Frequency of the first bus less that of the second, Hz; 0 where either has none. */
  readonly slip_Hz: number;
  /** Current from the first bus to the second, A rms. */
  readonly current_A: number;
  /** Active power from the first bus to the second on this leg, W. */
  readonly power_W: number;
}

/**
 * The poles of one device between two buses, with their readings and channels.
 *
 * It switches what it lists. A leg that is not listed is not there; a neutral that is not listed goes straight through.
 */
export class PoleSet {
  /** Line poles. */
  readonly poles: readonly Pole[];
  /** What it switches, in the order L1, L2, N. */
  readonly conductors: readonly Conductor[];
  readonly #from: WiredBus;
  readonly #to: WiredBus;
  readonly #owner: Id;
  readonly #neutral: NeutralBranch;
  #neutralState: PoleState = 'closed';

  constructor(wiring: Wiring, owner: Id, from: WiredBus, to: WiredBus, state: PoleState, legs: readonly string[]) {
    this.#owner = owner;
    this.#from = from;
    this.#to = to;
    this.poles = LEGS.filter((leg) => legs.includes(leg)).map((leg) => wiring.addPole(owner, leg, from, to, state));
    this.conductors = [...this.poles.map(({ leg }) => leg), ...(legs.includes('N') ? (['N'] as const) : [])];
    this.#neutral = wiring.addNeutral(from.N, to.N, NEUTRAL_ohm, 0);
    if (legs.includes('N')) this.#setNeutral(state);
  }

  /** To be called inside a change of the network. */
  set(conductor: Conductor, state: PoleState): void {
    if (conductor === 'N') this.#setNeutral(state);
    else this.pole(conductor)!.state = state;
  }

  state(conductor: Conductor): PoleState {
    return conductor === 'N' ? this.#neutralState : this.pole(conductor)!.state;
  }

  #setNeutral(state: PoleState): void {
    this.#neutralState = state;
    this.#neutral.connected = state !== 'open';
  }

  pole(leg: Leg): Pole | undefined {
    return this.poles.find((pole) => pole.leg === leg);
  }

  get allOpen(): boolean {
    return this.poles.every((pole) => pole.state === 'open');
  }

  get allConduct(): boolean {
    return this.poles.every((pole) => pole.state !== 'open');
  }

  read(level: PhasorLevel, pole: Pole, now_us: number): PoleReading {
    const partA = level.partAt(pole.busA);
    const partB = level.partAt(pole.busB);
    const { vRe, vIm } = level;
    if (pole.state !== 'open') {
      const re = (vRe[pole.nodeA]! - vRe[pole.nodeB]!) * POLE_CLOSED_S;
      const im = (vIm[pole.nodeA]! - vIm[pole.nodeB]!) * POLE_CLOSED_S;
      const uRe = vRe[pole.nodeB]! - vRe[this.#to.N]!;
      const uIm = vIm[pole.nodeB]! - vIm[this.#to.N]!;
      const current_A = Math.sqrt(re * re + im * im);
      return { volts_V: current_A / POLE_CLOSED_S, angle_deg: 0, slip_Hz: 0, current_A, power_W: uRe * re + uIm * im };
    }
    const aRe = vRe[pole.nodeA]! - vRe[this.#from.N]!;
    const aIm = vIm[pole.nodeA]! - vIm[this.#from.N]!;
    const bRe = vRe[pole.nodeB]! - vRe[this.#to.N]!;
    const bIm = vIm[pole.nodeB]! - vIm[this.#to.N]!;
    const sizeA = Math.sqrt(aRe * aRe + aIm * aIm);
    const sizeB = Math.sqrt(bRe * bRe + bIm * bIm);
    const speaks = sizeA >= SPEAKS_V && sizeB >= SPEAKS_V;
    const turn = partA === partB ? 0 : partA.frame.angleAt(now_us) - partB.frame.angleAt(now_us);
    const angle_rad = speaks ? wrapAngle(atan2(aIm, aRe) - atan2(bIm, bRe) + turn) : 0;
    const volts_V = speaks ? chord(sizeA, sizeB, angle_rad) : Math.max(sizeA, sizeB);
    const live =
      partA.kind !== 'dead' && partB.kind !== 'dead' && partA.kind !== 'decaying' && partB.kind !== 'decaying';
    const slip_Hz = live && partA !== partB ? (partA.w - partB.w) / TWO_PI : 0;
    return { volts_V, angle_deg: degrees(angle_rad), slip_Hz, current_A: 0, power_W: 0 };
  }

  channels(): Channel[] {
    const names: Channel[] = [];
    const id = this.#owner;
    for (const pole of this.poles) names.push({ name: `${id}.${pole.leg}`, unit: 'state', states: POLE });
    for (const pole of this.poles) {
      const n = pole.leg === 'L1' ? 1 : 2;
      names.push(
        { name: `${id}.dv${n}`, unit: 'V', turns: true },
        { name: `${id}.da${n}`, unit: 'deg', turns: true },
        { name: `${id}.i${n}`, unit: 'A' },
      );
    }
    names.push({ name: `${id}.df`, unit: 'Hz' });
    if (this.conductors.includes('N')) names.push({ name: `${id}.N`, unit: 'state', states: POLE });
    return names;
  }

  /** Angles that turn under slip are shown as they were when the plant last moved: looking at them moves nothing. */
  write(level: PhasorLevel, out: Float64Array, at: number): number {
    let next = at;
    for (const pole of this.poles) out[next++] = POLE.indexOf(pole.state);
    let slip_Hz = 0;
    for (const pole of this.poles) {
      const reading = this.read(level, pole, level.shownAt_us);
      out[next++] = reading.volts_V;
      out[next++] = reading.angle_deg;
      out[next++] = reading.current_A;
      slip_Hz = reading.slip_Hz;
    }
    out[next++] = slip_Hz;
    if (this.conductors.includes('N')) out[next++] = POLE.indexOf(this.#neutralState);
    return next;
  }
}

/** |a - b| of two phasors by their sizes and the angle between them: law of cosines. */
function chord(a: number, b: number, angle_rad: number): number {
  return Math.sqrt(Math.max(0, a * a + b * b - 2 * a * b * cos(angle_rad)));
}
