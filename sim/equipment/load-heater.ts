import { exp, log } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { type Bag, numberOf, type Plain } from '../site-description.ts';
import type { Unit } from '../telemetry.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import { BY_ITSELF, type LoadBody, share, type Terminals } from './load-body.ts';

/** Heat capacity of one litre of water at about 50 °C, J/K (4.18 kJ/(kg K), 0.988 kg/L; from memory). */
export const WATER_J_per_K_L = 4130;

/**
 * Water that is heated and cools: C dT/dt = P - U (T - Ta), so T = T∞ + (T0 - T∞) exp(-t U/C), T∞ = Ta + P/U.
 *
 * One well-mixed mass; layers are left out. Times in seconds, temperatures in °C.
 */
export class WaterTank {
  readonly #capacity_J_per_K: number;
  readonly #loss_W_per_K: number;
  readonly #ambient_degC: number;

  constructor(volume_L: number, loss_W_per_K: number, ambient_degC: number) {
    this.#capacity_J_per_K = volume_L * WATER_J_per_K_L;
    this.#loss_W_per_K = loss_W_per_K;
    this.#ambient_degC = ambient_degC;
  }

  after(start_degC: number, power_W: number, time_s: number): number {
    if (this.#loss_W_per_K === 0) return start_degC + (power_W * time_s) / this.#capacity_J_per_K;
    const end_degC = this.#end(power_W);
    return end_degC + (start_degC - end_degC) * exp((-time_s * this.#loss_W_per_K) / this.#capacity_J_per_K);
  }

  /** Until it has come from `start` to `goal`, s; undefined: it never does. */
  until(start_degC: number, goal_degC: number, power_W: number): number | undefined {
    if (this.#loss_W_per_K === 0) {
      const time_s = ((goal_degC - start_degC) * this.#capacity_J_per_K) / power_W;
      return power_W > 0 && time_s >= 0 ? time_s : undefined;
    }
    const end_degC = this.#end(power_W);
    const ratio = (start_degC - end_degC) / (goal_degC - end_degC);
    if (!(ratio >= 1) || ratio === Number.POSITIVE_INFINITY) return undefined;
    return (log(ratio) * this.#capacity_J_per_K) / this.#loss_W_per_K;
  }

  #end(power_W: number): number {
    return this.#ambient_degC + power_W / this.#loss_W_per_K;
  }
}

/** A storage heater: its element behind a thermostat. The next switching is foreseen; it moves when the power does. */
export class HeaterLoad implements LoadBody {
  readonly states = ['off', 'waits', 'heats'];
  readonly extras = [{ name: 'temperature', unit: '1' as Unit }];
  readonly #at: Terminals;
  readonly #tank: WaterTank;
  readonly #volume_L: number;
  readonly #inlet_degC: number;
  readonly #opens_degC: number;
  readonly #closes_degC: number;
  #element_W: number;
  #connected: boolean;
  #calls: boolean;
  #from_degC: number;
  #from_us = 0;
  #heat_W = -1;
  #stamped_S = 0;
  #timer: number | undefined;

  constructor(at: Terminals, params: Bag, element_W: number, connected: boolean) {
    this.#at = at;
    this.#element_W = element_W;
    this.#connected = connected;
    this.#volume_L = numberOf(params, 'volume');
    this.#inlet_degC = numberOf(params, 'inlet');
    this.#opens_degC = numberOf(params, 'setTemperature');
    this.#closes_degC = this.#opens_degC - numberOf(params, 'hysteresis');
    const ambient_degC = numberOf(params, 'ambient');
    const rise = this.#opens_degC - ambient_degC;
    this.#tank = new WaterTank(this.#volume_L, rise > 0 ? numberOf(params, 'standbyLoss') / rise : 0, ambient_degC);
    const { temperature } = at.around.start;
    this.#from_degC = typeof temperature === 'number' ? temperature : this.#opens_degC;
    this.#calls = this.#from_degC <= this.#closes_degC;
  }

  stamp(net: PhasorNet): void {
    this.#stamped_S = this.nominal_S();
    net.shunt(this.#at.a, this.#at.b, this.#stamped_S, 0, 0);
  }

  settle(net: PhasorNet): void {
    this.#see(net);
  }

  accept(net: PhasorNet): boolean {
    this.#see(net);
    return false;
  }

  state(): number {
    if (!this.#connected) return 0;
    return this.#calls ? 2 : 1;
  }

  switched(connected: boolean): void {
    this.#connected = connected;
  }

  setPower(power_W: number): void {
    this.#element_W = power_W;
  }

  draw(volume_L: number): void {
    const { around, id } = this.#at;
    const now_us = around.kernel.now_us;
    const drawn = Math.min(1, volume_L / this.#volume_L);
    const before_degC = this.temperatureAt(now_us);
    this.#turn(before_degC - drawn * (before_degC - this.#inlet_degC), this.#heat_W);
    if (this.#calls || this.#from_degC > this.#closes_degC) around.noted();
    else
      around.change(() => {
        around.happened(id, 'thermostat closes', BY_ITSELF);
        this.#calls = true;
      });
  }

  temperatureAt(now_us: number): number {
    return this.#tank.after(this.#from_degC, Math.max(0, this.#heat_W), (now_us - this.#from_us) / US_PER_S);
  }

  power_W(net: PhasorNet): number {
    const volts_V = share(net, this.#at) * this.#at.nominal_V;
    return this.#stamped_S * volts_V * volts_V;
  }

  nominal_S(): number {
    return this.#calls && this.#connected ? this.#element_W / (this.#at.nominal_V * this.#at.nominal_V) : 0;
  }

  extra(_index: number, now_us: number): number {
    return this.temperatureAt(now_us);
  }

  digest(now_us: number): readonly Plain[] {
    return [this.#element_W, this.#calls, this.temperatureAt(now_us)];
  }

  #see(net: PhasorNet): void {
    const u_V = share(net, this.#at) * this.#at.nominal_V;
    const heat_W = this.nominal_S() * u_V * u_V;
    if (heat_W === this.#heat_W) return;
    this.#turn(this.temperatureAt(this.#at.around.kernel.now_us), heat_W);
  }

  /** From now on with this heat; the next switching is foreseen. */
  #turn(from_degC: number, heat_W: number): void {
    const { kernel } = this.#at.around;
    this.#from_degC = from_degC;
    this.#from_us = kernel.now_us;
    this.#heat_W = heat_W;
    if (this.#timer !== undefined) kernel.cancel(this.#timer);
    this.#timer = undefined;
    const goal_degC = this.#calls ? this.#opens_degC : this.#closes_degC;
    const time_s = this.#tank.until(from_degC, goal_degC, Math.max(0, heat_W));
    const due_us = time_s === undefined ? Number.POSITIVE_INFINITY : kernel.now_us + Math.ceil(time_s * US_PER_S);
    if (!(due_us < Number.MAX_SAFE_INTEGER)) return;
    this.#timer = kernel.at(due_us as SimUs, 'protection', this.#at.id, 'thermostat', () => this.#flip(goal_degC));
  }

  #flip(at_degC: number): void {
    this.#timer = undefined;
    const { around, id } = this.#at;
    around.change(() => {
      around.happened(id, this.#calls ? 'thermostat opens' : 'thermostat closes', BY_ITSELF);
      this.#calls = !this.#calls;
      this.#turn(at_degC, this.#heat_W);
    });
  }
}
