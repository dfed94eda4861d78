import { assert } from '../check.ts';
import { exp, TWO_PI, wrapAngle } from '../maths.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import type { Lead, PhasorDevice } from './device.ts';
import { Frame, NOMINAL_rad_per_s } from './frame.ts';
import type { Owner } from './handover.ts';
import { PhasorPart } from './phasor-part.ts';
import { partsOf, type Wiring } from './wiring.ts';

/** A solution is looked for again while a device changes what it stamps; one device needs two or three passes. */
const PASSES_max = 24;
/** The search for an unformed part's frequency starts with this interval and never leaves these ends. */
const ROOT_STEP_rad_per_s = TWO_PI * 0.25;
const ROOT_LOW_rad_per_s = TWO_PI * 20;
const ROOT_HIGH_rad_per_s = TWO_PI * 200;
/** Below this share of nominal a decaying voltage is zero. */
const GONE_V = 1e-9 * LINE_V;
/** A decaying part is looked at this often in one time constant, and at most twice a cycle. */
const LOOKS_PER_TAU = 8;
const HALF_CYCLE_s = 1 / 120;

/** What stays in a part that nothing drives: the last voltages, falling with one time constant from an anchor. */
interface Decay {
  readonly from_us: number;
  readonly tau_s: number;
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * The phasor level of the whole site: cuts it into parts, finds each part's frequency, solves each as a linear network.
 *
 * A part with the utility has its frequency; else that of the forming source; else, unformed, the one root of
 * G(ω) = Σ Aₖ ωₖ(ω) / Σ Aₖ - ω over its followers; a part that nothing drives decays with its stored energy.
 */
export class PhasorLevel {
  readonly wiring: Wiring;
  readonly #devices: readonly PhasorDevice[];
  /** Whose the devices are: only a hand-over names them. */
  readonly owners: readonly Owner[];
  readonly #known = new Map<string, PhasorPart[]>();
  #key = '';
  #parts: PhasorPart[] = [];
  readonly #decays = new Map<PhasorPart, Decay>();
  /** Voltages against earth by node, V, each in the frame of its part. */
  readonly vRe: Float64Array;
  readonly vIm: Float64Array;
  /** Instant at which the plant last moved, or was asked to show itself just before a change. */
  shownAt_us = 0;
  #partByBus: PhasorPart[] = [];
  #leadByPart = new Map<PhasorPart, PhasorDevice | undefined>();

  constructor(wiring: Wiring, devices: readonly PhasorDevice[], owners: readonly Owner[] = []) {
    this.wiring = wiring;
    this.#devices = devices;
    this.owners = owners;
    this.vRe = new Float64Array(wiring.nodeCount);
    this.vIm = new Float64Array(wiring.nodeCount);
  }

  get parts(): readonly PhasorPart[] {
    return this.#parts;
  }

  get solves(): number {
    let sum = 0;
    for (const parts of this.#known.values()) for (const part of parts) sum += part.solves;
    return sum;
  }

  partAt(bus: number): PhasorPart {
    const part = this.#partByBus[bus];
    assert(part !== undefined, `bus ${bus} stands in no part yet`);
    return part;
  }

  /** Cuts the site anew after a pole has moved or a source has started or ended to lead; angles keep their absolute value. */
  cut(now_us: number): void {
    const groups = partsOf(this.wiring);
    const key = groups.join(',');
    const before = this.#partByBus;
    const framesBefore = before.map((part) => part.frame);
    if (key !== this.#key) {
      this.#key = key;
      this.#decays.clear(); // Cut or joined: what decays goes on from its present voltages.
      let parts = this.#known.get(key);
      if (parts === undefined) {
        parts = this.#makeParts(groups);
        this.#known.set(key, parts);
      }
      this.#parts = parts;
      this.#partByBus = [];
      for (const part of parts) for (const bus of part.buses) this.#partByBus[bus.index] = part;
    }
    for (const part of this.#parts) this.#chooseFrame(part, framesBefore, before, now_us);
    this.#rebase(framesBefore, now_us);
  }

  #makeParts(groups: Int32Array): PhasorPart[] {
    return [...new Set(groups)].map((root) => {
      const buses = this.wiring.buses.filter((bus) => groups[bus.index] === root);
      const members = new Set(buses.map((bus) => bus.index));
      return new PhasorPart(
        this.wiring,
        buses,
        this.#devices.filter((device) => members.has(device.bus)),
      );
    });
  }

  #chooseFrame(part: PhasorPart, framesBefore: Frame[], before: PhasorPart[], now_us: number): void {
    let lead: Lead | undefined;
    let leader: PhasorDevice | undefined;
    for (const device of part.devices) {
      const offer = device.lead?.();
      if (offer === undefined) continue;
      const wins =
        lead === undefined ||
        (offer.kind === 'utility' && lead.kind !== 'utility') ||
        (offer.kind === lead.kind && offer.rating > lead.rating);
      if (wins) {
        lead = offer;
        leader = device;
      }
    }
    this.#leadByPart.set(part, leader);
    if (lead !== undefined) {
      part.kind = lead.kind === 'utility' ? 'utility' : 'formed';
      part.frame = lead.frame;
      return;
    }
    const wasLed = part.kind === 'utility' || part.kind === 'formed';
    const driven = part.devices.some((device) => device.drives?.() === true);
    part.kind = driven ? 'unformed' : this.#decays.has(part) ? 'decaying' : 'dead';
    const unchanged = part.buses.every((bus) => before[bus.index] === part);
    if (unchanged && !wasLed) return;
    // Born: it goes on at the angle and frequency of the part that most of its drivers come from, else of its first bus.
    const origin = part.devices.find((device) => device.drives?.() === true)?.bus ?? part.buses[0]!.index;
    const old = framesBefore[origin];
    part.frame = old === undefined ? new Frame(0, now_us, 60) : new Frame(old.angleAt(now_us), now_us, old.f_Hz);
  }

