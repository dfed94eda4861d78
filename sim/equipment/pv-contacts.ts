import type { Id } from '../site-description.ts';
import type { SimUs } from '../units.ts';
import type { Cause, Surroundings } from './piece.ts';

/** What a source has between itself and its bus. */
export interface ContactSettings {
  /** From ceasing to the opening of its own output contact, µs. */
  readonly contactDelay_us: number;
  /** Travel of the outside contactor, µs. */
  readonly contactorTravel_us: number;
}

/**
 * Own output contact and outside contactor in series. The source measures ahead of the first and behind the second.
 *
 * `apply` is called inside the change in which one of them has moved.
 */
export class PvContacts {
  readonly #around: Surroundings;
  readonly #id: Id;
  readonly #settings: ContactSettings;
  readonly #apply: () => void;
  #contactTimer: number | undefined;
  #contactorTimer: number | undefined;
  contact = false;
  contactor: boolean;

  constructor(around: Surroundings, id: Id, settings: ContactSettings, contactor: boolean, apply: () => void) {
    this.#around = around;
    this.#id = id;
    this.#settings = settings;
    this.contactor = contactor;
    this.#apply = apply;
  }

  get joined(): boolean {
    return this.contact && this.contactor;
  }

  /** Closes the output contact at once, inside a change; gives the cause of what follows. */
  join(cause: Cause): Cause {
    if (this.#contactTimer !== undefined) this.#around.kernel.cancel(this.#contactTimer);
    this.#contactTimer = undefined;
    const joined = this.contact ? cause : this.#around.happened(this.#id, 'joins', cause);
    this.contact = true;
    return joined;
  }

  /** Opens the output contact after its delay: the filter stays on the bus until then. */
  leave(cause: Cause): void {
    this.#contactTimer = this.#after(this.#settings.contactDelay_us, 'contact', () => {
      this.#contactTimer = undefined;
      this.#around.happened(this.#id, 'leaves', cause);
      this.contact = false;
    });
  }

  /** Orders the contactor; an order back before it has moved leaves it where it is. */
  order(closes: boolean, cause: Cause): void {
    if (this.#contactorTimer !== undefined) this.#around.kernel.cancel(this.#contactorTimer);
    this.#contactorTimer = undefined;
    if (closes === this.contactor) return;
    this.#contactorTimer = this.#after(this.#settings.contactorTravel_us, 'contactor', () => {
      this.#contactorTimer = undefined;
      this.#around.happened(this.#id, closes ? 'contactor closes' : 'contactor opens', cause);
      this.contactor = closes;
    });
  }

  #after(delay_us: number, name: string, move: () => void): number {
    const { kernel } = this.#around;
    return kernel.at((kernel.now_us + delay_us) as SimUs, 'protection', this.#id, name, () => {
      this.#around.change(() => {
        move();
        this.#apply();
      });
    });
  }
}
