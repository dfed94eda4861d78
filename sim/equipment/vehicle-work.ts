import { radians } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, type Id, numberOf } from '../site-description.ts';
import { LINE_V, type SimUs } from '../units.ts';
import { PILOT_LOWEST_A } from './control-pilot.ts';
import { OverloadClock } from './overload-clock.ts';
import type { Cause, LoadFacet, SourceFacet, Surroundings } from './piece.ts';
import { Ramp } from './ramp.ts';
import { Surplus } from './surplus.ts';
import { VehicleCharge } from './vehicle-charge.ts';
import { VEHICLE_FAULTS, type Work } from './vehicle-chart.ts';
import type { VehicleDevice, VehicleReading } from './vehicle-device.ts';
import { VehicleProtection } from './vehicle-protection.ts';
import { VehicleService } from './vehicle-service.ts';
import { continuousCurrent_A, overloadStagesOf, surplusOf } from './vehicle-settings.ts';

/** Above this reference, pu, or share of rated current, it energises. */
const ENERGISES = 0.02;
const OWN: Cause = { origin: 'equipment', number: undefined };

/** What the work tells the chart; each by a timer, never inside a solution. */
export interface WorkEnd {
  stops(code: number, retry: boolean, cause: Cause): void;
  letsGo(): void;
  eased(): void;
  look(): void;
}

/**
 * What a vehicle does on its bus, as its chart orders it: ramps, limits, battery, surplus and the happenings of each.
 *
 * Whatever the network sees changes inside `around.change`; what a solution shows is acted on by timers.
 */
export class VehicleWork {
  readonly source: SourceFacet;
  readonly load: LoadFacet;
  readonly #id: Id;
  readonly #params: Bag;
  readonly #around: Surroundings;
  readonly #device: VehicleDevice;
  readonly #end: WorkEnd;
  readonly charge: VehicleCharge;
  readonly #overload: OverloadClock;
  readonly #surplus: Surplus;
  readonly #protection: VehicleProtection;
  readonly #service: VehicleService;
  readonly #rated_W: number;
  readonly #continuous_A: number;
  /** Happenings begin with the run: what the starting state brought about nobody did. */
  #isRunning = false;
  #isForming = false;
  #formsTimer: number | undefined;
  #easing: 'no' | 'falling' | 'told' = 'no';
  #orderLimit_A = Number.POSITIVE_INFINITY;
  #personLimit_A = Number.POSITIVE_INFINITY;
  #hasTripped = false;
  #tripRow: string | undefined;

