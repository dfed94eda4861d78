import { FollowingCore, type FollowingSettings } from '../../../sim/equipment/following.ts';
import { load } from '../../../sim/equipment/load.ts';
import type { PhasorDevice, PhasorNet } from '../../../sim/network/device.ts';
import type { Pole, Wiring } from '../../../sim/network/wiring.ts';
import type { Bag, Conductor } from '../../../sim/site-description.ts';
import { Rig, type RigPiece } from './rig.ts';
import { stiffSource } from './rig-devices.ts';

export const MS = 1000;
export const S = 1_000_000;

/** A load across the legs of `house` unless other legs are given. */
export function loadPiece(
  id: string,
  params: Bag,
  start: Bag = {},
  legs: readonly Conductor[] = ['L1', 'L2'],
): RigPiece {
  return { kind: load, id, at: ['house'], legs, params, start };
}

export interface LoadRig {
  readonly rig: Rig;
  readonly supply: { volts_V: number };
  readonly poles: readonly Pole[];
  /** Another voltage of the supply, pu, from now on. */
  volts(pu: number): void;
  /** Parts or joins the house and its supply. */
  poleState(state: 'open' | 'closed'): void;
}

/** Loads on a house bus that two poles join to a supply across the legs; `devices` are the test's own. */
export function loadRig(
  pieces: readonly RigPiece[],
  options: {
    readonly r_ohm?: number;
    readonly x_ohm?: number;
    readonly pu?: number;
    readonly closed?: boolean;
    readonly devices?: (wiring: Wiring) => readonly PhasorDevice[];
  } = {},
): LoadRig {
  const poles: Pole[] = [];
  const made: { supply?: ReturnType<typeof stiffSource> } = {};
  const rig = new Rig({
    buses: ['street', 'house'],
    pieces,
    devices: (wiring) => {
      const street = wiring.bus('street');
      const house = wiring.bus('house');
      wiring.addNeutral(street.N, house.N, 1e-3, 0);
      for (const leg of ['L1', 'L2'] as const) {
        poles.push(wiring.addPole('main', leg, street, house, options.closed === false ? 'open' : 'closed'));
      }
      made.supply = stiffSource({
        bus: street.index,
        a: street.L1,
        b: street.L2,
        volts_V: 240 * (options.pu ?? 1),
        r_ohm: options.r_ohm ?? 1e-6,
        x_ohm: options.x_ohm ?? 0,
      });
      return [made.supply, ...(options.devices?.(wiring) ?? [])];
    },
  });
  const supply = made.supply!;
  return {
    rig,
    supply,
    poles,
    volts: (pu) =>
      rig.change(() => {
        supply.volts_V = 240 * pu;
      }),
    poleState: (state) =>
      rig.change(() => {
        for (const pole of poles) pole.state = state;
      }),
  };
}

/** A following source of so much power across the legs of `house`, running from the start, without trips. */
export function followingSource(
  wiring: Wiring,
  power_W: number,
  settings: Partial<FollowingSettings> = {},
): PhasorDevice {
  const bus = wiring.bus('house');
  const core = new FollowingCore(
    {
      rated_W: power_W,
      currentLimit: 1.2,
      loop_Hz: 6,
      loopDamping: 0.9,
      frequencyLag_s: 0.02,
      voltageLag_s: 0.01,
      filter_F: 0,
      ceiling: Number.POSITIVE_INFINITY,
      ...settings,
    },
    bus.L1,
    bus.L2,
  );
  core.power_W = power_W;
  core.gate = 1;
  core.connected = true;
  return {
    bus: bus.index,
    begin: () => core.begin(),
    drives: () => core.drives(),
    stamp: (net: PhasorNet) => core.stamp(net),
    limit: (net: PhasorNet) => core.limit(net),
    follow: (net: PhasorNet) => core.follow(net),
    rebase: (by_rad: number) => core.rebase(by_rad),
    advance: (net: PhasorNet, h_s: number) => core.advance(net, h_s, 0),
  };
}

/** |found / expected - 1| */
export const off = (found: number, expected: number): number => Math.abs(found / expected - 1);
