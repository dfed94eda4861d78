import type { HappeningRecord } from '../../sim/telemetry.ts';
import { type Channels, isOn } from './channels.ts';
import { Deceit } from './deceit.ts';
import { COMMAND_FORM } from './evidence.ts';
import type { SiteFacts } from './facts.ts';
import type { Happenings } from './happenings.ts';
import { Since } from './intervals.ts';

const STALE = 1;
/** What a controller must read to leave, to form and to come back. */
const READ = ['utilityL1', 'utilityL2', 'utilityL12', 'backupL1', 'backupL2', 'backupL12'];
const CONTACTS = [
  'relayL1Open',
  'relayL2Open',
  'relayL1Closed',
  'relayL2Closed',
  'vehicleReady',
  'neutralAux',
  'mainAux',
  'supplyContactor',
  'plugged',
  'commissioning',
];

/** Whose fault it is that the house is dark: what the controller had ordered, and what it could not see or move. */
export class Excuses {
  readonly #command: number;
  readonly #coil: number;
  readonly #states: readonly number[];
  readonly #formers: readonly string[];
  readonly #happenings: Happenings;
  readonly #deceit: Deceit;
  readonly #formOrdered = new Since();
  readonly #closeOrdered = new Since();
  #blind = false;

  constructor(facts: SiteFacts, channels: Channels, happenings: Happenings) {
    this.#happenings = happenings;
    this.#deceit = new Deceit(facts, channels);
    this.#command = channels.index('gateway.vehicleCommand');
    this.#coil = channels.index('gateway.relayCoil');
    this.#states = [...READ, ...CONTACTS].map((name) => channels.index(`gateway.in.${name}.state`));
    this.#formers = facts.site.pieces.filter(({ kind }) => kind === 'former').map(({ id }) => id);
  }

  /** Ask about what held until now before it is taken. */
  take(at_us: number, now: Float64Array): void {
    this.#formOrdered.update(at_us, now[this.#command] === COMMAND_FORM);
    this.#closeOrdered.update(at_us, isOn(now, this.#coil));
    this.#deceit.frame(at_us, now);
    this.#blind = this.#states.some((index) => now[index] === STALE);
  }

  /** A reading had stopped or lied, or the neutral former had let go or tripped: nobody could have formed or come back by the book. */
  isHinderedAt(at_us: number, since_us: number): boolean {
    const did = this.#former()?.did;
    return (
      this.#blind || this.#deceit.hasStoodSince(since_us, at_us) || did === 'open by itself' || did === 'trips thermal'
    );
  }

  /** When a neutral former that had let go or tripped was put right again, if that was the last of it. */
  get mended_us(): number | undefined {
    const last = this.#former();
    return last?.did === 'mend' || last?.did === 'reset' ? last.at_us : undefined;
  }

  /** The order to form had stood since then or longer. */
  hadOrderedToForm(since_us: number): boolean {
    const { from_us } = this.#formOrdered;
    return from_us !== undefined && from_us <= since_us;
  }

  hadOrderedToClose(since_us: number): boolean {
    const { from_us } = this.#closeOrdered;
    return from_us !== undefined && from_us <= since_us;
  }

  #former(): HappeningRecord | undefined {
    return this.#happenings.latest(this.#formers, ['open by itself', 'trips thermal', 'mend', 'reset']);
  }
}
