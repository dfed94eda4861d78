import type { EquipmentPiece } from '../equipment/piece.ts';
import type { Channel } from '../telemetry.ts';
import type { Truth } from './truth.ts';

/** Per source and leg: whether an unbroken chain of conducting line poles, its own output contact included, joins it to the service. */
export class SourcePaths {
  readonly #sources: readonly EquipmentPiece[];
  readonly #truth: Truth;

  constructor(pieces: readonly EquipmentPiece[], truth: Truth) {
    this.#sources = pieces.filter(({ source }) => source !== undefined);
    this.#truth = truth;
  }

  channels(): Channel[] {
    return this.#sources.flatMap(({ id }): Channel[] => [
      { name: `${id}.path1`, unit: 'bit' },
      { name: `${id}.path2`, unit: 'bit' },
    ]);
  }

  write(out: Float64Array, at: number): void {
    this.#sources.forEach(({ source }, i) => {
      const joined = source!.joined();
      out[at + 2 * i] = joined && this.#truth.reached1[source!.bus] === 1 ? 1 : 0;
      out[at + 2 * i + 1] = joined && this.#truth.reached2[source!.bus] === 1 ? 1 : 0;
    });
  }
}
