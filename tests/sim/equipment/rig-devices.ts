import { cos, sin } from '../../../sim/maths.ts';
import type { Lead, PhasorDevice, PhasorNet } from '../../../sim/network/device.ts';
import { Frame } from '../../../sim/network/frame.ts';
import type { WiredBus, Wiring } from '../../../sim/network/wiring.ts';

/** A voltage source behind r + jx (at 60 Hz) between two nodes, as a Norton pair, which leads its part. */
export function stiffSource(options: {
  readonly bus: number;
  readonly a: number;
  readonly b: number;
  readonly volts_V: number;
  readonly angle_rad?: number;
  readonly r_ohm: number;
  readonly x_ohm: number;
  readonly kind?: Lead['kind'];
  readonly f_Hz?: number;
}): PhasorDevice & { volts_V: number } {
  const { bus, a, b, angle_rad = 0, r_ohm, x_ohm, kind = 'utility', f_Hz = 60 } = options;
  const frame = new Frame(angle_rad, 0, f_Hz);
  const device = {
    bus,
    volts_V: options.volts_V,
    lead: (): Lead => ({ kind, frame, rating: 1 }),
    stamp(net: PhasorNet): void {
      net.series(a, b, r_ohm, x_ohm);
      const turn = net.offset(frame);
      const re = device.volts_V * cos(turn);
      const im = device.volts_V * sin(turn);
      const x = (x_ohm * net.w) / (2 * Math.PI * 60);
      const size2 = r_ohm * r_ohm + x * x;
      net.inject(a, b, (re * r_ohm + im * x) / size2, (im * r_ohm - re * x) / size2);
    },
  };
  return device;
}

/**
 * An ideal current source, in phase with the frame of its part, from b to a. Where it leads, its part counts as supplied by
 * a utility, and rests when nothing changes.
 */
export function currentSource(
  bus: number,
  a: number,
  b: number,
  amps_A: number,
  leads = false,
): PhasorDevice & { amps_A: number } {
  const frame = new Frame(0, 0, 60);
  const device = {
    bus,
    amps_A,
    drives: () => device.amps_A !== 0,
    lead: (): Lead | undefined => (leads ? { kind: 'utility', frame, rating: 1 } : undefined),
    stamp: (net: PhasorNet) => net.inject(a, b, device.amps_A, 0),
  };
  return device;
}

/** Resistor (and capacitor by its susceptance at 60 Hz) between two nodes; can be changed inside a change of the rig. */
export function resistor(
  bus: number,
  a: number,
  b: number,
  ohms: number,
  capacitive_S = 0,
): PhasorDevice & { ohms: number } {
  const device = {
    bus,
    ohms,
    stamp: (net: PhasorNet) => net.shunt(a, b, 1 / device.ohms, capacitive_S, 0),
  };
  return device;
}

/**
 * A transformer with a centre tap by hand: primary node p (referred to 240 V) against earth, halves L1-N and N-L2, r and x
 * of one half and of the primary, and a magnetising branch on the primary (ohm at 240 V).
 */
export function centreTap(options: {
  readonly bus: number;
  readonly p: number;
  readonly L1: number;
  readonly L2: number;
  readonly N: number;
  readonly half: { readonly r_ohm: number; readonly x_ohm: number };
  readonly magnetising_ohm?: number;
  readonly loss_ohm?: number;
  /** Primary impedance to an ideal 240 V source; absent: the primary is open. */
  readonly supply?: { readonly r_ohm: number; readonly x_ohm: number; readonly volts_V: number };
}): PhasorDevice {
  const { bus, p, L1, L2, N, half, magnetising_ohm, loss_ohm, supply } = options;
  const frame = new Frame(0, 0, 60);
  return {
    bus,
    lead: () => (supply === undefined ? undefined : { kind: 'utility' as const, frame, rating: 1 }),
    stamp(net: PhasorNet): void {
      net.coupled(p, 0.5, L1, -1, N, 1, half.r_ohm, half.x_ohm);
      net.coupled(p, 0.5, N, -1, L2, 1, half.r_ohm, half.x_ohm);
      net.shunt(
        p,
        -1,
        loss_ohm === undefined ? 0 : 1 / loss_ohm,
        0,
        magnetising_ohm === undefined ? 0 : 1 / magnetising_ohm,
      );
      if (supply === undefined) return;
      const { r_ohm, x_ohm, volts_V } = supply;
      const size2 = r_ohm * r_ohm + x_ohm * x_ohm;
      net.series(p, -1, r_ohm, x_ohm);
      net.inject(p, -1, (volts_V * r_ohm) / size2, (-volts_V * x_ohm) / size2);
    },
  };
}

/** Both line conductors from one bus to another, each r + jx: a length of cable without its neutral. */
export function joinLines(wiring: Wiring, from: WiredBus, to: WiredBus, r_ohm: number, x_ohm: number): PhasorDevice {
  wiring.link(from, to);
  return {
    bus: from.index,
    stamp(net: PhasorNet): void {
      net.series(from.L1, to.L1, r_ohm, x_ohm);
      net.series(from.L2, to.L2, r_ohm, x_ohm);
    },
  };
}
