import type { Observable } from 'rxjs';
import { assert } from './check.ts';
import { CATALOGUE } from './equipment/catalogue.ts';
import type { Cause, EquipmentPiece, Surroundings } from './equipment/piece.ts';
import type { UtilityPiece } from './equipment/utility.ts';
import {
  type Inputs,
  OUTPUT_NAMES,
  OUTPUTS_AT_REST,
  type Outputs,
  REQUEST,
  type ScanResult,
} from './gateway/boundary.ts';
import { Sensors } from './gateway/sensors.ts';
import { GATEWAY_ID, GATEWAY_KIND } from './gateway/spec.ts';
import type { Level } from './network/handover.ts';
import { PhasorLevel } from './network/phasor-level.ts';
import { Wiring } from './network/wiring.ts';
import { GatewayRecord } from './site/gateway-record.ts';
import { Plant } from './site/plant.ts';
import { Recorder, type Writer } from './site/recorder.ts';
import { Scanner } from './site/scanner.ts';
import { SourcePaths } from './site/source-paths.ts';
import { type Poled, Taps } from './site/taps.ts';
import { Truth, WINDOW_us } from './site/truth.ts';
import {
  type Bag,
  flagOf,
  type Id,
  type KindSpec,
  numberOf,
  type Plain,
  type SiteDescription,
  textOf,
} from './site-description.ts';
import type { Channel, Telemetry } from './telemetry.ts';
import { createChance } from './time/chance.ts';
import { createKernel } from './time/kernel.ts';
import type { Kernel } from './time/time.ts';
import type { SimUs } from './units.ts';

/** Where a run stands still and waits for its driver. */
export type Stop =
  | { readonly kind: 'boot' }
  | { readonly kind: 'scan'; readonly inputs: Inputs }
  | { readonly kind: 'end' };

export interface RunOptions {
  readonly site: SiteDescription;
  /** `piece.name` → value, by the kinds' `start` tables; what is missing takes its default. */
  readonly start: Bag;
  /** uint32 */
  readonly seed: number;
  readonly end_us: SimUs;
  /** Order of equal ranks at one instant is shuffled by the seed: for exploring races. */
  readonly shuffleTies?: boolean;
  /** For the law that a quiet stretch is quiet: step and scan at every instant, though nothing moves. */
  readonly restless?: boolean;
}

/** What can be counted of a run: the same on every machine. */
export interface RunCounts {
  readonly solves: number;
  readonly steps: number;
  readonly scans: number;
  readonly frames: number;
}

/**
 * A site that runs. It never waits: it stops at each scan that counts and goes on when answered, so the same run serves a
 * function, a pipe, a page's single step and the wall clock. Going back in time is a new run, replayed.
 */
export interface Run {
  readonly telemetry$: Observable<Telemetry>;
  readonly kernel: Kernel;
  /** Goes on to the next stop. After `boot` it may be called at once; after `scan` only once it is answered. */
  next(): Stop;
  answer(result: ScanResult): void;
  /** Ends the run here, incomplete: a controller that cannot go on. */
  cutShort(why: string): void;
  /** One of the `does` of a piece's kind (or of the gateway), now. */
  happen(piece: Id, does: string, using: Bag): void;
  /** Records something about the controller itself: `boots`, `throws`, `answers nonsense`. */
  controllerDid(did: string): void;
  /** Everything the future depends on, as text: equal texts, equal futures. */
  stateDigest(): string;
  readonly counts: RunCounts;
  /** The phasor level, for another that takes the network over for a while. Close it between two timers, or in the rank `record`. */
  readonly phasors: Level;
}

/** Builds a site from its description and starts it at instant 0, settled. The description has been checked. */
export function createRun(options: RunOptions): Run {
  const run = new SiteRun(options);
  run.begin();
  return run;
}

/** The channels of the head of every run of a site, in order, without running it. The description has been checked. */
export function channelsOf(site: SiteDescription): readonly Channel[] {
  const run = new SiteRun({ site, start: {}, seed: 0, end_us: 0 as SimUs });
  return run.writers.flatMap((writer) => [...writer.channels()]);
}

class SiteRun implements Run {
  readonly kernel: ReturnType<typeof createKernel>;
  /** Whatever has channels, in the order of the head. */
  readonly writers: readonly Writer[];
  readonly #recorder: Recorder;
  readonly #pieces: EquipmentPiece[] = [];
  readonly #byId = new Map<Id, EquipmentPiece>();
  readonly #specs = new Map<Id, KindSpec>();
  readonly #plant: Plant;
  readonly #level: PhasorLevel;
  readonly #scanner: Scanner;
  readonly #sensors: Sensors;
  readonly #taps: Taps;
  readonly #truth: Truth;
  readonly #record = new GatewayRecord();
  readonly #bootTime_us: number;
  readonly #end_us: SimUs;
  #outputs: Outputs = OUTPUTS_AT_REST;
  #person = { request: REQUEST.none as number, onSite: 0 };
  #stop: Stop | undefined;
  #awaiting: 'boot' | 'answer' | undefined;
  #answered = false;
  #frameSet = false;
  #over = false;

