import type { PhasorDevice } from '../network/device.ts';
import type { PhasorLevel } from '../network/phasor-level.ts';
import type { Wiring } from '../network/wiring.ts';
import type { Bag, Id, KindSpec, Piece, Plain } from '../site-description.ts';
import type { Channel, Origin } from '../telemetry.ts';
import type { Chance, Kernel } from '../time/time.ts';

/** Why something happens: who is answerable at the root, and the number of the happening that brought it about. */
export interface Cause {
  readonly origin: Origin;
  readonly number: number | undefined;
}

/** What the site gives every piece. */
export interface Surroundings {
  readonly kernel: Kernel;
  readonly chance: Chance;
  readonly wiring: Wiring;
  /** After the whole site is wired. */
  readonly level: () => PhasorLevel;
  /** The starting state of this piece, by the names of its kind's `start` table (defaults filled in). */
  readonly start: Bag;
  readonly settings: Bag;
  /** Time of day at instant 0, from midnight. */
  readonly timeOfDay_us: number;
  /** Records a happening and returns its cause record, for what follows from it. */
  happened(piece: Id, did: string, cause: Cause): Cause;
  /**
   * The one way to change anything that the network sees (poles, sources, loads) outside `advance` and `accept`.
   *
   * First the plant is brought up to this instant and a frame shows the state before; then `mutate` runs; at the end of
   * the instant the network is cut and solved anew, once, however many changes fell on it.
   */
  change(mutate: () => void): void;
  /** Something that is recorded or sensed has changed, though not the network: a proving contact, a mode, a count. */
  noted(): void;
  /** Another piece of the site, by id; for wires that join equipment (an enable that runs through a relay's contact). */
  piece(id: Id): EquipmentPiece | undefined;
}

/**
 * One piece of equipment: electrical half (`devices`), channels, and what can be done to it.
 *
 * Decisions live in an xstate chart on `kernel.clockFor(id, 'plant' | 'protection')`, physics in plain code. Constructed
 * by a factory that wires its nodes and poles; every parameter comes from the piece's description.
 */
export interface EquipmentPiece {
  readonly id: Id;
  readonly kind: string;
  readonly devices: readonly PhasorDevice[];
  channels(): readonly Channel[];
  /** Writes the present value of each of `channels()`, in order, from `at` on. */
  write(out: Float64Array, at: number): void;
  /** One of its kind's `does`, from the scenario. */
  does(name: string, using: Bag, cause: Cause): void;
  /** Called once, at instant 0, before the first solution: settled starting state. */
  begin?(): void;
  /** Called after the first solution, to settle loops and filters on it; then the site is solved again. */
  settle?(): void;
  /** An output of the gateway that concerns it has changed (output name of the boundary table). */
  order?(output: string, value: number, cause: Cause): void;
  /** A signal to the gateway by name, as it is at this instant (proving contacts, position codes, state of charge). */
  signal?(name: string): number;
  /** Calls the listener whenever the named signal has changed: for hard-wired links between pieces (interlock, former's contact). */
  watch?(signal: string, listener: (cause: Cause) => void): void;
  /** What the recorder works out bus by bus from a source. */
  readonly source?: SourceFacet;
  /** What it would take at nominal voltage, for n_isl. */
  readonly load?: LoadFacet;
  /** Holds a neutral in the middle: a transformer or a neutral former whose contactor is closed. */
  readonly neutral?: { readonly bus: number; holds(): boolean };
  /** A neutral-to-earth bond of the premises. */
  readonly bond?: { readonly bus: number; joined(): boolean };
  /** Everything that its future depends on; times relative to now. */
  digestState(now_us: number): readonly Plain[];
}

/** The rule terms of docs/telemetry.md, as the source is just now. */
export interface SourceFacet {
  readonly bus: number;
  /** Output contact and own breaker closed. */
  joined(): boolean;
  /** Following and fundamental current above 2 % of rated; power of that, W (positive into the site). */
  following(): { readonly energises: boolean; readonly power_W: number };
  /** Forming, output closed, reference above 0.02 pu. */
  forms(): boolean;
}

/** Conductances at nominal voltage as they are switched now, S. */
export interface LoadFacet {
  readonly bus: number;
  nominal(): { readonly g1_S: number; readonly g2_S: number; readonly g12_S: number };
}

/** What a file of equipment exports. */
export interface Kind {
  readonly spec: KindSpec;
  make(piece: Piece, around: Surroundings): EquipmentPiece;
}
