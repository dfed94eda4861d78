import { type LimitKey, limit } from '../limits/index.ts';
import { type Book, clearingResolution, timeFinding, yesOrNo } from './book.ts';
import { CeaseWatch } from './ceasing.ts';
import { isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { isLate, toUs } from './intervals.ts';
import { type Birth, Births } from './islands.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { clearingOf } from './settings.ts';

/** An island that nobody forms is left by every running inverter in time, and by none entered again. */
export const ceaseOnIsland = rule({
  id: 'cease-on-island',
  about:
    'Every following source in an island without utility and forming source ceases in time and does not start again.',
  limit: 'ieee-1547-2018.island.clear',
  needs: 'phasor',
  scale: 'the time to leave (2.0 s); a later start counts 1',
  preside: (desk) => new CeaseOnIsland(desk),
});

/** One following source: the birth it is judged from while it runs, and when it ceased. */
interface Runner {
  readonly source: SourceFacts;
  readonly ceasing: CeaseWatch;
  readonly energises: number;
  readonly forms: number | undefined;
  readonly permit: number | undefined;
  readonly part: number;
  /** Set while it runs in an island. */
  from: Birth | undefined;
  /** It came back after the island was left: from then on it is timed anew, the start itself has been counted. */
  restart_us: number | undefined;
  /** It ran in the island that still stands and ceased at this instant. */
  ceased_us: number | undefined;
  ordered: boolean;
}

class CeaseOnIsland implements Judge {
  readonly #desk: Desk;
  readonly #book: Book;
  readonly #births: Births;
  readonly #runners: readonly Runner[];
  readonly #enterService_us = toUs(limit('ieee-1547-2018.enter-service.delay').values.time_s);

  constructor(desk: Desk) {
    const { facts, channels, book, happenings } = desk;
    this.#desk = desk;
    this.#book = book;
    this.#births = new Births(facts, channels, happenings);
    this.#runners = facts.following.map((source) => ({
      source,
      ceasing: new CeaseWatch(channels, source),
      energises: channels.index(`${source.id}.energises`),
      forms: source.kind === 'vehicle' ? channels.index(`${source.id}.forms`) : undefined,
      permit: source.kind === 'pv' ? channels.index(`${source.id}.permit`) : undefined,
      part: channels.index(`${source.at}.part`),
      from: undefined,
      restart_us: undefined,
      ceased_us: undefined,
      ordered: false,
    }));
  }

  frame(moment: Moment): void {
    const { at_us, now, before } = moment;
    for (const runner of this.#runners) this.#settle(runner, at_us);
    this.#births.frame(moment);
    for (const runner of this.#runners) {
      const birth = this.#births.birthAt(runner.source.at);
      if (birth === undefined) this.#islandEnds(runner, at_us);
      else if (runner.from !== undefined) runner.from = timedFrom(birth, runner.restart_us);
      else if (runs(runner, now)) this.#runsIn(runner, birth, at_us, now, before);
    }
    for (const runner of this.#runners) {
      runner.ceasing.take(at_us, now);
      if (runner.permit !== undefined) runner.ordered = !isOn(now, runner.permit);
    }
  }

  end(at_us: number): void {
    for (const runner of this.#runners) {
      this.#settle(runner, at_us);
      if (runner.from === undefined) continue;
      const { limit_us } = this.#limitOf(runner.from);
      if (isLate(at_us - runner.from.at_us, limit_us)) this.#close(runner, at_us, false);
      else this.#book.owe();
    }
  }

  /** It runs in an island: since the birth, or it has started since. */
  #runsIn(runner: Runner, birth: Birth, at_us: number, now: Float64Array, before: Float64Array | undefined): void {
    const again = this.#startsAfterAllCeased(runner, at_us, now);
    if (again) {
      if (before !== undefined && runs(runner, before)) return;
      this.#book.arm();
      const against = originOf(this.#desk.happenings.latest([runner.source.id], ['starts']));
      const about = `${runner.source.id} starts again in an island that it had left`;
      this.#book.add(yesOrNo(at_us, false, 'ieee-1547-2018.inadvertent', against, about));
      runner.ceased_us = undefined;
    }
    this.#book.arm();
    runner.restart_us = again ? at_us : undefined;
    runner.from = timedFrom(birth, runner.restart_us);
  }

  #startsAfterAllCeased(runner: Runner, at_us: number, now: Float64Array): boolean {
    const there = this.#runners.filter((other) => now[other.part]! === now[runner.part]!);
    const took = there.filter((other) => other.from !== undefined || other.ceased_us !== undefined);
    if (took.length === 0 || took.some((other) => other.from !== undefined)) return false;
    return took.some((other) => at_us - other.ceased_us! < this.#enterService_us);
  }

  #settle(runner: Runner, at_us: number): void {
    const ceased_us = runner.ceasing.ceasedAt(at_us);
    if (runner.from === undefined || ceased_us === undefined) return;
    const until_us = Math.max(ceased_us, runner.from.at_us);
    this.#close(runner, until_us, true);
    runner.ceased_us = until_us;
  }

  #islandEnds(runner: Runner, at_us: number): void {
    if (runner.from !== undefined) this.#close(runner, at_us, false);
    runner.ceased_us = undefined;
  }

  #close(runner: Runner, at_us: number, byCeasing: boolean): void {
    const birth = runner.from!;
    const { limit_us, key } = this.#limitOf(birth);
    const found_us = at_us - birth.at_us;
    const against = originOf(birth.cause);
    const about = `${runner.source.id} in an island that nobody forms`;
    const resolution = clearingResolution(found_us, limit_us, runner.ordered, at_us);
    this.#book.add(timeFinding({ at_us, found_us, limit_us, key, against, about, ...(byCeasing && { resolution }) }));
    runner.from = undefined;
  }

  /** A house alone behind an open main is no matter of the clause: the same time, by practice. */
  #limitOf(birth: Birth): { readonly limit_us: number; readonly key: LimitKey } {
    if (birth.holdsService) return clearingOf(this.#desk.facts);
    return { limit_us: toUs(limit('practice.house-island').values.time_s), key: 'practice.house-island' };
  }
}

const timedFrom = (birth: Birth, restart_us: number | undefined): Birth =>
  restart_us === undefined ? birth : { ...birth, at_us: restart_us };

/** A vehicle that forms makes the reference; it is no following source then. */
function runs(runner: Runner, values: Float64Array): boolean {
  return isOn(values, runner.energises) && !(runner.forms !== undefined && isOn(values, runner.forms));
}
