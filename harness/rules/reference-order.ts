import { quantityText } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import type { Finding } from './book.ts';
import { atLeast, atMost } from './book.ts';
import { toUs } from './intervals.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { type Loss, ReferenceWatch } from './parting.ts';
import type { Note } from './rule.ts';

/** Permit off, wait until ceased, then open: a controller never leaves a running inverter without a voltage to follow. */
export const referenceOrder = rule({
  id: 'reference-order',
  about: 'The controller takes the last reference from a following source only after that source has gone quiet.',
  limit: 'ieee-1547-2018.ceased.active',
  needs: 'phasor',
  scale: '1 % of the rating of the source',
  preside: (desk) => new ReferenceOrder(desk),
});

class ReferenceOrder implements Judge {
  readonly #desk: Desk;
  readonly #watch: ReferenceWatch;

  constructor(desk: Desk) {
    this.#desk = desk;
    this.#watch = new ReferenceWatch(desk.facts, desk.channels, desk.happenings);
  }

  frame(moment: Moment): void {
    for (const loss of this.#watch.frame(moment)) {
      if (loss.cause?.origin !== 'controller') continue;
      this.#desk.book.arm();
      const finding = findingOf(loss, moment.at_us);
      this.#desk.book.add(finding);
      if (finding.limit !== 'ieee-1547-2018.ceased.active') this.#desk.book.note(excused(loss, moment.at_us));
    }
  }

  end(): void {}
}

/**
 * Power just before, against 1 % of rated. Two cases are reported and not held against anybody: the neutral is held and the
 * part takes all that the sources give (n_isl up to 1.0), or the permit has been off for 2.0 s in an outage and the source
 * would not cease.
 */
function findingOf(loss: Loss, at_us: number): Finding {
  const power = powerFinding(loss, at_us, 'controller');
  if (power.margin.value >= 0) return power;
  const { source, nIsl, neutralHeld, byOpening, inOutage, permitOff_us } = loss;
  const wait_us = toUs(limit('own.open-anyway').values.time_s);
  if (byOpening && inOutage && permitOff_us !== undefined && permitOff_us >= wait_us) {
    const about = `${source.id} would not cease in an outage; time since its permit went off`;
    const value = atLeast(permitOff_us, wait_us, wait_us);
    const margin = { value, at_us, found: permitOff_us, limit: wait_us, scale: wait_us, unit: 'µs' as const, about };
    return { margin, limit: 'own.open-anyway', against: 'controller' };
  }
  const most = limit('own.neutral-held-power').values.ratio_1;
  if (neutralHeld && nIsl <= most) {
    const about = `${source.id} left running in a part with held neutral that takes all it gives; n_isl`;
    const margin = {
      value: atMost(nIsl, most, most),
      at_us,
      found: nIsl,
      limit: most,
      scale: most,
      unit: '1' as const,
      about,
    };
    return { margin, limit: 'own.neutral-held-power', against: 'controller' };
  }
  return power;
}

/** Power was taken from under the source all the same: that is said, though it is held against nobody. */
function excused({ source, power_W, nIsl, neutralHeld }: Loss, at_us: number): Note {
  const held = neutralHeld ? 'neutral held' : 'neutral free';
  const text = `${source.id} loses its reference at ${quantityText(power_W, 'W')}, n_isl ${nIsl.toFixed(2)}, ${held}: reported only`;
  return { is: 'report', at_us, text, found: { power_W, nIsl_1: nIsl } };
}

/** Shared with manual-order: the same quantity, whoever takes the reference. */
export function powerFinding(loss: Loss, at_us: number, against: Finding['against']): Finding {
  const most_W = limit('ieee-1547-2018.ceased.active').values.power_pu * loss.source.rated_W;
  const held = loss.neutralHeld ? 'neutral held' : 'neutral free';
  const about = `power of ${loss.source.id} as its last reference goes; n_isl ${loss.nIsl.toFixed(2)}, ${held}`;
  const value = atMost(loss.power_W, most_W, most_W);
  const margin = { value, at_us, found: loss.power_W, limit: most_W, scale: most_W, unit: 'W' as const, about };
  return { margin, limit: 'ieee-1547-2018.ceased.active', against };
}
