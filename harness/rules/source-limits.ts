import { type Beside, BreakerHeat, besides } from './breaker-heat.ts';
import { BusbarSum } from './busbar-sum.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { SourceCurrent } from './source-current.ts';
import { Steps } from './steps.ts';
import { VehicleWork } from './vehicle-work.ts';

/** Nothing carries more than it was built for because a source runs. */
export const sourceLimits = rule({
  id: 'source-limits',
  about:
    'A source that runs or charges stays within the smallest rating in its way, trips no breaker, overfeeds no busbar.',
  limit: 'own.source.current',
  needs: 'phasor',
  scale: 'each limit: the order, the smallest rating, the trip of a breaker, 1.20 of the busbar; a trip counts 1',
  preside: (desk) => new SourceLimits(desk),
});

class SourceLimits implements Judge {
  readonly #desk: Desk;
  readonly #sources: readonly Beside[];
  readonly #steps: Steps;
  readonly #currents: readonly SourceCurrent[];
  readonly #heat: BreakerHeat;
  readonly #busbar: BusbarSum;

  constructor(desk: Desk) {
    const vehicles = desk.facts.forming.map((source) => new VehicleWork(desk.channels, source));
    this.#desk = desk;
    this.#sources = besides(desk, vehicles);
    this.#steps = new Steps(desk);
    this.#currents = vehicles.map((vehicle) => new SourceCurrent(desk, vehicle, this.#steps));
    this.#heat = new BreakerHeat(desk, this.#sources, this.#steps);
    this.#busbar = new BusbarSum(desk);
  }

  frame(moment: Moment): void {
    const { now, before } = moment;
    for (const source of this.#sources) {
      const wasActive = before !== undefined && source.isActive(before);
      if (source.isActive(now) && !wasActive) this.#desk.book.arm();
    }
    this.#heat.frame(moment);
    const isStep = this.#steps.frame(moment);
    for (const current of this.#currents) current.frame(moment, isStep);
    this.#busbar.frame(moment);
  }

  end(at_us: number): void {
    for (const current of this.#currents) current.end(at_us);
    this.#heat.end();
    this.#busbar.end(at_us);
  }
}