  constructor(id: Id, bus: WiredBus, params: Bag, around: Surroundings, device: VehicleDevice, end: WorkEnd) {
    this.#id = id;
    this.#params = params;
    this.#around = around;
    this.#device = device;
    this.#end = end;
    const { kernel } = around;
    this.#rated_W = numberOf(params, 'rated');
    this.#continuous_A = continuousCurrent_A(params);
    this.charge = new VehicleCharge(id, params, around, {
      turned: () => around.change(() => this.#limit()),
      reached: (empty) => {
        if (empty && this.#device.work === 'forming') end.stops(VEHICLE_FAULTS.empty, false, OWN);
        end.look();
      },
      linkTrips: () => end.stops(VEHICLE_FAULTS.overcharge, false, OWN),
    });
    const rest_us = numberOf(params, 'overloadRest');
    this.#overload = new OverloadClock(kernel, id, overloadStagesOf(params), rest_us, () =>
      around.change(() => this.#limit()),
    );
    this.#surplus = new Surplus(kernel, id, surplusOf(params), () => around.change(() => this.#tune()));
    this.#protection = new VehicleProtection(kernel, id, params, {
      stops: (code) => end.stops(code, true, OWN),
      letsGo: () => {
        this.#protection.chargeWindow.startOver();
        end.letsGo();
      },
      overcharges: () => this.charge.open(-device.reading.p_W),
      windows: () => {
        if (this.#protection.serviceWindow.good) this.#hasTripped = false;
        else if (this.#device.work !== 'discharging') this.#service.interrupted();
        around.noted();
        end.look();
      },
    });
    this.#service = new VehicleService(id, bus, params, around, device, {
      trips: (row) => this.#trip(row),
      pauses: (paused) => this.#tell(paused ? 'ceases' : 'starts', OWN),
      moved: () => {
        if (this.#easing === 'no') this.#aim();
      },
    });
    device.setVoltage_V = numberOf(params, 'voltage');
    device.setFrequency_Hz = numberOf(params, 'frequency');
    this.#surplus.base(device.setFrequency_Hz);
    this.source = {
      bus: device.bus,
      joined: () => device.joined,
      following: () => this.#following(),
      forms: () => this.#isForming,
    };
    this.load = { bus: device.bus, nominal: () => ({ g1_S: 0, g2_S: 0, g12_S: this.#nominal_S() }) };
  }

  get isForming(): boolean {
    return this.#isForming;
  }

  get isTripped(): boolean {
    return this.#hasTripped;
  }

  /** A charge is a load: it energises nothing, whatever its current. */
  get energises(): boolean {
    return this.#isForming || this.#following().energises;
  }

  get mayCharge(): boolean {
    return !this.charge.isFull && this.#follows_A >= PILOT_LOWEST_A && this.#protection.chargeWindow.good;
  }

  /** The window is for entering service; from then on the trip rows decide. */
  get mayDischarge(): boolean {
    const mayGive = this.charge.hasReserve && this.#follows_A > 0;
    return mayGive && (this.#device.work === 'discharging' || this.#protection.serviceWindow.good);
  }

  /** From here on doings are told. */
  settled(): void {
    this.#isRunning = true;
  }

  /** The past is as the present. */
  settle(net: PhasorNet): void {
    this.#service.settle(net);
  }

  failToDetect(): void {
    this.#service.failToDetect();
  }

  begin(work: Work, cause: Cause): void {
    this.#around.change(() => {
      const device = this.#device;
      const now_us = this.#around.kernel.now_us;
      const share = device.makesVoltage ? device.soft.at(now_us) : 0;
      device.work = work;
      this.#easing = 'no';
      if (work === 'charging') this.#tell('starts charging', cause);
      if (work === 'discharging') {
        this.#tell('starts', cause);
        device.following.connected = true;
        if (this.#isRunning) this.#service.lock();
        this.#service.begin();
        this.#hasTripped = false;
      }
      if (work === 'charging' || work === 'discharging') this.#aim();
      else this.#makeVoltage(work, share, cause);
      this.#limit();
    });
  }

  /** Down to nothing by the ramp; `eased` follows when the current allows the contactor to open. */
  ease(): void {
    this.#around.change(() => {
      this.#easing = 'falling';
      this.#rampTo(0);
    });
  }

  /** The end of whatever it does, at once. */
  cease(cause: Cause): void {
    if (this.#formsTimer !== undefined) this.#around.kernel.cancel(this.#formsTimer);
    this.#formsTimer = undefined;
    this.charge.rest();
    const { work } = this.#device;
    if (work === undefined) return;
    this.#around.change(() => {
      if (this.#isForming) this.#tell('stops', cause);
      if (work === 'charging') this.#tell('ceases charging', cause);
      if (work === 'discharging') {
        const tripped = this.#tripRow === undefined ? cause : this.#tell(`trips ${this.#tripRow}`, cause);
        if (this.#device.following.gate > 0) this.#tell('ceases', tripped);
        this.#service.stop();
        if (this.#tripRow !== undefined || !this.#protection.serviceWindow.good) this.#service.interrupted();
      }
      this.#tripRow = undefined;
      this.#isForming = false;
      this.#easing = 'no';
      this.#protection.clear();
      this.#surplus.reset();
      this.#device.stop();
      this.#tune();
    });
  }

  close(cause: Cause): void {
    this.#around.change(() => {
      if (!this.#device.joined) this.#tell('joins', cause);
      this.#device.joined = true;
    });
  }

  open(cause: Cause): void {
    if (!this.#device.joined) return;
    this.#around.change(() => {
      this.#tell('leaves', cause);
      this.#device.joined = false;
    });
  }

  /** Limit of the gateway for charge, discharge and what an island may push in, A. */
  orderLimit(current_A: number): void {
    this.#orderLimit_A = current_A;
    this.#newLimit();
  }

  /** Limit that a person has set at the vehicle, A; 0: none. */
  personLimit(current_A: number): void {
    this.#personLimit_A = current_A > 0 ? current_A : Number.POSITIVE_INFINITY;
    this.#newLimit();
  }

  setVoltage(voltage_V: number): void {
    this.#around.change(() => {
      this.#device.setVoltage_V = voltage_V;
    });
  }

