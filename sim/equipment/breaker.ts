import type { Actor } from 'xstate';
import { assert } from '../check.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import { POLE_CLOSED_S } from '../network/wiring.ts';
import {
  type Bag,
  type Conductor,
  flagOf,
  type Id,
  numberOf,
  type Piece,
  type Plain,
  textOf,
} from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import { type SimUs, US_PER_S } from '../units.ts';
import { Bimetal } from './bimetal.ts';
import { breakerChart } from './breaker-chart.ts';
import { BREAKER_SPEC } from './breaker-params.ts';
import { startChart } from './chart.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';
import { PoleSet } from './poles.ts';

/** Position codes of the gateway's table (`mainAux`). */
const POSITION = { unknown: 0, open: 1, closed: 2 } as const;
/** A trip is nobody's order. */
const OWN: Cause = { origin: 'equipment', number: undefined };

/** A breaker between two buses. */
export const breaker: Kind = { spec: BREAKER_SPEC, make: (piece, around) => new Breaker(piece, around) };

/**
 * Poles, mechanism, one bimetal a pole, magnetic trip where the rms current passes m·I_n (the crest √2 m I_n of a sine).
 *
 * A welded pole stays when the others part; its auxiliary contact then does not show "open". Left out: arc, contact resistance, ambient temperature, d.c. offset (waveform level).
 */
class Breaker implements EquipmentPiece, PhasorDevice {
  readonly id: Id;
  readonly kind = 'breaker';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly poleSet: PoleSet;
  readonly #around: Surroundings;
  readonly #params: Bag;
  readonly #chart: Actor<typeof breakerChart>;
  readonly #bimetals: readonly Bimetal[];
  readonly #magnetic_A: number;
  readonly #listeners: ((cause: Cause) => void)[] = [];
  #aux: number = POSITION.unknown;
  #auxTimer: number | undefined;
  #isBegun = false;
  /** Poles that weld at their next touch. */
  readonly #weldsNext = new Set<Conductor>();
  /** It should have tripped and could not: told once, and done when it is mended. */
  #owesTrip: string | undefined;

