import { cos, sin, TWO_PI, wrapAngle } from '../maths.ts';
import type { PhasorNet } from '../network/device.ts';
import { NOMINAL_rad_per_s } from '../network/frame.ts';
import { LINE_V, NOMINAL_HZ } from '../units.ts';
import { ARRIVED, Lag } from './lag.ts';

const HALF_CYCLE_s = 1 / 120;

/** Settings of one following source; SI units. */
export interface FollowingSettings {
  readonly rated_W: number;
  /** Current limit over rated current. */
  readonly currentLimit: number;
  /** Natural frequency of the phase-locked loop, Hz, and its damping. */
  readonly loop_Hz: number;
  readonly loopDamping: number;
  readonly frequencyLag_s: number;
  readonly voltageLag_s: number;
  /** Output filter across L1-L2, F. */
  readonly filter_F: number;
  /** d.c. ceiling, pu of nominal crest; Infinity leaves it out of the way. */
  readonly ceiling: number;
}

/** Lead of the current over the voltage by the unit's own frequency, rad. */
export type ActiveMethod = (f_Hz: number) => number;
/** Factor of the amplitude by the unit's own filtered voltage, V. */
export type AmplitudeMethod = (voltage_V: number) => number;

/** Voltage floor of the power division, V, and of the loop's normalising, pu. */
const FLOOR_V = 20;
const LOOP_FLOOR_V = 0.05 * LINE_V;
const INTEGRAL_max_rad_per_s = TWO_PI * 15;
const LEAD_max_rad = 0.5;
const CEILING_PASSES_max = 6;
/** Discharges the filter when the bus is left alone, ohm (assumed: 1 s with 10 µF). */
const BLEEDER_ohm = 100_000;

/**
 * A source that needs a voltage that others make: a current A e^{j(θ+φ)} behind its own phase-locked loop.
 *
 * A = min(P / max(V_f, 20 V), k I_n); ω = ω0 + kp e + ∫ki e, e = Im(u e^{-jθ}) / max(|u|, 0.05 pu). Harmonics, the
 * d.c. link and the current loop are left out. Angles are kept against the frame of the part.
 */
export class FollowingCore {
  readonly settings: FollowingSettings;
  readonly #L1: number;
  readonly #L2: number;
  readonly #kp: number;
  readonly #ki: number;
  #angle_rad = 0;
  #integral_rad_per_s = 0;
  readonly #frequency: Lag;
  readonly #voltage: Lag;
  /** Power that it means to give, W; negative: takes. */
  power_W = 0;
  /** Share of the amplitude that is let through: 0 when it has ceased. */
  gate = 0;
  /** Output contact: the filter stays on the bus while it is closed. */
  connected = false;
  /** Cut off from its bus ahead of its own taps: it measures nothing. */
  isolated = false;
  amplitudeMethod: AmplitudeMethod = () => 1;
  activeMethod: ActiveMethod = () => 0;
  /** Deliberate error of the current's angle, rad: for checks of the island frequency. */
  bias_rad = 0;
  #ceilingScale = 1;
  #ceilingPasses = 0;

  constructor(settings: FollowingSettings, nodeL1: number, nodeL2: number) {
    this.settings = settings;
    this.#L1 = nodeL1;
    this.#L2 = nodeL2;
    const wn = TWO_PI * settings.loop_Hz;
    this.#kp = 2 * settings.loopDamping * wn;
    this.#ki = wn * wn;
    this.#frequency = new Lag(NOMINAL_HZ, settings.frequencyLag_s, NOMINAL_HZ);
    this.#voltage = new Lag(LINE_V, settings.voltageLag_s, LINE_V);
  }

  /** Frequency as the unit measures it, Hz. */
  get f_Hz(): number {
    return this.#frequency.value;
  }

  /** Voltage as the unit's power loop sees it, V rms line to line. */
  get voltage_V(): number {
    return this.#voltage.value;
  }

  get angle_rad(): number {
    return this.#angle_rad;
  }

