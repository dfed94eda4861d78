import type { Actor } from 'xstate';
import { log } from '../maths.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import { NOMINAL_rad_per_s } from '../network/frame.ts';
import type { PoleState, WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, type Id, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import { type Channel, POLE } from '../telemetry.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import { Bimetal } from './bimetal.ts';
import { startChart } from './chart.ts';
import { contactChart } from './contact-chart.ts';
import { FORMER_SPEC } from './former-params.ts';
import { Lag } from './lag.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';

/** The autotransformer that holds the neutral in the middle of an island. */
export const former: Kind = { spec: FORMER_SPEC, make: (piece, around) => new Former(piece, around) };

/** Position codes of the gateway's table (`neutralAux`). */
const POSITION = { unknown: 0, open: 1, closed: 2 } as const;
const OWN: Cause = { origin: 'equipment', number: undefined };
/** The overload of which the trip time is stated, over the rating. */
const OVERLOAD = 1.5;

/**
 * Two equal windings L1-N and N-L2 with impedance z each and balanced ampere-turns: v1 - v2 = -z I_N, magnetising
 * reactance across L1-L2. Saturation and inrush are left out (waveform level). One contact stands for its two poles.
 */
class Former implements EquipmentPiece, PhasorDevice {
  readonly id: Id;
  readonly kind = 'former';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly neutral: { readonly bus: number; holds(): boolean };
  readonly #around: Surroundings;
  readonly #params: Bag;
  readonly #nodes: WiredBus;
  readonly #chart: Actor<typeof contactChart>;
  readonly #bimetal: Bimetal;
  readonly #busVoltage: Lag;
  readonly #listeners: ((cause: Cause) => void)[] = [];
  readonly #isFixed: boolean;
  #contact: PoleState;
  #isOrdered: boolean;
  #isDriven: boolean;
  #isHeldByBus = false;
  #hasTripped = false;
  #hasLetGo = false;

  constructor(piece: Piece, around: Surroundings) {
    this.id = piece.id;
    this.#around = around;
    this.#params = piece.params;
    this.#nodes = around.wiring.bus(piece.at[0]!);
    this.bus = this.#nodes.index;
    this.#isFixed = textOf(piece.params, 'heldBy') === 'fixed';
    const closed = this.#isFixed || flagOf(around.start, 'closed');
    this.#contact = closed ? 'closed' : 'open';
    this.#isOrdered = closed;
    this.#isDriven = closed;
    this.neutral = { bus: this.bus, holds: () => this.#contact !== 'open' };
    this.#busVoltage = new Lag(closed ? LINE_V : 0, numberOf(piece.params, 'voltageLag') / US_PER_S, LINE_V);
    this.#isHeldByBus = closed;
    this.#bimetal = this.#makeBimetal();
    this.#chart = this.#makeChart(closed);
  }

  order(output: string, value: number, cause: Cause): void {
    if (output !== 'neutralContactor' || this.#isFixed) return;
    this.#isOrdered = value === 1;
    this.#drive(cause, 0);
  }

  does(name: string, _using: Bag, cause: Cause): void {
    if (name === 'weld') this.#chart.send({ type: 'WELD', cause });
    if (name === 'reset') this.#hasTripped = false;
    if (name === 'open by itself') this.#hasLetGo = true;
    if (name === 'mend') {
      this.#hasLetGo = false;
      this.#chart.send({ type: 'MEND', cause });
    }
    this.#drive(cause, 0);
  }

  settle(): void {
    const level = this.#around.level();
    const size_V = lineSize(level.vRe, level.vIm, this.#nodes);
    this.#busVoltage.value = size_V;
    this.#isHeldByBus = size_V >= numberOf(this.#params, 'dropOutVoltage') * LINE_V && this.#isDriven;
    const current_A = this.#neutralCurrent();
    this.#bimetal.begin(Math.min(1, current_A / numberOf(this.#params, 'rating')), current_A);
  }

  stamp(net: PhasorNet): void {
    if (this.#contact === 'open') return;
    const { L1, L2, N } = this.#nodes;
    // y (v1 - v2)/2 into each half, with v1 - v2 = V1 + V2 - 2 V_N: one coupled branch of admittance y/2.
    net.coupled(L1, 1, L2, 1, N, -2, 2 * numberOf(this.#params, 'resistance'), 2 * numberOf(this.#params, 'leakage'));
    net.shunt(L1, L2, 0, 0, 1 / numberOf(this.#params, 'magnetising'));
  }

  accept(net: PhasorNet, h_s: number): boolean {
    this.#bimetal.carry(
      this.#currentFrom(
        (node) => net.re(node),
        (node) => net.im(node),
        net.w,
      ),
    );
    if (textOf(this.#params, 'heldBy') !== 'bus') return false;
    const before_V = this.#busVoltage.value;
    const re = net.re(this.#nodes.L1) - net.re(this.#nodes.L2);
    const im = net.im(this.#nodes.L1) - net.im(this.#nodes.L2);
    const moved = this.#busVoltage.step(Math.sqrt(re * re + im * im), h_s);
    this.#watchBus(before_V, h_s);
    return moved;
  }

  channels(): Channel[] {
    return [
      { name: `${this.id}.contactor`, unit: 'state', states: POLE },
      { name: `${this.id}.neutralCurrent`, unit: 'A' },
      { name: `${this.id}.thermal`, unit: '1' },
    ];
  }

  write(out: Float64Array, at: number): void {
    out[at] = POLE.indexOf(this.#contact);
    out[at + 1] = this.#neutralCurrent();
    out[at + 2] = this.#bimetal.shown;
  }

  /** `aux`: position code; `neutralCurrent`: A rms. */
  signal(name: string): number {
    if (name === 'neutralCurrent') return this.#neutralCurrent();
    if (name !== 'aux' || !flagOf(this.#params, 'aux')) return POSITION.unknown;
    return this.#contact === 'open' ? POSITION.open : POSITION.closed;
  }

  watch(_signal: string, listener: (cause: Cause) => void): void {
    this.#listeners.push(listener);
  }

  digestState(now_us: number): readonly Plain[] {
    const { value, context } = this.#chart.getSnapshot();
    return [
      JSON.stringify(value),
      this.#contact,
      context.weldsNext,
      this.#isOrdered,
      this.#isDriven,
      this.#isHeldByBus,
      this.#hasTripped,
      this.#hasLetGo,
      this.#busVoltage.value,
      ...this.#bimetal.digestState(now_us),
    ];
  }

  /** Neutral current |v1 - v2| / |z|, A rms. */
  #neutralCurrent(): number {
    const level = this.#around.level();
    const { w } = level.partAt(this.bus);
    return this.#currentFrom(
      (node) => level.vRe[node]!,
      (node) => level.vIm[node]!,
      w,
    );
  }

  #currentFrom(re: (node: number) => number, im: (node: number) => number, w: number): number {
    if (this.#contact === 'open') return 0;
    const { L1, L2, N } = this.#nodes;
    const dRe = re(L1) + re(L2) - 2 * re(N);
    const dIm = im(L1) + im(L2) - 2 * im(N);
    const r = numberOf(this.#params, 'resistance');
    const x = (numberOf(this.#params, 'leakage') * w) / NOMINAL_rad_per_s;
    return Math.sqrt((dRe * dRe + dIm * dIm) / (r * r + x * x));
  }

  /** Hysteresis of a coil on the bus that it serves; the crossing is interpolated inside the step. */
  #watchBus(before_V: number, h_s: number): void {
    const after_V = this.#busVoltage.value;
    const name = this.#isHeldByBus ? 'dropOutVoltage' : 'pickUpVoltage';
    const bound_V = numberOf(this.#params, name) * LINE_V;
    const crossed = this.#isHeldByBus ? after_V < bound_V : after_V >= bound_V;
    if (!crossed) return;
    const share = after_V === before_V ? 1 : Math.min(1, Math.max(0, (bound_V - before_V) / (after_V - before_V)));
    this.#isHeldByBus = !this.#isHeldByBus;
    this.#drive(OWN, Math.floor((1 - share) * h_s * US_PER_S));
  }

  #drive(cause: Cause, early_us: number): void {
    const isFed = textOf(this.#params, 'heldBy') !== 'bus' || this.#isHeldByBus;
    const closed = this.#isOrdered && isFed && !this.#hasTripped && !this.#hasLetGo;
    if (closed === this.#isDriven) return;
    this.#isDriven = closed;
    this.#chart.send({ type: 'DRIVE', closed, cause, early_us });
  }

  #makeBimetal(): Bimetal {
    const hold = numberOf(this.#params, 'holdFactor');
    const square = OVERLOAD * OVERLOAD;
    const tau_s = numberOf(this.#params, 'overloadTime') / US_PER_S / log(square / (square - hold * hold));
    const settings = { rated_A: numberOf(this.#params, 'rating'), hold, tau_s };
    return new Bimetal(this.#around.kernel, this.id, settings, {
      trips: () => {
        this.#hasTripped = true;
        this.#drive(this.#around.happened(this.id, 'trips thermal', OWN), 0);
      },
      shows: () => this.#around.noted(),
    });
  }

  #makeChart(closed: boolean): Actor<typeof contactChart> {
    const show = (did: string, contact: PoleState, cause: Cause): void => {
      const isMove = (contact === 'open') !== (this.#contact === 'open');
      this.#around.change(() => {
        if (did !== '') for (const leg of ['L1', 'L2']) this.#around.happened(this.id, `${did} ${leg}`, cause);
        this.#contact = contact;
      });
      if (isMove) for (const listener of this.#listeners) listener(cause);
    };
    const times = {
      make_us: numberOf(this.#params, 'makeTime'),
      break_us: numberOf(this.#params, 'breakTime'),
      mirror_us: 0,
      bounceCount: 0,
      bounce_us: 0,
    };
    const nothing = (): void => {};
    return startChart(contactChart, this.#around.kernel, this.id, {
      closed,
      times,
      hands: {
        touch: (cause) => show('touches', 'closed', cause),
        part: (cause) => show('parts', 'open', cause),
        weld: (cause) => show('welds', 'welded', cause),
        unweld: (cause) => show('', 'closed', cause),
        nears: nothing,
        rests: nothing,
      },
    });
  }
}

function lineSize(vRe: Float64Array, vIm: Float64Array, bus: WiredBus): number {
  const re = vRe[bus.L1]! - vRe[bus.L2]!;
  const im = vIm[bus.L1]! - vIm[bus.L2]!;
  return Math.sqrt(re * re + im * im);
}