  constructor(piece: Piece, around: Surroundings) {
    this.id = piece.id;
    this.#around = around;
    this.#params = piece.params;
    const from = around.wiring.bus(piece.at[0]!);
    const to = around.wiring.bus(piece.at[1]!);
    this.bus = from.index;
    const closed = flagOf(around.start, 'closed');
    this.poleSet = new PoleSet(around.wiring, piece.id, from, to, closed ? 'closed' : 'open', piece.legs);
    const rated_A = numberOf(piece.params, 'rating');
    this.#magnetic_A = numberOf(piece.params, 'magnetic') * rated_A;
    const settings = {
      rated_A,
      hold: numberOf(piece.params, 'holdFactor'),
      tau_s: numberOf(piece.params, 'thermalTau') / US_PER_S,
    };
    this.#bimetals = this.poleSet.poles.map(
      () =>
        new Bimetal(around.kernel, piece.id, settings, {
          trips: () => this.#trip('trips thermal'),
          shows: () => around.noted(),
        }),
    );
    if (flagOf(piece.params, 'aux')) this.#aux = closed ? POSITION.closed : POSITION.open;
    const [first, ...others] = this.poleSet.poles.map(({ leg }) => leg);
    const lines = [...(piece.legs.includes('N') ? (['N'] as const) : []), first!];
    this.#chart = startChart(breakerChart, around.kernel, piece.id, {
      closed,
      hand_us: numberOf(piece.params, 'handTime'),
      spread_us: others.length === 0 ? 0 : numberOf(piece.params, 'spread'),
      trip_us: numberOf(piece.params, 'tripTime'),
      hands: {
        touchFirst: (cause) => this.#move(lines, 'closed', cause),
        touchSecond: (cause) => this.#move(others, 'closed', cause),
        partAll: (cause) => this.#move(this.poleSet.conductors, 'open', cause),
      },
    });
  }

  does(name: string, using: Bag, cause: Cause): void {
    if (name === 'open' || name === 'close') this.#chart.send({ type: name === 'open' ? 'OPEN' : 'CLOSE', cause });
    else if (name === 'stick') this.#chart.send({ type: 'STICK' });
    else if (name === 'weld') this.#weld(textOf(using, 'pole'), cause);
    else {
      assert(name === 'mend', `a breaker cannot ${name}; was the scenario checked?`);
      this.#mend(cause);
    }
  }

  /** It starts as warm as the current that it starts with would make it, unless that is an overload. */
  settle(): void {
    this.#isBegun = true;
    const level = this.#around.level();
    const { now_us } = this.#around.kernel;
    const rated_A = numberOf(this.#params, 'rating');
    const preload = numberOf(this.#around.start, 'preload');
    this.#bimetals.forEach((bimetal, i) => {
      const { current_A } = this.poleSet.read(level, this.poleSet.poles[i]!, now_us);
      bimetal.begin(Math.max(preload, Math.min(1, current_A / rated_A)), current_A);
    });
  }

  stamp(): void {}

  accept(net: PhasorNet): boolean {
    this.#bimetals.forEach((bimetal, i) => {
      const current_A = this.#current(net, i);
      bimetal.carry(current_A);
      if (current_A >= this.#magnetic_A && this.#isBegun) this.#trip('trips magnetic');
    });
    return false;
  }

  channels(): Channel[] {
    return [
      ...this.poleSet.channels(),
      { name: `${this.id}.thermal`, unit: '1' },
      { name: `${this.id}.aux`, unit: 'code' },
    ];
  }

  write(out: Float64Array, at: number): void {
    const next = this.poleSet.write(this.#around.level(), out, at);
    out[next] = Math.max(...this.#bimetals.map(({ shown }) => shown));
    out[next + 1] = this.#aux;
  }

  /** `aux`: position code; `thermal`: share of the trip temperature. */
  signal(name: string): number {
    if (name === 'aux') return this.#aux;
    return name === 'thermal' ? Math.max(...this.#bimetals.map(({ share }) => share)) : 0;
  }

  watch(_signal: string, listener: (cause: Cause) => void): void {
    this.#listeners.push(listener);
  }

  digestState(now_us: number): readonly Plain[] {
    return [
      JSON.stringify(this.#chart.getSnapshot().value),
      this.#aux,
      this.#chart.getSnapshot().context.stuck,
      this.#owesTrip ?? 'no trip owed',
      ...this.#weldsNext,
      ...this.poleSet.conductors.map((conductor) => this.poleSet.state(conductor)),
      ...this.#bimetals.flatMap((bimetal) => bimetal.digestState(now_us)),
    ];
  }

  #current(net: PhasorNet, index: number): number {
    const pole = this.poleSet.poles[index]!;
    if (pole.state === 'open') return 0;
    const re = net.re(pole.nodeA) - net.re(pole.nodeB);
    const im = net.im(pole.nodeA) - net.im(pole.nodeB);
    return Math.sqrt(re * re + im * im) * POLE_CLOSED_S;
  }

  #trip(did: string): void {
    const snapshot = this.#chart.getSnapshot();
    if (this.poleSet.allOpen) return;
    if (snapshot.can({ type: 'TRIP', cause: OWN })) {
      this.#chart.send({ type: 'TRIP', cause: this.#around.happened(this.id, did, OWN) });
    } else if (snapshot.context.stuck && snapshot.matches('closed') && this.#owesTrip === undefined) {
      this.#owesTrip = did;
      this.#around.happened(this.id, 'does not trip', OWN);
    }
  }

  get #isOverloaded(): boolean {
    const level = this.#around.level();
    const { now_us } = this.#around.kernel;
    const amps = this.poleSet.poles.map((pole) => this.poleSet.read(level, pole, now_us).current_A);
    return amps.some((amps_A) => amps_A >= this.#magnetic_A) || this.#bimetals.some(({ share }) => share >= 1);
  }

  #weld(which: string, cause: Cause): void {
    const chosen = this.poleSet.poles.filter(({ leg }) => which === 'both' || which === leg);
    const touching = chosen.filter(({ state }) => state === 'closed');
    for (const { leg, state } of chosen) if (state === 'open') this.#weldsNext.add(leg);
    if (touching.length === 0) return;
    this.#around.change(() => {
      for (const { leg } of touching) this.#weldPole(leg, cause);
    });
  }

  /** Inside a change. */
  #weldPole(pole: Conductor, cause: Cause): void {
    this.#weldsNext.delete(pole);
    this.#around.happened(this.id, `welds ${pole}`, cause);
    this.poleSet.set(pole, 'welded');
  }

  /** The mechanism is free, and what it held back happens: poles that it has left part, a trip that is owed is done. */
  #mend(cause: Cause): void {
    this.#weldsNext.clear();
    const stands = this.#chart.getSnapshot().matches('open') || this.#chart.getSnapshot().matches('tripped');
    const welded = this.poleSet.poles.filter(({ state }) => state === 'welded').map(({ leg }) => leg);
    if (welded.length > 0) {
      this.#around.change(() => {
        for (const leg of welded) this.poleSet.set(leg, 'closed');
      });
      if (stands) this.#move(welded, 'open', cause);
    }
    const owed = this.#owesTrip;
    this.#owesTrip = undefined;
    this.#chart.send({ type: 'MEND' });
    if (owed !== undefined && this.#isOverloaded) this.#trip(owed);
  }

  #move(conductors: readonly Conductor[], state: 'open' | 'closed', cause: Cause): void {
    const moving = conductors.filter((conductor) => {
      const is = this.poleSet.state(conductor);
      return is !== state && is !== 'welded';
    });
    if (moving.length === 0) return;
    this.#around.change(() => {
      for (const conductor of moving) {
        this.#around.happened(this.id, `${state === 'open' ? 'parts' : 'touches'} ${conductor}`, cause);
        this.poleSet.set(conductor, state);
        if (state === 'closed' && this.#weldsNext.has(conductor)) this.#weldPole(conductor, cause);
      }
    });
    this.#follow(cause);
  }

  /** The auxiliary contact shows "open" only once every pole is. */
  #follow(cause: Cause): void {
    if (!flagOf(this.#params, 'aux')) return;
    const { kernel } = this.#around;
    if (this.#auxTimer !== undefined) kernel.cancel(this.#auxTimer);
    const position = this.poleSet.allOpen ? POSITION.open : POSITION.closed;
    const due_us = (kernel.now_us + numberOf(this.#params, 'auxDelay')) as SimUs;
    this.#auxTimer = kernel.at(due_us, 'protection', this.id, 'aux', () => {
      this.#auxTimer = undefined;
      if (this.#aux === position) return;
      this.#aux = position;
      this.#around.noted();
      for (const listener of this.#listeners) listener(cause);
    });
  }
}
