import type { Cause, EquipmentPiece, Kind, Surroundings } from '../../../sim/equipment/piece.ts';
import type { PhasorDevice } from '../../../sim/network/device.ts';
import { PhasorLevel } from '../../../sim/network/phasor-level.ts';
import { Wiring } from '../../../sim/network/wiring.ts';
import { Plant } from '../../../sim/site/plant.ts';
import { Recorder } from '../../../sim/site/recorder.ts';
import type { Bag, Conductor, Id, KindSpec, ParamSpec, Plain } from '../../../sim/site-description.ts';
import type { HappeningRecord, Telemetry } from '../../../sim/telemetry.ts';
import { createChance } from '../../../sim/time/chance.ts';
import { createKernel, type RunnableKernel } from '../../../sim/time/kernel.ts';
import type { SimUs } from '../../../sim/units.ts';

/** A piece under test: what differs from its kind's defaults. */
export interface RigPiece {
  readonly kind: Kind;
  readonly id: Id;
  readonly at: readonly Id[];
  readonly legs?: readonly Conductor[];
  readonly params?: Bag;
  readonly start?: Bag;
}

export interface RigOptions {
  readonly buses: readonly Id[];
  readonly pieces: readonly RigPiece[];
  /** Plain devices of the test (ideal sources, resistors) and further neutral branches; called after the pieces are wired. */
  readonly devices?: (wiring: Wiring) => readonly PhasorDevice[];
  readonly seed?: number;
  readonly settings?: Bag;
}

/** Pieces of equipment on a few buses, with a plant and a recorder, without gateway and rules. */
export class Rig {
  readonly kernel: RunnableKernel;
  readonly wiring = new Wiring();
  readonly level: PhasorLevel;
  readonly happenings: HappeningRecord[] = [];
  readonly #plant: Plant;
  readonly #recorder: Recorder;
  readonly #pieces = new Map<Id, { readonly piece: EquipmentPiece; readonly spec: KindSpec }>();
  readonly #channels: string[] = [];
  /** Every frame: instant and the values by channel order. */
  readonly frames: { readonly at_us: number; readonly values: Float64Array }[] = [];

  constructor(options: RigOptions) {
    const seed = options.seed ?? 1;
    this.kernel = createKernel({ seed });
    this.#recorder = new Recorder(this.kernel);
    this.#recorder.telemetry$.subscribe((message) => this.#take(message));
    for (const id of options.buses) this.wiring.addBus(id);
    for (const wanted of options.pieces) this.#make(wanted, seed, options.settings ?? {});
    const own = [...this.#pieces.values()].flatMap(({ piece }) => [...piece.devices]);
    this.level = new PhasorLevel(this.wiring, [...own, ...(options.devices?.(this.wiring) ?? [])]);
    this.#plant = new Plant(
      this.kernel,
      this.level,
      { changing: () => {}, cut: () => {}, solved: () => false, frame: () => this.#recorder.frame() },
      false,
    );
    for (const { piece } of this.#pieces.values()) piece.begin?.();
    this.#plant.begin(() => {
      for (const { piece } of this.#pieces.values()) piece.settle?.();
    });
    this.#recorder.begin([...this.#pieces.values()].map(({ piece }) => piece));
  }

  get steps(): number {
    return this.#plant.steps;
  }

  piece(id: Id): EquipmentPiece {
    return this.#pieces.get(id)!.piece;
  }

  run(until_us: number): void {
    this.kernel.runUntil(until_us as SimUs);
  }

  /** What a scenario does, now. */
  happen(id: Id, does: string, using: Bag = {}): void {
    const { piece, spec } = this.#pieces.get(id)!;
    const what = spec.does.find(({ name }) => name === does);
    if (what === undefined) throw new RangeError(`${id} cannot ${does}`);
    const cause = this.#recorder.happened(id, does, { origin: what.origin, number: undefined });
    piece.does(does, filled(what.using, using), cause);
  }

  /** An order of the gateway, now. */
  order(output: string, value: number): Cause {
    const cause = this.#recorder.happened('gateway', `orders ${output} ${value}`, {
      origin: 'controller',
      number: undefined,
    });
    for (const { piece } of this.#pieces.values()) piece.order?.(output, value, cause);
    return cause;
  }

