import type { EquipmentPiece } from '../equipment/piece.ts';
import { atan2, degrees, TWO_PI, wrapAngle } from '../maths.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import { CYCLE_us, History } from '../network/window.ts';
import { reachedOnLeg, type WiredBus, type Wiring } from '../network/wiring.ts';
import { type Channel, SUPPLY } from '../telemetry.ts';
import { LEG_V, LINE_V } from '../units.ts';

/** Below this a leg has no angle worth a number, V. */
const SPEAKS_V = 1;

interface BusState {
  readonly bus: WiredBus;
  readonly legs: readonly [History, History, History];
  legAngle_deg: number;
  f_Hz: number;
}

/** What stands on each bus, as a perfect recorder sees it; the sensors of the gateway look at the same past. */
export class Truth {
  readonly #wiring: Wiring;
  readonly #level: PhasorLevel;
  readonly #pieces: readonly EquipmentPiece[];
  readonly #serviceBus: number;
  readonly #present: () => { L1: boolean; L2: boolean };
  readonly #states: BusState[] = [];
  readonly #shown: WiredBus[];
  #now_us = 0;
  reached1: Uint8Array;
  reached2: Uint8Array;
  readonly #bonds: Int32Array;
  /** Who belongs to which part, by the last cut. */
  readonly #sums = new Map<unknown, PartSum>();

  constructor(
    wiring: Wiring,
    level: PhasorLevel,
    pieces: readonly EquipmentPiece[],
    serviceBus: number,
    present: () => { L1: boolean; L2: boolean },
  ) {
    this.#wiring = wiring;
    this.#level = level;
    this.#pieces = pieces;
    this.#serviceBus = serviceBus;
    this.#present = present;
    this.#shown = wiring.buses.filter((bus) => !bus.hidden);
    this.reached1 = new Uint8Array(wiring.buses.length);
    this.reached2 = new Uint8Array(wiring.buses.length);
    this.#bonds = new Int32Array(wiring.buses.length);
  }

