import { limit } from '../limits/index.ts';
import type { Desk } from './judge.ts';

/** Whether the site gives the street more than a tenth of what its inverters are rated for: sources less loads. */
export class ExportWatch {
  readonly #sources: readonly number[];
  readonly #loads: readonly number[];
  readonly #most_W: number;

  constructor({ facts, channels }: Desk) {
    const loads = facts.site.pieces.filter(({ kind }) => kind === 'load');
    this.#sources = facts.following.map(({ id }) => channels.index(`${id}.p`));
    this.#loads = loads.map(({ id }) => channels.index(`${id}.p`));
    const rated_W = facts.following.filter(({ kind }) => kind === 'pv').reduce((sum, each) => sum + each.rated_W, 0);
    this.#most_W = limit('ieee-1547-2018.ride.exempt').values.power_pu * rated_W;
  }

  exports(values: Float64Array): boolean {
    let net_W = 0;
    for (const index of this.#sources) net_W += values[index]!;
    for (const index of this.#loads) net_W -= values[index]!;
    return net_W > this.#most_W;
  }
}
