import type { Actor } from 'xstate';
import { assert } from '../check.ts';
import type { Lead, PhasorDevice, PhasorNet } from '../network/device.ts';
import { EARTH, type NeutralBranch, POLE_CLOSED_S, type Pole } from '../network/wiring.ts';
import { type Bag, type Leg, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import { type Channel, POLE } from '../telemetry.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import { startChart } from './chart.ts';
import type { MotorSettings } from './motor-group.ts';
import { Neighbours } from './neighbours.ts';
import type { Cause, EquipmentPiece, Kind, LoadFacet, Surroundings } from './piece.ts';
import { ServiceTransformer } from './service-transformer.ts';
import { type Reclosing, switchChart } from './utility-chart.ts';
import { UtilitySource } from './utility-source.ts';
import { UTILITY_SPEC } from './utility-spec.ts';

export interface UtilityPiece extends EquipmentPiece {
  /** For which legs of the service bus there is a utility that is switched on. Voltage does not enter. */
  presence(): { L1: boolean; L2: boolean };
  /** Index of the service bus. */
  readonly serviceBus: number;
}

/** Neutral between transformer and service: as good as none beside any drop. */
const NEUTRAL_ohm = 1e-4;

/**
 * The street as seen from the service bus: a stiff medium-voltage source with an angle of its own, its switch, the
 * centre-tapped service transformer, the other houses on it, and a pole on each leg towards the site.
 *
 * The medium-voltage network itself, other transformers on it and its earth faults are left out.
 */
class Utility implements UtilityPiece, PhasorDevice {
  readonly id: string;
  readonly kind = 'utility';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly serviceBus: number;
  readonly neutral: { readonly bus: number; holds(): boolean };
  readonly load: LoadFacet;
  readonly #around: Surroundings;
  readonly #transformer: ServiceTransformer;
  readonly #neighbours: Neighbours;
  readonly #source: UtilitySource;
  readonly #saturation: string;
  readonly #poles: Readonly<Record<Leg, Pole>>;
  readonly #neutral: NeutralBranch;
  readonly #switch: Actor<typeof switchChart>;
  #closed: boolean;
  readonly #does: Readonly<Record<string, (using: Bag, cause: Cause) => void>> = {
    outage: (_using, cause) => this.#switch.send({ type: 'OFF', cause }),
    restore: (using, cause) => {
      this.#source.returns(numberOf(using, 'angle'), numberOf(using, 'voltage'));
      this.#switch.send({ type: 'ON', cause });
    },
    recloser: (using, cause) => this.#switch.send({ type: 'RECLOSE', plan: recloserOf(using), cause }),
    flap: (using, cause) => this.#switch.send({ type: 'RECLOSE', plan: flapOf(using), cause }),
    sag: (using, cause) => this.#source.excursion('sag', using, cause),
    swell: (using, cause) => this.#source.excursion('swell', using, cause),
    'lose leg': (using, cause) => this.#moveLeg(textOf(using, 'leg') as Leg, false, cause),
    'restore leg': (using, cause) => this.#moveLeg(textOf(using, 'leg') as Leg, true, cause),
    'open neutral': (_using, cause) => this.#moveNeutral(false, cause),
    'mend neutral': (_using, cause) => this.#moveNeutral(true, cause),
    'frequency step': (using) => this.#source.stepTo(numberOf(using, 'frequency')),
    'frequency ramp': (using) => this.#source.rampTo(numberOf(using, 'frequency'), numberOf(using, 'rate')),
    'phase jump': (using) => this.#source.jump(numberOf(using, 'angle')),
    neighbours: (using) => this.#around.change(() => this.#neighbours.setPower(numberOf(using, 'power'))),
  };
  constructor({ id, at, params }: Piece, around: Surroundings) {
    this.id = id;
    this.#around = around;
    const { wiring, kernel, start } = around;
    const service = wiring.bus(at[0]!);
    const terminals = wiring.addBus(`${id}~`, true);
    this.bus = terminals.index;
    this.serviceBus = service.index;
    this.#transformer = new ServiceTransformer(transformerOf(params), wiring.addInnerNode(terminals), terminals);
    const settings = {
      powerFactor: numberOf(params, 'powerFactor'),
      motorShare: numberOf(params, 'motorShare') / 100,
      motors: motorsOf(params),
    };
    const power_W = numberOf(start.neighbours === undefined ? params : start, 'neighbours');
    this.#neighbours = new Neighbours(settings, power_W, terminals, id, kernel, around.change);
    this.#saturation = textOf(params, 'saturation');
    this.#poles = {
      L1: wiring.addPole(id, 'L1', terminals, service, 'closed'),
      L2: wiring.addPole(id, 'L2', terminals, service, 'closed'),
    };
    this.#neutral = wiring.addNeutral(terminals.N, service.N, NEUTRAL_ohm, 0);
    wiring.addNeutral(terminals.N, EARTH, numberOf(params, 'ground'), 0);
    this.neutral = {
      bus: service.index,
      holds: () => this.#conducts('L1') && this.#conducts('L2') && this.#neutral.connected,
    };
    this.load = { bus: terminals.index, nominal: () => this.#neighbours.nominal() };
    this.#closed = start.on !== false;
    this.#source = new UtilitySource(id, around);
    const act = (closed: boolean, cause: Cause): void => this.#turnSupply(closed, cause);
    this.#switch = startChart(switchChart, kernel, id, { closed: this.#closed, act });
  }

  presence(): { L1: boolean; L2: boolean } {
    return { L1: this.#closed && this.#conducts('L1'), L2: this.#closed && this.#conducts('L2') };
  }

  lead(): Lead | undefined {
    return this.#closed ? { kind: 'utility', frame: this.#source.frame, rating: Number.POSITIVE_INFINITY } : undefined;
  }

  drives(): boolean {
    return this.#neighbours.drives();
  }

  follow(net: PhasorNet): void {
    this.#neighbours.follow(net);
  }

  rebase(by_rad: number): void {
    this.#neighbours.rebase(by_rad);
  }

  stamp(net: PhasorNet): void {
    this.#transformer.stamp(net);
    if (this.#closed) this.#transformer.stampSource(net, LINE_V * this.#source.voltage);
    this.#neighbours.stamp(net);
  }

  advance(net: PhasorNet, h_s: number): boolean {
    const saturates = this.#saturation === 'always' || (this.#saturation === 'islands' && !this.#closed);
    return this.#transformer.advance(net, h_s, saturates);
  }

  accept(net: PhasorNet, h_s: number): boolean {
    return this.#neighbours.accept(net, h_s);
  }

  settle(): void {
    if (this.#closed) this.#neighbours.settle(this.#around.level().partAt(this.bus));
  }

  channels(): readonly Channel[] {
    const { id } = this;
    return [
      { name: `${id}.on`, unit: 'bit' },
      { name: `${id}.voltage`, unit: '1' },
      { name: `${id}.frequency`, unit: 'Hz' },
      { name: `${id}.L1`, unit: 'state', states: POLE },
      { name: `${id}.L2`, unit: 'state', states: POLE },
      { name: `${id}.neutral`, unit: 'bit' },
      { name: `${id}.neighbours`, unit: 'W' },
      { name: `${id}.i1`, unit: 'A' },
      { name: `${id}.i2`, unit: 'A' },
    ];
  }

  write(out: Float64Array, at: number): void {
    const bit = (value: boolean): number => (value ? 1 : 0);
    out[at] = bit(this.#closed);
    out[at + 1] = this.#source.voltage;
    out[at + 2] = this.#source.f_Hz;
    out[at + 3] = bit(this.#conducts('L1'));
    out[at + 4] = bit(this.#conducts('L2'));
    out[at + 5] = bit(this.#neutral.connected);
    out[at + 6] = this.#neighbours.power_W;
    out[at + 7] = this.#current_A(this.#poles.L1);
    out[at + 8] = this.#current_A(this.#poles.L2);
  }

  does(name: string, using: Bag, cause: Cause): void {
    const act = this.#does[name];
    assert(act !== undefined, `a utility cannot ${name}`);
    act(using, cause);
  }

  digestState(now_us: number): readonly Plain[] {
    const { value, context } = this.#switch.getSnapshot();
    return [
      String(value),
      context.tried,
      ...context.plan.dead_us,
      ...this.#source.digest(now_us),
      this.#poles.L1.state,
      this.#poles.L2.state,
      this.#neutral.connected,
      this.#transformer.saturation.value,
      ...this.#neighbours.digest(now_us),
    ];
  }

  #turnSupply(closed: boolean, cause: Cause): void {
    if (closed === this.#closed) return;
    this.#around.change(() => {
      this.#around.happened(this.id, closed ? 'supply back' : 'supply lost', cause);
      this.#closed = closed;
    });
  }

  #moveLeg(leg: Leg, conducts: boolean, cause: Cause): void {
    if (this.#conducts(leg) === conducts) return;
    this.#around.change(() => {
      this.#around.happened(this.id, `leg ${conducts ? 'back' : 'lost'} ${leg}`, cause);
      this.#poles[leg].state = conducts ? 'closed' : 'open';
    });
  }

  #moveNeutral(connected: boolean, cause: Cause): void {
    if (this.#neutral.connected === connected) return;
    this.#around.change(() => {
      this.#around.happened(this.id, connected ? 'neutral back' : 'neutral lost', cause);
      this.#neutral.connected = connected;
    });
  }

  #conducts(leg: Leg): boolean {
    return this.#poles[leg].state !== 'open';
  }

  #current_A(pole: Pole): number {
    if (pole.state === 'open') return 0;
    const { vRe, vIm } = this.#around.level();
    const re = vRe[pole.nodeA]! - vRe[pole.nodeB]!;
    const im = vIm[pole.nodeA]! - vIm[pole.nodeB]!;
    return Math.sqrt(re * re + im * im) * POLE_CLOSED_S;
  }
}

