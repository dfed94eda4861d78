import type { Id } from '../site-description.ts';
import type { SimUs } from '../units.ts';

/** A connected part of the site with the frame that its phasors are told in. */
export interface Island {
  readonly buses: readonly Id[];
  readonly f_Hz: number;
  /** Of its frame against the one that turns at 60 Hz, at the instant of the hand-over; in (-π, π]. */
  readonly angle_rad: number;
}

/**
 * What one level of physics tells the other at an instant: what the network itself remembers, and nothing of the pieces.
 *
 * Both levels read the same pieces, so loops, charges, temperatures, timers and the angle of a source that leads stay there.
 */
export interface Handover {
  readonly at_us: SimUs;
  /** Every bus stands in exactly one of them. */
  readonly islands: readonly Island[];
  /**
   * Rms phasors, each in the frame of its island. `bus.L1`, `bus.L2`, `bus.N`: V against earth; `bus.inner1` and so on: nodes
   * inside the equipment on that bus. `piece.L1` …: A, into the piece at its own bus, of a switch from its first bus to its
   * second; in an island that nothing drives no current is told.
   */
  readonly phasors: ReadonlyMap<string, readonly [re: number, im: number]>;
}

/** One level of physics. It is open or closed; closed, it leaves the network to the other and takes it up again with `open`. */
export interface Level {
  /** Goes on from there, at the instant of the hand-over. What it would itself have handed over it leaves alone, to the bit. */
  open(from: Handover): void;
  /** Moves memory and solution up to an instant. */
  advance(to_us: SimUs): void;
  close(): Handover;
}

/** A piece as the network names it: whose current a device's is. */
export interface Owner {
  readonly id: Id;
  readonly devices: readonly object[];
}