  constructor(options: RunOptions) {
    const { site } = options;
    this.kernel = createKernel({ seed: options.seed, shuffleTies: options.shuffleTies === true });
    this.#recorder = new Recorder(this.kernel);
    this.#end_us = options.end_us;
    const wiring = new Wiring();
    for (const bus of site.buses) wiring.addBus(bus.id);
    this.#make(options, wiring);
    this.#level = new PhasorLevel(
      wiring,
      this.#pieces.flatMap(({ devices }) => [...devices]),
      this.#pieces,
    );
    const utility = this.#pieces.find(({ kind }) => kind === 'utility') as UtilityPiece | undefined;
    assert(utility !== undefined, 'a site has a utility');
    const truth = new Truth(wiring, this.#level, this.#pieces, utility.serviceBus, () => utility.presence());
    this.#truth = truth;
    this.#plant = new Plant(
      this.kernel,
      this.#level,
      {
        changing: () => this.#scanner.moved(),
        cut: () => truth.cut(),
        solved: (now_us) => {
          const moving = truth.solved(now_us);
          this.#taps.take(now_us);
          this.#scanner.moved();
          return moving;
        },
        frame: () => this.#recorder.frame(),
      },
      options.restless === true,
    );
    this.#taps = this.#wireTaps(truth, site);
    this.#sensors = new Sensors(this.#taps.table, site.settings, createChance(options.seed));
    const grid = {
      period_us: numberOf(site.settings, 'scanPeriod'),
      phase_us: numberOf(site.settings, 'scanPhase'),
      settle_us: WINDOW_us + this.#taps.lookBack_us,
    };
    const restlessFrom_us = (now_us: number): number | undefined =>
      this.#slipping() ? now_us + 1 : this.#sensors.restlessFrom_us(now_us);
    this.#scanner = new Scanner(
      this.kernel,
      this.#sensors,
      grid,
      restlessFrom_us,
      options.restless === true,
      (inputs) => {
        this.#stop = { kind: 'scan', inputs };
      },
    );
    this.#bootTime_us = numberOf(site.settings, 'bootTime');
    this.writers = [truth, ...this.#pieces, new SourcePaths(this.#pieces, truth), this.#record];
  }

  get telemetry$(): Observable<Telemetry> {
    return this.#recorder.telemetry$;
  }

  get phasors(): Level {
    return this.#plant;
  }

  get counts(): RunCounts {
    return {
      solves: this.#level.solves,
      steps: this.#plant.steps,
      scans: this.#scanner.scans,
      frames: this.#recorder.frames,
    };
  }

  #make(options: RunOptions, wiring: Wiring): void {
    const { site } = options;
    const chance = createChance(options.seed);
    for (const piece of site.pieces) {
      const kind = CATALOGUE.find(({ spec }) => spec.kind === piece.kind);
      assert(kind !== undefined, `no kind of equipment is called ${piece.kind}; was the site checked?`);
      const start: Record<string, Plain> = {};
      for (const { name, default: fallback } of kind.spec.start) {
        const given = options.start[`${piece.id}.${name}`] ?? fallback;
        if (given !== undefined) start[name] = given;
      }
      const around: Surroundings = {
        kernel: this.kernel,
        chance,
        wiring,
        level: () => this.#level,
        start,
        settings: site.settings,
        timeOfDay_us: Number(options.start[`${GATEWAY_ID}.timeOfDay`] ?? 0),
        happened: (id, did, cause) => this.#recorder.happened(id, did, cause),
        change: (mutate) => this.#plant.change(mutate),
        noted: () => this.#noted(),
        piece: (id) => this.#byId.get(id),
      };
      const made = kind.make(piece, around);
      this.#pieces.push(made);
      this.#byId.set(piece.id, made);
      this.#specs.set(piece.id, kind.spec);
    }
    this.#specs.set(GATEWAY_ID, GATEWAY_KIND);
  }

  #wireTaps(truth: Truth, site: SiteDescription): Taps {
    const relay = this.#pieces.find(({ kind }) => kind === 'relay') as Poled | undefined;
    const description = site.pieces.find(({ id }) => id === relay?.id);
    const main = site.pieces.find(({ kind, params }) => kind === 'breaker' && textOf(params, 'role') === 'main');
    return new Taps({
      truth,
      level: () => this.#level,
      pieces: this.#pieces,
      relay,
      main: main === undefined ? undefined : this.#byId.get(main.id),
      former: this.#pieces.find(({ kind }) => kind === 'former'),
      vehicle: this.#pieces.find(({ kind }) => kind === 'vehicle'),
      sides: description === undefined ? undefined : [description.at[0]!, description.at[1]!],
      person: () => this.#person,
      latency_us: numberOf(site.settings, 'sensorLatency'),
      sampling_us: numberOf(site.settings, 'sensorSampling'),
    });
  }

  /** Settles the starting state and sets what is due by itself. Called once. */
  begin(): void {
    for (const piece of this.#pieces) piece.begin?.();
    this.#plant.begin(() => {
      for (const piece of this.#pieces) piece.settle?.();
    });
    this.#truth.begin(this.#taps.lookBack_us);
    this.#taps.take(0);
    // The head goes out with the first `next`, when whoever wants to listen has subscribed.
    this.kernel.at(0 as SimUs, 'plant', 'recorder', 'begin', () => this.#recorder.begin(this.writers));
    this.kernel.at(this.#end_us, 'record', 'run', 'end', () => {
      // Set again for the same instant, so that whatever else falls on it comes first.
      this.kernel.at(this.#end_us, 'record', 'run', 'over', () => this.#end(true));
    });
    this.#awaiting = 'boot';
  }

  next(): Stop {
    if (this.#awaiting === 'boot') {
      this.#awaiting = undefined;
      this.#scanner.restart(this.kernel.now_us + this.#bootTime_us);
      return { kind: 'boot' };
    }
    assert(this.#awaiting === undefined, 'a scan is answered before the run goes on');
    while (!this.#over && this.#stop === undefined) {
      if (!this.kernel.runNext()) this.#end(true);
    }
    const stop = this.#stop;
    this.#stop = undefined;
    if (stop === undefined) return { kind: 'end' };
    if (stop.kind === 'scan') {
      // A forced scan leaves no trace: the age of a sample would be another one.
      if (this.#scanner.counts) this.#record.scanned(stop.inputs);
      this.#frameSoon();
      this.#awaiting = 'answer';
    }
    return stop;
  }

  answer(result: ScanResult): void {
    assert(this.#awaiting === 'answer', 'only a scan is answered');
    this.#awaiting = undefined;
    const before = this.#answered ? this.#outputs : undefined; // After a boot every output is an order.
    this.#answered = true;
    this.#outputs = result.outputs;
    this.#record.answered(result.outputs);
    for (const name of OUTPUT_NAMES) {
      const value = result.outputs[name];
      if (value === before?.[name]) continue;
      const cause: Cause = this.#recorder.happened(GATEWAY_ID, `orders ${name} ${value}`, {
        origin: 'controller',
        number: undefined,
      });
      for (const piece of this.#pieces) piece.order?.(name, value, cause);
    }
    this.#scanner.answered(result);
  }

  happen(piece: Id, does: string, using: Bag): void {
    const spec = this.#specs.get(piece)?.does.find(({ name }) => name === does);
    assert(spec !== undefined, `${piece} cannot ${does}; was the scenario checked?`);
    const cause = this.#recorder.happened(piece, does, { origin: spec.origin, number: undefined });
    if (piece === GATEWAY_ID) this.#gatewayDoes(does, using);
    else this.#byId.get(piece)!.does(does, using, cause);
    this.#noted();
  }

  #gatewayDoes(does: string, using: Bag): void {
    if (does === 'request') {
      const what = textOf(using, 'what') as keyof typeof REQUEST;
      this.#person = { request: REQUEST[what], onSite: flagOf(using, 'onSite') ? 1 : 0 };
    } else if (does === 'restart') {
      this.#stop = { kind: 'boot' };
      this.#answered = false;
      this.#scanner.restart(this.kernel.now_us + Math.max(1, this.#bootTime_us));
    } else this.#sensors.does(does, using, this.kernel.now_us);
  }

  controllerDid(did: string): void {
    this.#recorder.happened(GATEWAY_ID, did, { origin: 'controller', number: undefined });
  }

  cutShort(_why: string): void {
    this.#awaiting = undefined;
    this.#end(false);
  }

  #end(complete: boolean): void {
    if (this.#over) return;
    this.#recorder.frame();
    this.#over = true;
    this.#recorder.end(complete);
  }

  #noted(): void {
    this.#scanner.moved();
    this.#frameSoon();
  }

  #frameSoon(): void {
    if (this.#frameSet) return;
    this.#frameSet = true;
    this.kernel.at(this.kernel.now_us, 'record', 'recorder', 'frame', () => {
      this.#frameSet = false;
      if (!this.#plant.dirty) this.#recorder.frame(); // Else the solution that is due at this instant brings one.
    });
  }

  #slipping(): boolean {
    return this.#pieces.some((piece) => {
      if (piece.kind !== 'relay') return false;
      const { poleSet } = piece as Poled;
      return poleSet.poles.some((pole) => poleSet.read(this.#level, pole, this.kernel.now_us).slip_Hz !== 0);
    });
  }

  stateDigest(): string {
    const now_us = this.kernel.now_us;
    const pieces = this.#pieces.map((piece) => [piece.id, piece.digestState(now_us), this.kernel.pending(piece.id)]);
    const frames = this.#level.parts.map((part) => [
      part.buses[0]!.index,
      part.kind,
      part.w,
      part.frame.angleAt(now_us),
    ]);
    return JSON.stringify([
      pieces,
      frames,
      this.#outputs,
      this.#person,
      this.#sensors.digestState(),
      this.kernel.pending('plant'),
      this.kernel.pending('gateway'),
    ]);
  }
}