  #rebase(framesBefore: readonly Frame[], now_us: number): void {
    for (const device of this.#devices) {
      const old = framesBefore[device.bus];
      const frame = this.partAt(device.bus).frame;
      if (old === undefined || old === frame || device.rebase === undefined) continue;
      const by = wrapAngle(old.angleAt(now_us) - frame.angleAt(now_us));
      if (by !== 0) device.rebase(by);
    }
  }

  /** Moves every explicit memory by h under the solution found last. True when any bit of it changed. */
  advance(h_s: number, now_us: number): boolean {
    let moved = false;
    for (const part of this.#parts) {
      part.now_us = now_us;
      for (const device of part.devices) if (device.advance?.(part, h_s) === true) moved = true;
    }
    return moved;
  }

  /** Solves every part at `now_us`; `h_s` is the length of the step that ends here, 0 at a fresh happening. */
  solve(h_s: number, now_us: number): void {
    for (const part of this.#parts) {
      part.h_s = h_s;
      part.now_us = now_us;
      for (const device of part.devices) device.begin?.();
      this.#solvePart(part, now_us);
      part.copyTo(this.vRe, this.vIm);
    }
  }

  /** Lets memory that is implicit, windows and protections see the solution. True while any of them moves by itself. */
  accept(h_s: number): boolean {
    let moving = false;
    for (const part of this.#parts) {
      for (const device of part.devices) if (device.accept?.(part, h_s) === true) moving = true;
    }
    return moving;
  }

  /** Whether a part without a former is driven: it never rests, since its measured frequency is noisy. */
  get hasUnformed(): boolean {
    return this.#parts.some((part) => part.kind === 'unformed');
  }

  /** Step at which decaying parts want to be looked at, s: half a cycle, longer for slow ones. Undefined: none decays. */
  get decayStep_s(): number | undefined {
    let step_s: number | undefined;
    for (const part of this.#parts) {
      const decay = this.#decays.get(part);
      if (part.kind !== 'decaying' || decay === undefined) continue;
      step_s = Math.min(step_s ?? Number.POSITIVE_INFINITY, Math.max(HALF_CYCLE_s, decay.tau_s / LOOKS_PER_TAU));
    }
    return step_s;
  }

  /** Whether a source makes the voltage of a part; its frame is then that source's own. */
  isLed(part: PhasorPart): boolean {
    return this.#leadByPart.get(part) !== undefined;
  }

  /** Voltage of a node against earth at an instant since the last solution, V: it stands in its part's frame, or falls. */
  voltageAt(part: PhasorPart, node: number, at_us: number): readonly [re: number, im: number] {
    const decay = part.kind === 'decaying' ? this.#decays.get(part) : undefined;
    if (decay === undefined) return [this.vRe[node]!, this.vIm[node]!];
    const scale = fallen(decay, at_us);
    return [decay.re[node]! * scale, decay.im[node]! * scale];
  }

  /** The voltages of a part have been written from outside: if it decays, it does so from these. */
  forgetDecay(part: PhasorPart): void {
    this.#decays.delete(part);
  }

