import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { toUs } from './intervals.ts';
import type { Desk } from './judge.ts';
import { reserveReturnOf } from './settings.ts';

/** States of a vehicle's chart in which it can be ordered to form, at once or after it has booted. */
const AWAKE = ['idle', 'closing', 'charging', 'discharging', 'testing', 'forming', 'easing', 'opening'];
const WAKING = ['asleep', 'booting'];
/** All bits of the commissioning record. */
const COMMISSIONED = 31;
/** `vehicle.soc` is shown in steps of 1 %: what is a step above the reserve is above it. */
const SOC_STEP = 0.01;

interface Vehicle {
  readonly source: SourceFacts;
  readonly part: number;
  readonly mode: number;
  readonly awake: readonly number[];
  readonly waking: readonly number[];
  readonly plugged: number;
  readonly soc: number;
  readonly reserve: number;
  readonly boot_us: number;
  /** It has run down to its reserve and has not recovered since. */
  isSpent: boolean;
}

/** How long a source that can be had may leave the house dark. */
export interface Offer {
  readonly source: SourceFacts;
  readonly limit_us: number;
  readonly key: 'own.outage.awake' | 'own.outage.asleep';
  /** It has to boot first. */
  readonly boot_us: number;
}

/**
 * Whether a source could feed a bus: plugged in, nothing wrong with it, charge above its reserve (and recovered, where it had run down to it), joined to the bus, records
 * complete.
 */
export class Backing {
  readonly #vehicles: readonly Vehicle[];
  readonly #bus: number;
  readonly #records: number;
  readonly #mayForm: boolean;
  readonly #recovery: number;

  constructor({ facts, channels }: Desk, bus: Id) {
    this.#bus = channels.index(`${bus}.part`);
    this.#records = channels.index('gateway.in.commissioning');
    this.#mayForm = facts.site.settings.commissioned !== false;
    this.#recovery = reserveReturnOf(facts);
    this.#vehicles = facts.forming
      .filter(({ params }) => params.forms !== false)
      .map((source) => ({
        source,
        part: channels.index(`${source.at}.part`),
        ...channels.of(source.id, 'mode', 'plugged', 'soc'),
        awake: channels.valuesOf(`${source.id}.mode`, AWAKE),
        waking: channels.valuesOf(`${source.id}.mode`, WAKING),
        reserve: typeof source.params.reserve === 'number' ? source.params.reserve : 0,
        boot_us: typeof source.params.bootTime === 'number' ? source.params.bootTime : 0,
        isSpent: false,
      }));
  }

  /** In every frame: what has run down is no source again at the first point of charge that it regains. */
  frame(now: Float64Array): void {
    for (const vehicle of this.#vehicles) {
      const above = now[vehicle.soc]! - vehicle.reserve;
      if (!isStepAbove(above, 0)) vehicle.isSpent = true;
      else if (isStepAbove(above, this.#recovery)) vehicle.isSpent = false;
    }
  }

  /** The one that could come first; undefined: none can. */
  offer(now: Float64Array): Offer | undefined {
    if (!this.#mayForm || (now[this.#records]! & COMMISSIONED) !== COMMISSIONED) return undefined;
    let best: Offer | undefined;
    for (const vehicle of this.#vehicles) {
      const offer = this.#offerOf(vehicle, now);
      if (offer !== undefined && (best === undefined || offer.limit_us < best.limit_us)) best = offer;
    }
    return best;
  }

  #offerOf(vehicle: Vehicle, now: Float64Array): Offer | undefined {
    const { source, part, mode, plugged, isSpent, boot_us, awake, waking } = vehicle;
    if (now[part] !== now[this.#bus] || !isOn(now, plugged) || isSpent) return undefined;
    const state = now[mode]!;
    if (awake.includes(state)) {
      return { source, limit_us: toUs(limit('own.outage.awake').values.time_s), key: 'own.outage.awake', boot_us: 0 };
    }
    if (!waking.includes(state)) return undefined;
    const limit_us = boot_us + toUs(limit('own.outage.asleep').values.time_s);
    return { source, limit_us, key: 'own.outage.asleep', boot_us };
  }
}

/** By a step of the charge, as it is shown; a billionth less is rounding. */
function isStepAbove(share: number, level: number): boolean {
  return share - level >= SOC_STEP - 1e-9;
}
