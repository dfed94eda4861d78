import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import type { Conductor, Id, Plain } from '../site-description.ts';
import type { Unit } from '../telemetry.ts';
import { LEG_V, LINE_V } from '../units.ts';
import type { Surroundings } from './piece.ts';

/** What a load does of its own accord has no cause but itself. */
export const BY_ITSELF = { origin: 'equipment', number: undefined } as const;

/** The two conductors between which a load stands, and what every sort of load is given. */
export interface Terminals {
  readonly id: Id;
  readonly around: Surroundings;
  readonly bus: number;
  readonly a: number;
  readonly b: number;
  readonly nominal_V: number;
}

/** One sort of load behind its switch. Everything here but `accept` and `settle` is called only while it is connected. */
export interface LoadBody {
  /** Names of what `state` counts. */
  readonly states: readonly string[];
  state(): number;
  stamp(net: PhasorNet): void;
  /** Takes the solution as if it had always stood. Connected or not. */
  settle(net: PhasorNet): void;
  advance?(net: PhasorNet, h_s: number): boolean;
  accept?(net: PhasorNet, h_s: number): boolean;
  follow?(net: PhasorNet): void;
  drives?(): boolean;
  rebase?(by_rad: number): void;
  /** Its switch closes or opens; called inside a change of the network. `free`: a motor starts without pressure. */
  switched(connected: boolean, free: boolean): void;
  /** W; inside a change of the network. */
  setPower(power_W: number): void;
  /** Hot water drawn, L; only heaters have it. */
  draw?(volume_L: number): void;
  /** Active power under the solution that stands, W. */
  power_W(net: PhasorNet): number;
  /** Conductance at nominal voltage as it is switched now, S. */
  nominal_S(): number;
  readonly extras?: readonly { readonly name: string; readonly unit: Unit }[];
  extra?(index: number, now_us: number): number;
  digest(now_us: number): readonly Plain[];
}

/** Nodes and nominal voltage by the conductors that it is connected to: 120 V from leg to neutral, 240 V across the legs. */
export function terminalsOf(id: Id, around: Surroundings, bus: WiredBus, legs: readonly Conductor[]): Terminals {
  const across = !legs.includes('N');
  const first = legs.includes('L1') ? bus.L1 : bus.L2;
  return { id, around, bus: bus.index, a: first, b: across ? bus.L2 : bus.N, nominal_V: across ? LINE_V : LEG_V };
}

/** Magnitude of the voltage across it over nominal. */
export function share(net: PhasorNet, { a, b, nominal_V }: Terminals): number {
  const re = net.re(a) - net.re(b);
  const im = net.im(a) - net.im(b);
  return Math.sqrt(re * re + im * im) / nominal_V;
}

/** Q over P by the power factor: tan(acos pf). */
export function reactiveShare(powerFactor: number): number {
  return Math.sqrt(1 / (powerFactor * powerFactor) - 1);
}
