import { atan2 } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, type Id, numberOf } from '../site-description.ts';
import { US_PER_S } from '../units.ts';
import type { Surroundings } from './piece.ts';
import { Droop } from './pv-droop.ts';
import { detectionMethod, PASSIVE } from './pv-methods.ts';
import { categorySays, PvProtection } from './pv-protection.ts';
import { Stairs } from './stairs.ts';
import type { VehicleDevice } from './vehicle-device.ts';

/** Categories of the 2018 edition: these know a ramp and a droop. */
const OF_2018 = ['I', 'II', 'III'];

/** What happens to a discharge by itself; each by a timer, never inside a solution. */
export interface ServiceEnd {
  trips(row: string): void;
  /** Momentary cessation begins and ends; inside a change. */
  pauses(paused: boolean): void;
  /** The power that it may give has changed; inside a change. */
  moved(): void;
}

/**
 * A vehicle that discharges is a following source like any other: the same trip rows, self-protection, cessation, droop,
 * open-phase and island detection as a PV inverter, and a ramp when it comes back after its service was interrupted.
 */
export class VehicleService {
  readonly #around: Surroundings;
  readonly #bus: WiredBus;
  readonly #device: VehicleDevice;
  readonly #end: ServiceEnd;
  readonly #protection: PvProtection;
  readonly #ramp: Stairs;
  readonly #recovery: Stairs;
  readonly #droop: Droop | undefined;
  readonly #rated_W: number;
  #owesRamp = false;
  #isPaused = false;
  #drop = 0;
  /** Power just before the droop began to hold some back, pu of rated. */
  #beforeDroop = 0;

  constructor(id: Id, bus: WiredBus, params: Bag, around: Surroundings, device: VehicleDevice, end: ServiceEnd) {
    this.#around = around;
    this.#bus = bus;
    this.#device = device;
    this.#end = end;
    this.#rated_W = numberOf(params, 'rated');
    const { kernel } = around;
    const leads = flagOf(params, 'neutral') ? '3' : '2';
    this.#protection = new PvProtection(
      kernel,
      id,
      bus,
      { ...params, leads },
      {
        trips: (row) => end.trips(row),
        ceases: () => this.#pause(),
        recovers: () => this.#resume(),
        window: () => {},
      },
    );
    const ramps = categorySays(params, 'serviceRamp', OF_2018);
    this.#ramp = new Stairs(kernel, id, 'service ramp', ramps ? numberOf(params, 'serviceRampTime') : 0, (share) => {
      if (share === 1) this.#owesRamp = false;
      around.change(() => end.moved());
    });
    this.#recovery = new Stairs(kernel, id, 'recovery', numberOf(params, 'recoveryTime'), () =>
      around.change(() => this.#gate()),
    );
    this.#droop = this.#makeDroop(id, params);
    this.#use(detectionMethod(params));
  }

  /** Most of its rated power that it may give, 0 to 1. */
  get share(): number {
    const free = this.#ramp.share;
    return this.#drop > 0 ? Math.max(0, Math.min(free, this.#beforeDroop - this.#drop)) : free;
  }

  /** Its service was interrupted: the next discharge comes back by the ramp. */
  interrupted(): void {
    this.#owesRamp = true;
  }

  failToDetect(): void {
    this.#around.change(() => this.#use(PASSIVE));
  }

  /** Its loop has locked on the bus before it joins. */
  lock(): void {
    const { L1, L2, index } = this.#bus;
    const net = this.#around.level().partAt(index);
    const re = net.re(L1) - net.re(L2);
    const im = net.im(L1) - net.im(L2);
    this.#device.following.settle(atan2(im, re), Math.sqrt(re * re + im * im), net.w);
  }

  /** Inside a change. */
  begin(): void {
    this.#protection.clear();
    this.#isPaused = false;
    this.#recovery.top();
    if (this.#owesRamp) this.#ramp.start();
    else this.#ramp.top();
    if (this.#ramp.share === 1) this.#owesRamp = false;
    this.#gate();
  }

  /** Inside a change. */
  stop(): void {
    this.#protection.clear();
    this.#isPaused = false;
    this.#ramp.stop();
    this.#recovery.stop();
    this.#droop?.reset();
    this.#drop = 0;
  }

  /** The past is as the present. */
  settle(net: PhasorNet): void {
    const { following } = this.#device;
    this.#protection.settle(following.measured_V(net), following.f_Hz, net);
  }

  /** Looks at a new solution. */
  look(net: PhasorNet, h_s: number, serves: boolean): void {
    const { following } = this.#device;
    const state = !serves ? 'out' : this.#isPaused ? 'ceased' : 'serving';
    if (state === 'serving') this.#droop?.drive(following.f_Hz);
    this.#protection.look(net, h_s, following.measured_V(net), following.f_Hz, state);
  }

  state(now_us: number): number[] {
    const slow = this.#droop?.digest(now_us) ?? [];
    const flags = [this.#owesRamp, this.#isPaused].map(Number);
    const stairs = [this.#ramp.share, this.#recovery.share, this.#drop, this.#beforeDroop];
    return [...flags, ...stairs, ...slow, ...this.#protection.digest(now_us)];
  }

  #makeDroop(id: Id, params: Bag): Droop | undefined {
    if (!categorySays(params, 'droop', OF_2018)) return undefined;
    const settings = {
      deadBand_Hz: numberOf(params, 'droopDeadBand'),
      slope: numberOf(params, 'droopSlope'),
      response_s: numberOf(params, 'droopResponse') / US_PER_S,
    };
    return new Droop(this.#around.kernel, id, settings, (drop) =>
      this.#around.change(() => {
        if (this.#drop === 0) this.#beforeDroop = this.#device.solvedPower_W / this.#rated_W;
        this.#drop = drop;
        this.#end.moved();
      }),
    );
  }

  #pause(): void {
    this.#around.change(() => {
      this.#protection.clearCessation();
      this.#recovery.stop();
      this.#isPaused = true;
      this.#gate();
      this.#end.pauses(true);
    });
  }

  #resume(): void {
    this.#around.change(() => {
      this.#isPaused = false;
      this.#recovery.start();
      this.#gate();
      this.#end.pauses(false);
    });
  }

  #gate(): void {
    this.#device.following.gate = this.#isPaused ? 0 : this.#recovery.share;
  }

  #use(method: typeof PASSIVE): void {
    this.#device.following.activeMethod = method.lead;
    this.#device.following.amplitudeMethod = method.factor;
  }
}