function transformerOf(params: Bag) {
  return {
    rated_VA: numberOf(params, 'rating'),
    resistance: numberOf(params, 'resistance') / 100,
    reactance: numberOf(params, 'reactance') / 100,
    magnetising: numberOf(params, 'magnetising') / 100,
    noLoadLoss: numberOf(params, 'noLoadLoss') / 100,
    knee: numberOf(params, 'knee'),
    airCore: numberOf(params, 'airCore'),
    saturationLag_s: numberOf(params, 'saturationLag') / US_PER_S,
  };
}

function motorsOf(params: Bag): MotorSettings {
  return {
    groups: Math.round(numberOf(params, 'motorGroups')),
    contactors: numberOf(params, 'motorContactors') / 100,
    dropBelow: numberOf(params, 'motorDropOut'),
    dropTime_us: numberOf(params, 'motorDropTime'),
    restart_us: numberOf(params, 'motorRestart'),
    spread_us: numberOf(params, 'motorSpread'),
  };
}

function recloserOf(using: Bag): Reclosing {
  const attempts = Math.round(numberOf(using, 'attempts'));
  const dead_us = ['dead1', 'dead2', 'dead3'].slice(0, attempts).map((name) => numberOf(using, name));
  return { dead_us, on_us: numberOf(using, 'onTime'), endsOn: textOf(using, 'ends') === 'on' };
}

function flapOf(using: Bag): Reclosing {
  const half_us = Math.round(numberOf(using, 'period') / 2);
  return { dead_us: Array<number>(Math.round(numberOf(using, 'count'))).fill(half_us), on_us: half_us, endsOn: true };
}

export const utility: Kind = { spec: UTILITY_SPEC, make: (piece, around) => new Utility(piece, around) };