  setFrequency(frequency_Hz: number): void {
    this.#around.change(() => {
      this.#surplus.base(frequency_Hz);
      this.#device.setFrequency_Hz = frequency_Hz;
      this.#tune();
    });
  }

  solved(reading: VehicleReading, before: VehicleReading, h_s: number, net: PhasorNet): void {
    const { now_us } = net;
    const { work, joined, forming } = this.#device;
    this.charge.gives(reading.p_W);
    const current_A = Math.max(reading.i1_A, reading.i2_A);
    this.#overload.see(work === 'forming' ? current_A / this.#continuous_A : 0);
    const incoming_W = work === 'forming' ? -reading.p_W : 0;
    const excess_W = incoming_W - this.charge.acceptance_W(this.#follows_A);
    if (this.#isForming) this.#surplus.see(excess_W);
    const at = { now_us, h_s, work: joined ? work : undefined, limited: forming.limited };
    this.#protection.look(reading, before, at, work === 'forming' ? excess_W : 0);
    this.#service.look(net, h_s, joined && work === 'discharging');
    const low = current_A <= numberOf(this.#params, 'easedCurrent') && !this.#device.power.movesAt(now_us);
    if (this.#easing === 'falling' && low) {
      this.#easing = 'told';
      this.#around.kernel.at(this.#around.kernel.now_us, 'protection', this.#id, 'eased', () => this.#end.eased());
    }
  }

  state(now_us: number): (number | string)[] {
    const limits = [Math.min(1e9, this.#orderLimit_A), Math.min(1e9, this.#personLimit_A)];
    const flags = [this.#isForming, this.#hasTripped].map(Number);
    const slow = [...this.charge.state(now_us), ...this.#overload.state(now_us), ...this.#surplus.state()];
    const watches = [...this.#protection.state(now_us), ...this.#service.state(now_us)];
    return [this.#easing, ...limits, ...flags, ...slow, ...watches];
  }

  /** Current that it may follow with, A: both ways. */
  get #follows_A(): number {
    return Math.min(this.#continuous_A, this.#orderLimit_A, this.#personLimit_A);
  }

  #following(): { energises: boolean; power_W: number } {
    const { work, joined, reading } = this.#device;
    const gives = joined && work === 'discharging';
    const energises = gives && reading.i1_A > (ENERGISES * this.#rated_W) / LINE_V;
    return { energises, power_W: gives ? reading.p_W : 0 };
  }

  #nominal_S(): number {
    if (!this.#device.joined || this.#device.work !== 'charging') return 0;
    return Math.max(0, -this.#device.solvedPower_W) / (LINE_V * LINE_V);
  }

  #tell(did: string, cause: Cause): Cause {
    return this.#isRunning ? this.#around.happened(this.#id, did, cause) : cause;
  }

  #newLimit(): void {
    this.#around.change(() => {
      if (this.#easing === 'no') this.#aim();
      this.#limit();
    });
    this.#end.look();
  }

  /** Ramps towards the power that charge or discharge may have. Inside a change. */
  #aim(): void {
    const power_W = Math.min(this.#rated_W, this.#follows_A * LINE_V);
    if (this.#device.work === 'charging') this.#rampTo(-power_W);
    if (this.#device.work === 'discharging') this.#rampTo(Math.min(power_W, this.#service.share * this.#rated_W));
  }

  #rampTo(power_W: number): void {
    const device = this.#device;
    const now_us = this.#around.kernel.now_us;
    const from_W = device.power.at(now_us);
    const share = Math.abs(power_W - from_W) / this.#rated_W;
    const length_us = this.#isRunning ? Math.round(share * numberOf(this.#params, 'rampTime')) : 0;
    device.power = new Ramp(from_W, power_W, now_us, length_us);
  }

  /** Test voltage at once; forming from where the reference stands, and a timer for the instant at which it energises. */
  #makeVoltage(work: Work, share: number, cause: Cause): void {
    const device = this.#device;
    const { kernel } = this.#around;
    const now_us = kernel.now_us;
    if (share === 0) device.forming.frame.setAngle(radians(numberOf(this.#params, 'startAngle')), now_us);
    this.#tune();
    if (work === 'testing') {
      const level = numberOf(this.#params, 'testVoltage') / device.setVoltage_V;
      device.soft = new Ramp(level, level, now_us, 0);
      return;
    }
    if (!this.#isRunning) {
      device.soft = new Ramp(1, 1, now_us, 0);
      this.#isForming = true;
      return;
    }
    device.soft = new Ramp(share, 1, now_us, numberOf(this.#params, 'softStart'));
    const due_us = device.soft.reaches_us((ENERGISES * LINE_V) / device.setVoltage_V) + 1;
    this.#formsTimer = kernel.at(due_us as SimUs, 'protection', this.#id, 'forms', () => {
      this.#formsTimer = undefined;
      this.#around.change(() => {
        this.#isForming = true;
        this.#tell('forms', cause);
      });
    });
  }

  /** Current limit of the work at hand. Inside a change. */
  #limit(): void {
    const { work } = this.#device;
    if (work === 'testing') this.#device.currentLimit_A = numberOf(this.#params, 'testCurrent');
    else if (work === 'forming') this.#device.currentLimit_A = this.#continuous_A * this.#overload.multiple;
    else this.#device.currentLimit_A = this.#follows_A;
  }

  #tune(): void {
    this.#device.lift_Hz = this.#surplus.lift_Hz;
    this.#device.tune(this.#around.kernel.now_us);
  }

  #trip(row: string): void {
    this.#tripRow = row;
    this.#hasTripped = true;
    this.#protection.serviceWindow.startOver();
    this.#end.letsGo();
  }
}
