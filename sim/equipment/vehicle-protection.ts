import { type Bag, type Id, numberOf } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import { enterWindow } from './pv-protection.ts';
import { TripWatch } from './pv-trips.ts';
import { VEHICLE_FAULTS, type Work } from './vehicle-chart.ts';
import type { VehicleReading } from './vehicle-device.ts';
import { VoltageWindow } from './voltage-window.ts';

/** Below this reference the ramp has not come far enough to judge a voltage by it, pu. */
const JUDGES_FROM = 0.1;

/** What the protection has found; each is told by a timer, never inside a solution. */
export interface VehicleFindings {
  /** The source that forms must stop. */
  stops(code: number): void;
  /** The voltage that it charges from is no good. */
  letsGo(): void;
  /** It gets more than the battery may take, for too long. */
  overcharges(): void;
  /** A window has become good or bad. */
  windows(): void;
}

/** What a vehicle goes by while it charges or makes the voltage, each with its timer, and the windows for beginning. */
export class VehicleProtection {
  readonly #forming: readonly { readonly watch: TripWatch; readonly fault: boolean }[];
  readonly #charging: readonly TripWatch[];
  readonly #overcharge: TripWatch;
  readonly chargeWindow: VoltageWindow;
  readonly serviceWindow: VoltageWindow;
  #shareBefore = 1;
  #faultShareBefore = 1;
  #excessBefore_W = 0;

  constructor(kernel: Kernel, id: Id, params: Bag, findings: VehicleFindings) {
    const timed = (row: string, side: 'over' | 'under', level: string, time: string, act: () => void) =>
      new TripWatch(kernel, id, { row, side, level: numberOf(params, level), time_us: numberOf(params, time) }, 0, act);
    this.#forming = [
      {
        fault: false,
        watch: timed('undervoltage', 'under', 'undervoltage', 'undervoltageTime', () =>
          findings.stops(VEHICLE_FAULTS.undervoltage),
        ),
      },
      {
        fault: true,
        watch: timed('short circuit', 'under', 'faultVoltage', 'faultTime', () =>
          findings.stops(VEHICLE_FAULTS.overload),
        ),
      },
    ];
    this.#charging = [
      timed('charge low', 'under', 'chargeCutOut', 'chargeCutOutTime', () => findings.letsGo()),
      timed('charge high', 'over', 'chargeOver', 'chargeCutOutTime', () => findings.letsGo()),
    ];
    this.#overcharge = timed('overcharge', 'over', 'overchargePower', 'overchargeTime', () => findings.overcharges());
    const window = (name: string, voltage: [number, number], frequency_Hz: [number, number], wait: string) =>
      new VoltageWindow(kernel, id, { name, voltage, frequency_Hz, wait_us: numberOf(params, wait) }, () =>
        findings.windows(),
      );
    this.chargeWindow = window('charge window', [0.88, 1.1], [59.3, 61.2], 'chargeRestart');
    const { low, high, lowHz, highHz } = enterWindow(params);
    this.serviceWindow = window('service window', [low, high], [lowHz, highHz], 'enterService');
  }

  /** Looks at a new solution. `limited`: the current limit was needed. `excess_W`: over what the battery may take. */
  look(
    reading: VehicleReading,
    before: VehicleReading,
    at: { readonly now_us: number; readonly h_s: number; readonly work: Work | undefined; readonly limited: boolean },
    excess_W: number,
  ): void {
    const { now_us } = at;
    const from_us = now_us - Math.round(at.h_s * US_PER_S);
    const u = reading.uCycle_V / LINE_V;
    if (at.work === 'forming') {
      const judged = reading.reference >= JUDGES_FROM;
      const share = judged ? u / reading.reference : 1;
      const faultShare = judged && at.limited ? reading.u_V / LINE_V / reading.reference : 1;
      for (const { watch, fault } of this.#forming) {
        if (fault) watch.look(this.#faultShareBefore, faultShare, from_us, now_us);
        else watch.look(this.#shareBefore, share, from_us, now_us);
      }
      this.#overcharge.look(this.#excessBefore_W, excess_W, from_us, now_us);
      this.#shareBefore = share;
      this.#faultShareBefore = faultShare;
      this.#excessBefore_W = excess_W;
    } else if (at.work === 'charging') {
      const size = reading.u_V / LINE_V;
      for (const watch of this.#charging) watch.look(before.u_V / LINE_V, size, from_us, now_us);
    }
    this.chargeWindow.see(u, reading.f_Hz);
    this.serviceWindow.see(u, reading.f_Hz);
  }

  /** Every timer of the work off: it has ended. */
  clear(): void {
    for (const watch of this.#all()) watch.clear();
    this.#shareBefore = 1;
    this.#faultShareBefore = 1;
    this.#excessBefore_W = 0;
  }

  state(now_us: number): number[] {
    return [
      ...this.#all().map((watch) => watch.left_us(now_us)),
      ...this.chargeWindow.state(),
      ...this.serviceWindow.state(),
    ];
  }

  #all(): TripWatch[] {
    const forming = this.#forming.map(({ watch }) => watch);
    return [...forming, ...this.#charging, this.#overcharge];
  }
}
