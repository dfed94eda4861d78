import type { Id } from '../site-description.ts';
import type { Kernel } from '../time/time.ts';
import { type SimUs, US_PER_S } from '../units.ts';

const S_PER_H = 3600;
/** Two states of charge that differ by less are the same level. */
const SAME = 1e-12;

export interface BatterySettings {
  readonly capacity_Wh: number;
  /** Share of the power that arrives, each way. */
  readonly efficiency: number;
  /** States of charge, 0 to 1, whose crossing somebody wants to know. */
  readonly levels: readonly number[];
}

/**
 * State of charge as a closed form of (anchor, time since): dE/dt = -P/η while it gives, -P η while it takes.
 *
 * The anchor moves only when the power changes by bits. Ageing, temperature and open-circuit losses are left out.
 */
export class Battery {
  readonly #kernel: Kernel;
  readonly #owner: Id;
  readonly #settings: BatterySettings;
  readonly #levels: readonly number[];
  readonly #crossed: (level: number) => void;
  #soc: number;
  #anchor_us = 0;
  #power_W = 0;
  #timer: number | undefined;
  #due_us = 0;

  /** @param crossed - told each level as it is reached, from a timer of its own */
  constructor(kernel: Kernel, owner: Id, soc: number, settings: BatterySettings, crossed: (level: number) => void) {
    this.#kernel = kernel;
    this.#owner = owner;
    this.#soc = soc;
    this.#settings = settings;
    this.#levels = [...new Set([0, 1, ...settings.levels])].sort((a, b) => a - b);
    this.#crossed = crossed;
  }

  /** 0 to 1. */
  socAt(now_us: number): number {
    const soc = this.#soc + (this.#rate_perS * (now_us - this.#anchor_us)) / US_PER_S;
    return Math.max(0, Math.min(1, soc));
  }

  /** Power into the site from now on, W; negative charges. */
  gives(power_W: number): void {
    if (power_W === this.#power_W) return;
    const now_us = this.#kernel.now_us;
    this.#soc = this.socAt(now_us);
    this.#anchor_us = now_us;
    this.#power_W = power_W;
    this.#arm();
  }

  set(soc: number): void {
    this.#soc = soc;
    this.#anchor_us = this.#kernel.now_us;
    this.#disarm();
    this.#arm();
  }

  get #rate_perS(): number {
    const { capacity_Wh, efficiency } = this.#settings;
    const inside_W = this.#power_W > 0 ? this.#power_W / efficiency : this.#power_W * efficiency;
    return -inside_W / (capacity_Wh * S_PER_H);
  }

  /** A timer that comes too early is left: it looks and is set again. So a moving power costs no timers. */
  #arm(): void {
    const rate = this.#rate_perS;
    const level = this.#next(rate);
    if (level === undefined) {
      this.#disarm();
      return;
    }
    const now_us = this.#kernel.now_us;
    const due_us = now_us + Math.ceil(((level - this.#soc) / rate) * US_PER_S);
    if (this.#timer !== undefined && this.#due_us <= due_us) return;
    this.#disarm();
    this.#due_us = due_us;
    this.#timer = this.#kernel.at(due_us as SimUs, 'protection', this.#owner, 'charge level', () => {
      this.#timer = undefined;
      this.#look();
    });
  }

  #disarm(): void {
    if (this.#timer !== undefined) this.#kernel.cancel(this.#timer);
    this.#timer = undefined;
  }

  #next(rate: number): number | undefined {
    if (rate > 0) return this.#levels.find((level) => level > this.#soc + SAME);
    if (rate < 0) return this.#levels.findLast((level) => level < this.#soc - SAME);
    return undefined;
  }

  #look(): void {
    const now_us = this.#kernel.now_us;
    const rate = this.#rate_perS;
    const level = this.#next(rate);
    const soc = this.socAt(now_us);
    this.#anchor_us = now_us;
    if (level === undefined || (rate > 0 ? soc < level - SAME : soc > level + SAME)) {
      this.#soc = soc;
      this.#arm();
      return;
    }
    this.#soc = level;
    this.#arm();
    this.#crossed(level);
  }

  state(now_us: number): number[] {
    return [this.socAt(now_us), this.#power_W];
  }
}

/**
 * Time in which a surplus lifts a d.c. link from one voltage to another: t = C (V2² - V1²) / (2 ΔP).
 *
 * @returns s; energy balance of a capacitor, losses left out
 */
export function linkRise_s(capacitance_F: number, from_V: number, to_V: number, surplus_W: number): number {
  return (capacitance_F * (to_V * to_V - from_V * from_V)) / (2 * surplus_W);
}
