import type { Id } from '../../sim/site-description.ts';
import { LEG_V, quantityText, timeText } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { CeaseWatch } from './ceasing.ts';
import { type Channels, isOn } from './channels.ts';
import type { SourceFacts } from './facts.ts';
import { CYCLE_US } from './intervals.ts';
import type { Moment } from './judge.ts';
import type { Note } from './rule.ts';

interface Episode {
  readonly source: SourceFacts;
  readonly from_us: number;
  readonly device: Id;
  readonly ceasing: CeaseWatch;
  worst1_V: number;
  worst2_V: number;
  above_us: number;
  isAbove: boolean;
  last_us: number;
}

type Bus = Readonly<Record<'u1' | 'u2' | 'present1' | 'present2' | 'forming', number>>;

/**
 * What a running source did to its part after a reference was taken from it: worst one-cycle rms of each leg, time with a leg
 * above 1.2 pu, time until it ceased. It is followed until then, until it has a reference again, or until the run ends.
 */
export class Aftermath {
  readonly #channels: Channels;
  readonly #buses: ReadonlyMap<Id, Bus>;
  readonly #high_V = limit('iti.upper.120').values.level_pu * LEG_V;
  readonly #say: (note: Note) => void;
  #open: Episode[] = [];

  constructor(sources: readonly SourceFacts[], channels: Channels, say: (note: Note) => void) {
    this.#channels = channels;
    this.#say = say;
    this.#buses = new Map(
      sources.map(({ id, at }) => [id, channels.of(at, 'u1', 'u2', 'present1', 'present2', 'forming')]),
    );
  }

  /** Call before `frame` of the same moment. */
  begin(source: SourceFacts, at_us: number, device: Id): void {
    if (this.#open.some((episode) => episode.source.id === source.id)) return;
    const ceasing = new CeaseWatch(this.#channels, source);
    const unseen = { worst1_V: 0, worst2_V: 0, above_us: 0, isAbove: false, last_us: at_us };
    this.#open.push({ source, from_us: at_us, device, ceasing, ...unseen });
  }

  frame({ at_us, now }: Moment): void {
    if (this.#open.length === 0) return;
    this.#open = this.#open.filter((episode) => {
      const bus = this.#buses.get(episode.source.id)!;
      const ceased_us = ceasedAfter(episode, at_us);
      passTime(episode, at_us, ceased_us);
      const isHeld = isOn(now, bus.present1) || isOn(now, bus.present2) || isOn(now, bus.forming);
      if (ceased_us !== undefined) this.#report(episode, ceased_us, 'ceased after');
      else if (isHeld) this.#report(episode, at_us, 'had a reference again, not ceased, after');
      else this.#look(episode, at_us, now, bus);
      return ceased_us === undefined && !isHeld;
    });
  }

  end(at_us: number): void {
    for (const episode of this.#open) {
      const ceased_us = ceasedAfter(episode, at_us);
      passTime(episode, at_us, ceased_us);
      if (ceased_us !== undefined) this.#report(episode, ceased_us, 'ceased after');
      else this.#report(episode, at_us, 'had not ceased at the end of the run, after');
    }
    this.#open = [];
  }

  #look(episode: Episode, at_us: number, now: Float64Array, bus: Bus): void {
    episode.ceasing.take(at_us, now);
    const [u1, u2] = [now[bus.u1]!, now[bus.u2]!];
    episode.worst1_V = Math.max(episode.worst1_V, u1);
    episode.worst2_V = Math.max(episode.worst2_V, u2);
    episode.isAbove = u1 > this.#high_V || u2 > this.#high_V;
  }

  #report(episode: Episode, until_us: number, how: string): void {
    const { source, from_us, device, worst1_V, worst2_V, above_us } = episode;
    const lasted_us = until_us - from_us;
    const text =
      `${source.id}, its reference taken at ${device}: L1 up to ${quantityText(worst1_V, 'V')}, L2 up to ` +
      `${quantityText(worst2_V, 'V')}, ${timeText(above_us)} with a leg above 1.2 pu; ${how} ${timeText(lasted_us)}`;
    const found = { worstL1_V: worst1_V, worstL2_V: worst2_V, above_us, lasted_us };
    this.#say({ is: 'report', at_us: from_us, text, found });
  }
}

/** Not before the reference went, for a source that fell silent in the same instant. */
function ceasedAfter({ ceasing, from_us }: Episode, at_us: number): number | undefined {
  const ceased_us = ceasing.ceasedAt(at_us);
  return ceased_us === undefined ? undefined : Math.max(ceased_us, from_us);
}

/** The cycle that proves that it ceased still counts, for U looks back over it; what comes after that does not. */
function passTime(episode: Episode, at_us: number, ceased_us: number | undefined): void {
  const until_us = ceased_us === undefined ? at_us : Math.min(at_us, ceased_us + CYCLE_US);
  if (episode.isAbove) episode.above_us += Math.max(0, until_us - episode.last_us);
  episode.last_us = at_us;
}
