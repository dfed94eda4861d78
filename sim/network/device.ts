import type { Frame } from './frame.ts';

/** What a device stamps into: the part that its bus stands in, at that part's frequency. Rms phasors in the part's frame. */
export interface PhasorNet {
  /** Angular frequency of the part, rad/s. */
  readonly w: number;
  /** Length of the step that this solution ends, s; 0 for a new solution at the same instant. */
  readonly h_s: number;
  readonly now_us: number;
  /** Shunt: conductance, capacitive and inductive susceptance at nominal frequency, S, all ≥ 0 or lagged as they are. */
  shunt(a: number, b: number, g_S: number, capacitive_S: number, inductive_S: number): void;
  /** Series impedance r + jx·ω/ω0, ohm. */
  series(a: number, b: number, r_ohm: number, x_ohm: number): void;
  /** A constant complex admittance, S. */
  admittance(a: number, b: number, re_S: number, im_S: number): void;
  /** Admittance y = 1/(r + jx·ω/ω0) across the voltage ca·Va + cb·Vb + cc·Vc: transformers. */
  coupled(a: number, ca: number, b: number, cb: number, c: number, cc: number, r_ohm: number, x_ohm: number): void;
  /** Current pushed into node a and taken out of node b, A. */
  inject(a: number, b: number, re_A: number, im_A: number): void;
  /** Angle of a source's own frame against the part's, rad: 0 for the source that leads the part. */
  offset(own: Frame): number;
  /** One device's say in the frequency of an unformed part: weight and the frequency that it asks for. */
  pull(weight: number, w_rad_per_s: number): void;
  /** Voltage of a node in the part's frame, V; valid in `pull`, `limit` and afterwards. */
  re(node: number): number;
  im(node: number): number;
}

export interface Lead {
  readonly kind: 'utility' | 'forming';
  readonly frame: Frame;
  readonly rating: number;
}

/**
 * The electrical half of a piece at phasor level. The network calls, in this order: `begin` once a solution, then per
 * pass `stamp` and `limit`. The plant calls `advance` before and `accept` after a solution.
 */
export interface PhasorDevice {
  /** Bus whose part it stamps into. */
  readonly bus: number;
  /** Forgets the limits found in the last solution. */
  begin?(): void;
  stamp(net: PhasorNet): void;
  /** Looks at a solution and changes what it stamps where a limit is passed. True: solve again. */
  limit?(net: PhasorNet): boolean;
  /** Says what it leads, when it makes the voltage of its part. */
  lead?(): Lead | undefined;
  /** Follows: asks `net.pull` for its frequency. Not called where a lead exists. */
  follow?(net: PhasorNet): void;
  /** True while it pushes current that is not its answer to a voltage: it keeps its part from being dead. */
  drives?(): boolean;
  /** Angles kept against the part's frame move by this much, rad, when the part gets another one. */
  rebase?(by_rad: number): void;
  /** Explicit memory moves by h under the solution found last; true when any bit of it changed. */
  advance?(net: PhasorNet, h_s: number): boolean;
  /** Implicit memory, windows and protections look at the new solution; true while anything of them moves by itself. */
  accept?(net: PhasorNet, h_s: number): boolean;
}