  /** A change of a test's own device. */
  change(mutate: () => void): void {
    this.#plant.change(mutate);
  }

  /** Instants of a happening, µs. */
  when(id: Id, did: string): readonly number[] {
    return this.happenings.filter((one) => one.piece === id && one.did === did).map(({ at_us }) => at_us);
  }

  /** The value of a channel at this instant, asked from the pieces. */
  value(channel: string): number {
    const [id] = channel.split('.');
    const { piece } = this.#pieces.get(id!)!;
    const names = piece.channels().map(({ name }) => name as string);
    const out = new Float64Array(names.length);
    this.level.shownAt_us = this.kernel.now_us;
    piece.write(out, 0);
    const at = names.indexOf(channel);
    if (at < 0) throw new RangeError(`no channel ${channel}; there are ${names.join(', ')}`);
    return out[at]!;
  }

  /** What the recorder showed of a channel, change by change: [µs, value]. */
  trace(channel: string): readonly (readonly [number, number])[] {
    const at = this.#channels.indexOf(channel);
    if (at < 0) throw new RangeError(`no channel ${channel}; there are ${this.#channels.join(', ')}`);
    const found: [number, number][] = [];
    for (const { at_us, values } of this.frames) {
      const value = values[at]!;
      if (found.length === 0 || found[found.length - 1]![1] !== value) found.push([at_us, value]);
    }
    return found;
  }

  /** Magnitude of the voltage between two nodes, V rms: legs `L1`, `L2`, `N` of a bus. */
  volts(bus: Id, from: 'L1' | 'L2' | 'N', to: 'L1' | 'L2' | 'N'): number {
    const wired = this.wiring.bus(bus);
    const [re, im] = this.across(wired[from], wired[to]);
    return Math.sqrt(re * re + im * im);
  }

  /** Phasor of the voltage between two nodes, V rms; node -1 is the earth. */
  across(a: number, b: number): readonly [re: number, im: number] {
    const { vRe, vIm } = this.level;
    return [(vRe[a] ?? 0) - (vRe[b] ?? 0), (vIm[a] ?? 0) - (vIm[b] ?? 0)];
  }

  #make(wanted: RigPiece, seed: number, settings: Bag): void {
    const { spec } = wanted.kind;
    const around: Surroundings = {
      kernel: this.kernel,
      chance: createChance(seed),
      wiring: this.wiring,
      level: () => this.level,
      start: filled(spec.start, wanted.start ?? {}),
      settings,
      timeOfDay_us: 0,
      happened: (id, did, cause) => this.#recorder.happened(id, did, cause),
      change: (mutate) => this.#plant.change(mutate),
      noted: () => {
        this.kernel.at(this.kernel.now_us, 'record', 'rig', 'frame', () => this.#recorder.frame());
      },
      piece: (id) => this.#pieces.get(id)?.piece,
    };
    const piece = wanted.kind.make(
      {
        id: wanted.id,
        kind: spec.kind,
        at: wanted.at,
        legs: wanted.legs ?? spec.legs[0]!,
        params: filled(spec.params, wanted.params ?? {}),
        sources: {},
      },
      around,
    );
    this.#pieces.set(wanted.id, { piece, spec });
  }

  #take(message: Telemetry): void {
    if (message.kind === 'head') this.#channels.push(...message.channels.map(({ name }) => name));
    if (message.kind === 'happening') this.happenings.push(message);
    if (message.kind === 'frame') this.frames.push({ at_us: message.at_us, values: message.values.slice() });
  }
}

/** A bag with the defaults of its table; a name that the table does not have is a mistake in the test. */
function filled(table: readonly ParamSpec[], given: Bag): Bag {
  const bag: Record<string, Plain> = {};
  for (const { name, default: fallback } of table) if (fallback !== undefined) bag[name] = fallback;
  for (const [name, value] of Object.entries(given)) {
    if (!table.some((spec) => spec.name === name)) throw new RangeError(`no parameter ${name}`);
    bag[name] = value;
  }
  return bag;
}
