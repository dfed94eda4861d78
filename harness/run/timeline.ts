import type { Run } from '../../sim/site.ts';
import type { Id } from '../../sim/site-description.ts';
import type { SimUs } from '../../sim/units.ts';
import type { Happening, Scenario, When } from '../scenario/model.ts';
import type { Listeners } from './listen.ts';
import { ConditionWatch } from './watch.ts';

const OWNER = 'scenario';

/** When something is due: called once, at the instant, in the rank of people. */
type Due = (at_us: number) => void;

/**
 * Sets the happenings of a scenario on the run's own queue: at an instant, after another happening, or after a condition
 * has held. The same clock serves the plant, the controller and the people.
 */
export class Timeline {
  readonly #run: Run;
  readonly #listeners: Listeners;
  readonly #waiting = new Map<string, { readonly delay_us: number; readonly due: Due }[]>();
  readonly #fired = new Map<string, number>();

  constructor(run: Run, scenario: Scenario, listeners: Listeners) {
    this.#run = run;
    this.#listeners = listeners;
    for (const happening of scenario.happenings) this.#set(happening);
  }

  /** Happenings that did not take place: what they waited for never came. */
  neverCame(scenario: Scenario): readonly Id[] {
    return scenario.happenings.map(({ id }) => id).filter((id) => !this.#fired.has(id));
  }

  /** Calls back at the instant that `when` means; at most once. */
  wait(when: When, name: string, due: Due): void {
    if ('at_us' in when) {
      this.#at(when.at_us, name, due);
      return;
    }
    const { after, delay_us } = when;
    if (typeof after === 'string') {
      const fired_us = this.#fired.get(after);
      if (fired_us !== undefined) this.#at(fired_us + delay_us, name, due);
      else this.#waiting.set(after, [...(this.#waiting.get(after) ?? []), { delay_us, due }]);
      return;
    }
    const watch = new ConditionWatch(after);
    let handle: number | undefined;
    let done = false;
    this.#listeners.on(this.#run.telemetry$, (telemetry) => {
      if (done || !watch.take(telemetry)) return;
      if (handle !== undefined) this.#run.kernel.cancel(handle);
      handle = undefined;
      if (watch.trueSince_us === undefined) return;
      const at_us = watch.trueSince_us + after.held_us;
      handle = this.#run.kernel.at(at_us as SimUs, 'operator', OWNER, `${name} condition`, () => {
        done = true;
        this.#at(at_us + delay_us, name, due);
      });
    });
  }

  #set(happening: Happening): void {
    this.wait(happening.when, happening.id, (at_us) => {
      this.#run.happen(happening.piece, happening.does, happening.using);
      this.#fired.set(happening.id, at_us);
      for (const { delay_us, due } of this.#waiting.get(happening.id) ?? [])
        this.#at(at_us + delay_us, happening.id, due);
    });
  }

  #at(at_us: number, name: string, due: Due): void {
    this.#run.kernel.at(at_us as SimUs, 'operator', OWNER, name, () => due(at_us));
  }
}
