import { LINE_V } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { atLeast, type Finding, HALF_CYCLE_US, WAVE_CROSSING_US, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { type EnterSettings, enterSettings } from './enter-settings.ts';
import type { SourceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { Since } from './intervals.ts';
import { settledPv, timeAccuracy_us } from './inverter-settings.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { RampWatch } from './ramp.ts';

/** An inverter that has been out of service comes back only onto a sound voltage that has stood long enough, slowly, and with its permit. */
export const enterService = rule({
  id: 'enter-service',
  about:
    'A following source that was out of service begins to run only after voltage and frequency have stood in their window long enough, with its permit, and along its ramp.',
  limit: 'ieee-1547-2018.enter-service.delay',
  needs: 'phasor',
  scale: 'the default delay (300 s), the ramp (300 s); a start without permit counts 1',
  preside: (desk) => {
    const starters = settledPv(desk.facts.following).map((source) => new EnterService(desk, source));
    return {
      frame: (moment) => {
        for (const starter of starters) starter.frame(moment);
      },
      end: (at_us) => {
        for (const starter of starters) starter.end(at_us);
      },
    };
  },
});

class EnterService implements Judge {
  readonly #desk: Desk;
  readonly #source: SourceFacts;
  readonly #settings: EnterSettings;
  readonly #inside = new Since();
  readonly #bus: Readonly<Record<'u12' | 'f' | 'forming', number>>;
  readonly #own: Readonly<Record<'p' | 'energises' | 'tripped', number>>;
  readonly #permit: number;
  #ramp: RampWatch | undefined;
  /** In service again since then, and how long the window had stood by then; set until it energises. */
  #entered: { readonly at_us: number; readonly age_us: number } | undefined;

  constructor(desk: Desk, source: SourceFacts) {
    this.#desk = desk;
    this.#source = source;
    this.#settings = enterSettings(source);
    this.#bus = desk.channels.of(source.at, 'u12', 'f', 'forming');
    this.#own = desk.channels.of(source.id, 'p', 'energises', 'tripped');
    this.#permit = desk.channels.index(`${source.id}.permit`);
  }

  frame({ at_us, now, before }: Moment): void {
    const out = isOn(now, this.#own.tripped);
    if (out) {
      this.#entered = undefined;
      this.#endRamp(at_us);
    } else if (before !== undefined && isOn(before, this.#own.tripped)) {
      this.#entered = { at_us, age_us: this.#inside.heldAt(at_us) };
    }
    if (this.#entered !== undefined && isOn(now, this.#own.energises)) {
      this.#begins(at_us, now, this.#entered);
      this.#entered = undefined;
    }
    this.#ramp?.take(at_us, now[this.#own.p]!);
    this.#inside.update(at_us, this.#isInside(now));
  }

  end(at_us: number): void {
    if (this.#ramp === undefined) return;
    if (!this.#ramp.isOver(at_us) && !this.#ramp.isBroken) this.#desk.book.owe();
    this.#endRamp(at_us);
  }

  /** What comes between entering service and the first power, under a dark sky, is ridden through like anything else. */
  #begins(at_us: number, now: Float64Array, entered: { readonly at_us: number; readonly age_us: number }): void {
    const { book, happenings } = this.#desk;
    const { id } = this.#source;
    const against = originOf(happenings.latest([id], ['starts']));
    const where = isOn(now, this.#bus.forming) ? ' inside the Local EPS' : '';
    book.arm();
    book.add(this.#waited(at_us, Math.max(entered.age_us, this.#inside.heldAt(at_us)), against, where));
    const about = `${id} starts${where} with its permit`;
    book.add(yesOrNo(at_us, isOn(now, this.#permit), 'ieee-1547-2018.enter-service.permit', against, about));
    const { ramp_us } = this.#settings;
    if (ramp_us > 0) this.#ramp = new RampWatch(this.#source, entered.at_us, ramp_us, against, where);
  }

  #waited(at_us: number, found: number, against: Finding['against'], where: string): Finding {
    const { delay_us, delayKey } = this.#settings;
    const least = Math.max(0, delay_us - timeAccuracy_us(delay_us));
    const scale = Math.round(limit('ieee-1547-2018.enter-service.delay').values.time_s * 1_000_000);
    const about = `${this.#source.id} starts${where}, time since voltage or frequency last left their window`;
    const key: LimitKey = delayKey;
    const margin = {
      value: atLeast(found, least, scale),
      at_us,
      found,
      limit: least,
      scale,
      unit: 'µs',
      about,
    } as const;
    // Where the site asks for no delay there is no crossing that could be wrong.
    if (least === 0) return { margin, limit: key, against };
    const edges_us = [Math.max(0, at_us - found), at_us];
    const resolution = { phasor: HALF_CYCLE_US / scale, wave: WAVE_CROSSING_US / scale, edges_us };
    return { margin, limit: key, against, resolution };
  }

  #endRamp(at_us: number): void {
    if (this.#ramp !== undefined) this.#desk.book.add(this.#ramp.finding(at_us));
    this.#ramp = undefined;
  }

  #isInside(now: Float64Array): boolean {
    const { min_pu, max_pu, min_Hz, max_Hz } = this.#settings;
    const U = now[this.#bus.u12]! / LINE_V;
    const f_Hz = now[this.#bus.f]!;
    return U >= min_pu && U <= max_pu && f_Hz >= min_Hz && f_Hz <= max_Hz;
  }
}
