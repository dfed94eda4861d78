import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { FollowingBackfeed } from './no-backfeed-following.ts';
import { FormingBackfeed } from './no-backfeed-forming.ts';
import { type Absence, Presence } from './presence.ts';

/** The street that has lost a leg is fed by nothing in the house: running inverters leave it in time, a forming source never meets it. */
export const noBackfeed = rule({
  id: 'no-backfeed',
  about:
    'A service that has lost the utility on any leg is left by running inverters in time and never energised anew.',
  limit: 'ieee-1547-2018.island.clear',
  needs: 'phasor',
  scale:
    'the time to leave (2.0 s) for following sources; 50 ms of separation and 0.02 pu for forming ones; one event counts 1',
  preside: (desk) => new NoBackfeed(desk),
});

class NoBackfeed implements Judge {
  readonly #present: Presence;
  readonly #parts: readonly (FollowingBackfeed | FormingBackfeed)[];

  constructor(desk: Desk) {
    this.#present = new Presence(desk.channels, desk.facts.serviceBus);
    this.#parts = [
      ...desk.facts.following.map((source) => new FollowingBackfeed(desk, source)),
      ...desk.facts.forming.map((source) => new FormingBackfeed(desk, source)),
    ];
  }

  frame(moment: Moment): void {
    const absent: Absence = this.#present.absence(moment.now);
    const wasAbsent = this.#present.absenceBefore(moment.before);
    for (const part of this.#parts) part.frame(moment, absent, wasAbsent.any);
  }

  end(at_us: number): void {
    for (const part of this.#parts) part.end(at_us);
  }
}