  #solvePart(part: PhasorPart, now_us: number): void {
    const led = this.#leadByPart.get(part) !== undefined;
    const driven = part.devices.some((device) => device.drives?.() === true);
    if (!led && !driven) {
      this.#decay(part, now_us);
      return;
    }
    this.#decays.delete(part);
    if (led) {
      part.w = part.frame.w_rad_per_s;
    } else {
      part.kind = 'unformed';
      part.w = clamp(part.frame.w_rad_per_s, ROOT_LOW_rad_per_s, ROOT_HIGH_rad_per_s);
      this.#findFrequency(part);
      part.frame.setFrequency(part.w, now_us);
    }
    for (let pass = 0; pass < PASSES_max; pass += 1) {
      part.solve();
      let again = false;
      for (const device of part.devices) if (device.limit?.(part) === true) again = true;
      if (!again) return;
    }
    part.solve();
  }

  #findFrequency(part: PhasorPart): void {
    const errorAt = (w: number): number => {
      part.w = w;
      part.solve();
      return part.pullError();
    };
    const start = part.w;
    let low = start;
    let errorLow = errorAt(start);
    if (Number.isNaN(errorLow) || errorLow === 0) return;
    const direction = errorLow > 0 ? 1 : -1;
    let high = low;
    let errorHigh = errorLow;
    for (let width = ROOT_STEP_rad_per_s; ; width *= 2) {
      high = clamp(start + direction * width, ROOT_LOW_rad_per_s, ROOT_HIGH_rad_per_s);
      errorHigh = errorAt(high);
      if (errorHigh * direction <= 0) break;
      low = high;
      errorLow = errorHigh;
      if (high === ROOT_LOW_rad_per_s || high === ROOT_HIGH_rad_per_s) return; // It asks for less or more: the end it is.
    }
    // Regula falsi with the Illinois halving: bracketed like bisection, at a fifth of its solutions.
    let side = 0;
    for (let round = 0; round < 80 && errorHigh !== 0; round += 1) {
      if (Math.abs(high - low) < 1e-9) break;
      let next = (errorLow * high - errorHigh * low) / (errorLow - errorHigh);
      if (!(next > Math.min(low, high) && next < Math.max(low, high))) next = (low + high) / 2;
      const error = errorAt(next);
      if (Math.abs(error) < 1e-10) return;
      if (error * errorHigh > 0) {
        high = next;
        errorHigh = error;
        if (side === -1) errorLow /= 2;
        side = -1;
      } else {
        low = next;
        errorLow = error;
        if (side === 1) errorHigh /= 2;
        side = 1;
      }
    }
    errorAt(Math.abs(errorLow) < Math.abs(errorHigh) ? low : high);
  }

  #decay(part: PhasorPart, now_us: number): void {
    const known = this.#decays.get(part);
    let largest = 0;
    for (const bus of part.buses) {
      for (const node of [bus.L1, bus.L2]) {
        const re = this.vRe[node]! - this.vRe[bus.N]!;
        const im = this.vIm[node]! - this.vIm[bus.N]!;
        largest = Math.max(largest, re * re + im * im);
      }
    }
    if (largest <= GONE_V * GONE_V) {
      this.#decays.delete(part);
      part.kind = 'dead';
      part.clear();
      return;
    }
    part.w = NOMINAL_rad_per_s;
    const tau_s = part.largestTimeConstant_s();
    let decay = known;
    if (decay === undefined || decay.tau_s !== tau_s) {
      decay = { from_us: now_us, tau_s, re: this.vRe.slice(), im: this.vIm.slice() };
    }
    const scale = fallen(decay, now_us);
    if (scale * scale * largestOf(part, decay) <= GONE_V * GONE_V) {
      this.#decays.delete(part);
      part.kind = 'dead';
      part.clear();
      return;
    }
    this.#decays.set(part, decay);
    part.kind = 'decaying';
    part.impose(decay.re, decay.im, scale);
  }
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

/** What is left of a decaying voltage, over what it was at its anchor. */
function fallen({ from_us, tau_s }: Decay, at_us: number): number {
  return tau_s > 0 ? exp(-(at_us - from_us) / US_PER_S / tau_s) : 0;
}

function largestOf(part: PhasorPart, decay: Decay): number {
  let largest = 0;
  for (const bus of part.buses) {
    for (const node of [bus.L1, bus.L2]) {
      const re = decay.re[node]! - decay.re[bus.N]!;
      const im = decay.im[node]! - decay.im[bus.N]!;
      largest = Math.max(largest, re * re + im * im);
    }
  }
  return largest;
}