  /** Amplitude just now, A rms, signed as `power_W`, before the ceiling. */
  amplitude_A(): number {
    if (!this.connected || this.gate === 0) return 0;
    const rated_A = this.settings.rated_W / LINE_V;
    const base_A = this.power_W / Math.max(this.#voltage.value, FLOOR_V);
    const wanted_A = base_A * this.amplitudeMethod(this.#voltage.value);
    const limit_A = this.settings.currentLimit * rated_A;
    return this.gate * Math.max(-limit_A, Math.min(limit_A, wanted_A));
  }

  /** Sets loop and filters to a steady voltage, so that a run can start settled. */
  settle(angle_rad: number, voltage_V: number, w_rad_per_s: number): void {
    this.#angle_rad = angle_rad;
    this.#integral_rad_per_s = w_rad_per_s - NOMINAL_rad_per_s;
    this.#frequency.value = w_rad_per_s / TWO_PI;
    this.#voltage.value = voltage_V;
  }

  begin(): void {
    this.#ceilingScale = 1;
    this.#ceilingPasses = 0;
  }

  drives(): boolean {
    return this.amplitude_A() > 0;
  }

  stamp(net: PhasorNet): void {
    if (!this.connected) return;
    net.shunt(this.#L1, this.#L2, this.#bleeder_S, NOMINAL_rad_per_s * this.settings.filter_F, 0);
    const amplitude_A = this.amplitude_A() * this.#ceilingScale;
    if (amplitude_A === 0) return;
    const angle_rad = this.#currentAngle();
    net.inject(this.#L1, this.#L2, amplitude_A * cos(angle_rad), amplitude_A * sin(angle_rad));
  }

  /** Ceiling of the d.c. link: while |u| is above it the amplitude is cut by the ratio. */
  limit(net: PhasorNet): boolean {
    if (!this.connected || this.amplitude_A() <= 0 || this.#ceilingPasses >= CEILING_PASSES_max) return false;
    const ceiling_V = this.settings.ceiling * LINE_V;
    const size_V = this.#size(net);
    if (size_V <= ceiling_V * (1 + 1e-9)) return false;
    this.#ceilingScale *= ceiling_V / size_V;
    this.#ceilingPasses += 1;
    return true;
  }

  /** It belongs to the filter; a source that runs makes up for it, since its power is that at its terminals. */
  get #bleeder_S(): number {
    return this.settings.filter_F > 0 && this.amplitude_A() === 0 ? 1 / BLEEDER_ohm : 0;
  }

  /** Current into the site under the present solution, filter included, A; power by it, W and var. */
  output(net: PhasorNet): { p_W: number; q_var: number; i_A: number } {
    if (!this.connected) return { p_W: 0, q_var: 0, i_A: 0 };
    const amplitude_A = this.amplitude_A() * this.#ceilingScale;
    const uRe = net.re(this.#L1) - net.re(this.#L2);
    const uIm = net.im(this.#L1) - net.im(this.#L2);
    const angle_rad = this.#currentAngle();
    const jRe = amplitude_A * cos(angle_rad);
    const jIm = amplitude_A * sin(angle_rad);
    const filter_S = net.w * this.settings.filter_F;
    const iRe = jRe + filter_S * uIm - this.#bleeder_S * uRe;
    const iIm = jIm - filter_S * uRe - this.#bleeder_S * uIm;
    return {
      p_W: uRe * iRe + uIm * iIm,
      q_var: uIm * iRe - uRe * iIm,
      i_A: Math.abs(amplitude_A),
    };
  }

  follow(net: PhasorNet): void {
    const amplitude_A = this.amplitude_A();
    if (amplitude_A <= 0) return;
    net.pull(amplitude_A, NOMINAL_rad_per_s + this.#kp * this.#error(net) + this.#integral_rad_per_s);
  }

  rebase(by_rad: number): void {
    this.#angle_rad = wrapAngle(this.#angle_rad + by_rad);
  }

  /** Voltage across its legs as it measures it, V rms, under the present solution. */
  measured_V(net: PhasorNet): number {
    return this.isolated ? 0 : this.#size(net);
  }

  /** Every bit of memory, for state digests. */
  digest(): readonly number[] {
    return [this.#angle_rad, this.#integral_rad_per_s, this.#frequency.value, this.#voltage.value];
  }

  /** Loop, then frequency, then voltage, by h. `noise_Hz` disturbs the measured frequency. True when any bit changed. */
  advance(net: PhasorNet, h_s: number, noise_Hz: number): boolean {
    const size_V = this.measured_V(net);
    let moved = this.#voltage.step(size_V, h_s);
    if (size_V < 1e-6 * LINE_V) return moved; // Nothing to lock to: the loop waits where it is.
    const error = this.#error(net);
    const steady = Math.abs(NOMINAL_rad_per_s + this.#integral_rad_per_s - net.w) * HALF_CYCLE_s < ARRIVED;
    if (!(Math.abs(error) * this.#kp * HALF_CYCLE_s < ARRIVED && steady)) {
      const integral = this.#integral_rad_per_s + h_s * this.#ki * error;
      this.#integral_rad_per_s = Math.max(-INTEGRAL_max_rad_per_s, Math.min(INTEGRAL_max_rad_per_s, integral));
      const slip_rad_per_s = NOMINAL_rad_per_s + this.#kp * error + this.#integral_rad_per_s - net.w;
      this.#angle_rad = wrapAngle(this.#angle_rad + h_s * slip_rad_per_s);
      moved = true;
    }
    const measured_Hz = (NOMINAL_rad_per_s + this.#kp * error + this.#integral_rad_per_s) / TWO_PI;
    const arrived = Math.abs(measured_Hz - this.#frequency.value) < ARRIVED * NOMINAL_HZ && noise_Hz === 0;
    if (!arrived && this.#frequency.step(measured_Hz + noise_Hz, h_s)) moved = true;
    return moved;
  }

  /** Angle of the current: the loop's, the method's lead within ±0.5 rad, and the deliberate error. */
  #currentAngle(): number {
    const lead_rad = this.activeMethod(this.#frequency.value);
    return this.#angle_rad + Math.max(-LEAD_max_rad, Math.min(LEAD_max_rad, lead_rad)) + this.bias_rad;
  }

  #error(net: PhasorNet): number {
    const uRe = net.re(this.#L1) - net.re(this.#L2);
    const uIm = net.im(this.#L1) - net.im(this.#L2);
    const across = uIm * cos(this.#angle_rad) - uRe * sin(this.#angle_rad);
    return across / Math.max(Math.sqrt(uRe * uRe + uIm * uIm), LOOP_FLOOR_V);
  }

  #size(net: PhasorNet): number {
    const uRe = net.re(this.#L1) - net.re(this.#L2);
    const uIm = net.im(this.#L1) - net.im(this.#L2);
    return Math.sqrt(uRe * uRe + uIm * uIm);
  }
}
