import { assert } from '../check.ts';
import type { Conductor, Id, Leg } from '../site-description.ts';

/** Node number of the earth, the reference of every voltage. */
export const EARTH = -1;
/** A closed pole, S. Far above any load, far below what would cost digits. */
export const POLE_CLOSED_S = 1e3;

export type PoleState = 'open' | 'closed' | 'welded';

/** One pole of one device. Each has its own state; `open` is the only one that does not conduct. */
export interface Pole {
  readonly owner: Id;
  readonly leg: Conductor;
  readonly nodeA: number;
  readonly nodeB: number;
  readonly busA: number;
  readonly busB: number;
  state: PoleState;
}

/** A conductor of the neutral system: it never cuts the site into parts, and every part sees all of it. */
export interface NeutralBranch {
  readonly nodeA: number;
  readonly nodeB: number;
  readonly r_ohm: number;
  /** At nominal frequency. */
  readonly x_ohm: number;
  connected: boolean;
}

/** A bus as nodes: L1, L2 and N in this order, then nodes inside the equipment that stands on it. */
export interface WiredBus {
  readonly index: number;
  readonly id: Id;
  readonly hidden: boolean;
  readonly L1: number;
  readonly L2: number;
  readonly N: number;
  readonly inner: number[];
}

/**
 * Topology as data: buses with their nodes, poles, fixed links and the neutral system.
 *
 * Built once by the pieces of a site; afterwards only the states of poles and neutral branches change.
 */
export class Wiring {
  readonly buses: WiredBus[] = [];
  readonly poles: Pole[] = [];
  readonly neutrals: NeutralBranch[] = [];
  /** Pairs of bus indices that a fixed conductor joins on both legs. */
  readonly links: (readonly [number, number])[] = [];
  nodeCount = 0;
  readonly #indexById = new Map<Id, number>();

  addBus(id: Id, hidden = false): WiredBus {
    assert(!this.#indexById.has(id), `bus ${id} is wired twice`);
    const first = this.nodeCount;
    this.nodeCount += 3;
    const index = this.buses.length;
    const bus: WiredBus = { index, id, hidden, L1: first, L2: first + 1, N: first + 2, inner: [] };
    this.buses.push(bus);
    this.#indexById.set(id, index);
    return bus;
  }

  /** A node inside a piece of equipment, such as the primary of a transformer. It belongs to the part of its bus. */
  addInnerNode(bus: WiredBus): number {
    bus.inner.push(this.nodeCount);
    this.nodeCount += 1;
    return this.nodeCount - 1;
  }

  bus(id: Id): WiredBus {
    const index = this.#indexById.get(id);
    assert(index !== undefined, `no bus ${id}; was the site checked?`);
    return this.buses[index]!;
  }

  busIndex(id: Id): number {
    return this.bus(id).index;
  }

  addPole(owner: Id, leg: Leg, from: WiredBus, to: WiredBus, state: PoleState): Pole {
    const pole: Pole = { owner, leg, nodeA: from[leg], nodeB: to[leg], busA: from.index, busB: to.index, state };
    this.poles.push(pole);
    return pole;
  }

  addNeutral(nodeA: number, nodeB: number, r_ohm: number, x_ohm: number, connected = true): NeutralBranch {
    assert(r_ohm > 0 || x_ohm > 0, 'a neutral branch has an impedance');
    const branch: NeutralBranch = { nodeA, nodeB, r_ohm, x_ohm, connected };
    this.neutrals.push(branch);
    return branch;
  }

  link(from: WiredBus, to: WiredBus): void {
    this.links.push([from.index, to.index]);
  }
}

/**
 * Which buses hang together through at least one conducting line pole or a fixed conductor.
 *
 * @returns for each bus the lowest index of a bus of its part
 */
export function partsOf(wiring: Wiring): Int32Array {
  const parent = new Int32Array(wiring.buses.length);
  for (let i = 0; i < parent.length; i += 1) parent[i] = i;
  const find = (start: number): number => {
    let at = start;
    while (parent[at]! !== at) at = parent[at]!;
    return at;
  };
  const join = (a: number, b: number): void => {
    const rootA = find(a);
    const rootB = find(b);
    if (rootA < rootB) parent[rootB] = rootA;
    else if (rootB < rootA) parent[rootA] = rootB;
  };
  for (const [a, b] of wiring.links) join(a, b);
  for (const pole of wiring.poles) if (pole.leg !== 'N' && pole.state !== 'open') join(pole.busA, pole.busB);
  for (let i = 0; i < parent.length; i += 1) parent[i] = find(i);
  return parent;
}

/**
 * Buses that a chain of conducting line poles and fixed conductors joins to one bus on one leg.
 *
 * @returns 1 for each bus that is reached, by bus index; the start itself is reached
 */
export function reachedOnLeg(wiring: Wiring, start: number, leg: Leg): Uint8Array {
  const reached = new Uint8Array(wiring.buses.length);
  reached[start] = 1;
  for (let grown = true; grown; ) {
    grown = false;
    const join = (a: number, b: number): void => {
      if (reached[a] === reached[b]) return;
      reached[a] = 1;
      reached[b] = 1;
      grown = true;
    };
    for (const [a, b] of wiring.links) join(a, b);
    for (const pole of wiring.poles) if (pole.leg === leg && pole.state !== 'open') join(pole.busA, pole.busB);
  }
  return reached;
}