  /** After the first solution: the past is as the present. `memory_us` is how far behind a sensor may look. */
  begin(memory_us: number): void {
    for (const bus of this.#shown) {
      const make = (a: number, b: number): History => new History(this.#between(a, b), memory_us);
      const legs: BusState['legs'] = [make(bus.L1, bus.N), make(bus.N, bus.L2), make(bus.L1, bus.L2)];
      this.#states.push({ bus, legs, legAngle_deg: 0, f_Hz: 0 });
    }
    this.solved(0);
  }

  /** What follows from topology alone. */
  cut(): void {
    this.reached1 = reachedOnLeg(this.#wiring, this.#serviceBus, 'L1');
    this.reached2 = reachedOnLeg(this.#wiring, this.#serviceBus, 'L2');
    this.#countBonds();
    this.#sums.clear();
    for (const part of this.#level.parts) {
      const members = new Set(part.buses.map((bus) => bus.index));
      this.#sums.set(part, new PartSum(this.#pieces, members));
    }
  }

  /** Takes the new solution in; true while a one-cycle value still moves. */
  solved(now_us: number): boolean {
    this.#now_us = now_us;
    let moving = false;
    for (const state of this.#states) {
      const { bus, legs } = state;
      legs[0].set(now_us, this.#between(bus.L1, bus.N));
      legs[1].set(now_us, this.#between(bus.N, bus.L2));
      legs[2].set(now_us, this.#between(bus.L1, bus.L2));
      for (let i = 0; i < 3; i += 1) if (legs[i]!.settledFrom_us > now_us) moving = true;
      this.#angles(state);
    }
    return moving;
  }

  history(busId: string): readonly [History, History, History] {
    return this.#stateOf(busId).legs;
  }

  legAngle_deg(busId: string): number {
    return this.#stateOf(busId).legAngle_deg;
  }

  f_Hz(busId: string): number {
    return this.#stateOf(busId).f_Hz;
  }

  #stateOf(busId: string): BusState {
    const state = this.#states.find(({ bus }) => bus.id === busId);
    if (state === undefined) throw new RangeError(`no bus ${busId} is recorded`);
    return state;
  }

  channels(): Channel[] {
    return this.#shown.flatMap(({ id }): Channel[] => [
      { name: `${id}.v1`, unit: 'V' },
      { name: `${id}.v2`, unit: 'V' },
      { name: `${id}.v12`, unit: 'V' },
      { name: `${id}.u1`, unit: 'V' },
      { name: `${id}.u2`, unit: 'V' },
      { name: `${id}.u12`, unit: 'V' },
      { name: `${id}.legAngle`, unit: 'deg' },
      { name: `${id}.f`, unit: 'Hz' },
      { name: `${id}.supply`, unit: 'state', states: SUPPLY },
      { name: `${id}.present1`, unit: 'bit' },
      { name: `${id}.present2`, unit: 'bit' },
      { name: `${id}.part`, unit: '1' },
      { name: `${id}.following`, unit: '1' },
      { name: `${id}.forming`, unit: '1' },
      { name: `${id}.nIsl`, unit: '1' },
      { name: `${id}.neutralHeld`, unit: 'bit' },
      { name: `${id}.bonds`, unit: '1' },
    ]);
  }

  write(out: Float64Array, at: number): void {
    const present = this.#present();
    for (const sum of this.#sums.values()) sum.take();
    let next = at;
    for (const state of this.#states) {
      const { bus, legs } = state;
      const part = this.#level.partAt(bus.index);
      const sums = this.#sums.get(part)!;
      for (const history of legs) out[next++] = history.valueAt(this.#now_us);
      for (const history of legs) out[next++] = history.rmsAt(this.#now_us);
      out[next++] = state.legAngle_deg;
      out[next++] = state.f_Hz;
      out[next++] = SUPPLY.indexOf(part.kind);
      out[next++] = present.L1 && this.reached1[bus.index] === 1 ? 1 : 0;
      out[next++] = present.L2 && this.reached2[bus.index] === 1 ? 1 : 0;
      out[next++] = part.buses[0]!.index;
      out[next++] = sums.following;
      out[next++] = sums.forming;
      out[next++] = sums.nIsl;
      out[next++] = sums.held ? 1 : 0;
      out[next++] = this.#bonds[bus.index]!;
    }
  }

  #between(a: number, b: number): number {
    const { vRe, vIm } = this.#level;
    const re = vRe[a]! - vRe[b]!;
    const im = vIm[a]! - vIm[b]!;
    return Math.sqrt(re * re + im * im);
  }

  #angles(state: BusState): void {
    const { vRe, vIm } = this.#level;
    const { bus } = state;
    const part = this.#level.partAt(bus.index);
    const aRe = vRe[bus.L1]! - vRe[bus.N]!;
    const aIm = vIm[bus.L1]! - vIm[bus.N]!;
    const bRe = vRe[bus.L2]! - vRe[bus.N]!;
    const bIm = vIm[bus.L2]! - vIm[bus.N]!;
    const floor = SPEAKS_V * SPEAKS_V;
    const turning = part.kind === 'utility' || part.kind === 'formed' || part.kind === 'unformed';
    const speaks = aRe * aRe + aIm * aIm >= floor && bRe * bRe + bIm * bIm >= floor;
    state.legAngle_deg = turning && speaks ? Math.abs(degrees(wrapAngle(atan2(aIm, aRe) - atan2(bIm, bRe)))) : 0;
    state.f_Hz = turning ? part.w / TWO_PI : 0;
  }

  /** Bonds of the premises, counted over the neutrals that hang together, ground of the utility's transformer left out. */
  #countBonds(): void {
    const wiring = this.#wiring;
    const group = new Int32Array(wiring.nodeCount);
    for (let i = 0; i < group.length; i += 1) group[i] = i;
    for (let grown = true; grown; ) {
      grown = false;
      for (const branch of wiring.neutrals) {
        if (!branch.connected || branch.nodeA < 0 || branch.nodeB < 0) continue;
        const low = Math.min(group[branch.nodeA]!, group[branch.nodeB]!);
        if (group[branch.nodeA] === low && group[branch.nodeB] === low) continue;
        group[branch.nodeA] = low;
        group[branch.nodeB] = low;
        grown = true;
      }
    }
    this.#bonds.fill(0);
    for (const piece of this.#pieces) {
      if (piece.bond === undefined || !piece.bond.joined()) continue;
      const at = group[wiring.buses[piece.bond.bus]!.N]!;
      for (const bus of wiring.buses) if (group[bus.N] === at) this.#bonds[bus.index]! += 1;
    }
  }
}

/** What the pieces of one part come to together: sources that run, and how their power compares with what the part would take. */
class PartSum {
  following = 0;
  forming = 0;
  nIsl = 0;
  held = false;
  readonly #sources: readonly NonNullable<EquipmentPiece['source']>[];
  readonly #loads: readonly NonNullable<EquipmentPiece['load']>[];
  readonly #neutrals: readonly NonNullable<EquipmentPiece['neutral']>[];

  constructor(pieces: readonly EquipmentPiece[], members: ReadonlySet<number>) {
    const here = <F extends { readonly bus: number }>(facet: F | undefined): readonly F[] =>
      facet !== undefined && members.has(facet.bus) ? [facet] : [];
    this.#sources = pieces.flatMap(({ source }) => here(source));
    this.#loads = pieces.flatMap(({ load }) => here(load));
    this.#neutrals = pieces.flatMap(({ neutral }) => here(neutral));
  }

  take(): void {
    this.following = 0;
    this.forming = 0;
    let power_W = 0;
    for (const source of this.#sources) {
      const follows = source.following();
      if (follows.energises) this.following += 1;
      if (follows.energises && follows.power_W > 0) power_W += follows.power_W;
      if (source.forms()) this.forming += 1;
    }
    this.held = this.#neutrals.some((neutral) => neutral.holds());
    this.nIsl = power_W <= 0 ? 0 : this.#over(power_W);
  }

  /** n_isl: power over what the part would take at 240 V, leg loads in series where nobody holds the neutral. */
  #over(power_W: number): number {
    let g1_S = 0;
    let g2_S = 0;
    let g12_S = 0;
    for (const load of this.#loads) {
      const nominal = load.nominal();
      g1_S += nominal.g1_S;
      g2_S += nominal.g2_S;
      g12_S += nominal.g12_S;
    }
    const between = g1_S + g2_S > 0 ? (g1_S * g2_S) / (g1_S + g2_S) : 0;
    const takes_W = this.held
      ? LINE_V * LINE_V * g12_S + LEG_V * LEG_V * (g1_S + g2_S)
      : LINE_V * LINE_V * (g12_S + between);
    return takes_W > 0 ? Math.min(1000, power_W / takes_W) : 1000;
  }
}

/** How long a one-cycle value goes on moving after a change, µs. */
export const WINDOW_us = Math.ceil(CYCLE_us);
