import type { Id } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import type { Cause, Surroundings } from './piece.ts';

/** An auxiliary contact that follows a main contact after a while. A stuck one shows what it is stuck at. */
export class ProvingContact {
  readonly #around: Surroundings;
  readonly #owner: Id;
  readonly #name: string;
  readonly #changed: (cause: Cause) => void;
  #real: 0 | 1;
  #stuck: 0 | 1 | undefined;
  #timer: number | undefined;

  constructor(around: Surroundings, owner: Id, name: string, start: 0 | 1, changed: (cause: Cause) => void) {
    this.#around = around;
    this.#owner = owner;
    this.#name = name;
    this.#real = start;
    this.#changed = changed;
  }

  get shown(): 0 | 1 {
    return this.#stuck ?? this.#real;
  }

  /** What it really is, behind a lie. */
  get real(): 0 | 1 {
    return this.#real;
  }

  /** Moves after `after_us`; a move that was still to come is called off. */
  set(value: 0 | 1, after_us: number, cause: Cause): void {
    const { kernel } = this.#around;
    if (this.#timer !== undefined) kernel.cancel(this.#timer);
    this.#timer = undefined;
    if (after_us === 0) {
      this.#show(() => {
        this.#real = value;
      }, cause);
      return;
    }
    this.#timer = kernel.at((kernel.now_us + after_us) as SimUs, 'protection', this.#owner, this.#name, () => {
      this.#timer = undefined;
      this.set(value, 0, cause);
    });
  }

  /** Undefined: it tells the truth again. */
  stick(at: 0 | 1 | undefined, cause: Cause): void {
    this.#show(() => {
      this.#stuck = at;
    }, cause);
  }

  #show(move: () => void, cause: Cause): void {
    const before = this.shown;
    move();
    if (this.shown === before) return;
    this.#around.noted();
    this.#changed(cause);
  }
}
