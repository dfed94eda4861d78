import { atMost } from './book.ts';
import { originOf } from './happenings.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { VehicleWork } from './vehicle-work.ts';

/** Bits of `gateway.in.commissioning`: supply circuit, firmware, breaker size, grid profile, papers. */
const RECORDS = [1, 2, 4, 8, 16] as const;

/** Nobody forms or charges with a vehicle that has not been commissioned. */
export const readyGate = rule({
  id: 'ready-gate',
  about: 'A vehicle forms or charges only once every record that the site demands of it is there.',
  limit: 'practice.ready-gate',
  needs: 'phasor',
  scale: 'each missing record counts 1',
  preside: (desk) => new ReadyGate(desk),
});

class ReadyGate implements Judge {
  readonly #desk: Desk;
  readonly #vehicles: readonly VehicleWork[];
  readonly #records: number;
  readonly #isSiteDone: boolean;

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#vehicles = facts.forming.map((source) => new VehicleWork(channels, source));
    this.#records = channels.index('gateway.in.commissioning');
    this.#isSiteDone = facts.site.settings.commissioned !== false;
  }

  frame({ at_us, now, before }: Moment): void {
    if (before === undefined) return;
    for (const vehicle of this.#vehicles) {
      const forms = vehicle.forms(now) && !vehicle.forms(before);
      if (forms || (vehicle.charges(now) && !vehicle.charges(before))) this.#judge(vehicle, forms, at_us, now);
    }
  }

  end(): void {}

  /** No missing record is the best that can be: a margin of 1. */
  #judge({ source }: VehicleWork, forms: boolean, at_us: number, now: Float64Array): void {
    const { book, happenings } = this.#desk;
    const present = now[this.#records]!;
    const missing = RECORDS.filter((bit) => (present & bit) === 0).length + (this.#isSiteDone ? 0 : 1);
    const value = missing === 0 ? 1 : atMost(missing, 0, 1);
    const about = `records missing as ${source.id} ${forms ? 'forms' : 'charges'}`;
    const against = originOf(happenings.latest([source.id], [forms ? 'forms' : 'starts charging']));
    book.arm();
    book.add({
      margin: { value, at_us, found: missing, limit: 0, scale: 1, unit: 'count', about },
      limit: 'practice.ready-gate',
      against,
    });
  }
}
