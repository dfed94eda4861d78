import type { Actor } from 'xstate';
import { assert } from '../check.ts';
import type { PhasorDevice } from '../network/device.ts';
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
import { startChart } from './chart.ts';
import { contactChart } from './contact-chart.ts';
import type { Cause, EquipmentPiece, Kind, Surroundings } from './piece.ts';
import { PoleSet } from './poles.ts';
import { ProvingContact } from './proving-contact.ts';
import { RELAY_SPEC } from './relay-params.ts';

/** The isolation relay: each pole its own chart, weld and proving contacts. */
export const relay: Kind = { spec: RELAY_SPEC, make: (piece, around) => new Relay(piece, around) };

const OWN: Cause = { origin: 'equipment', number: undefined };
type ProofName = 'openProved1' | 'openProved2' | 'closedProved1' | 'closedProved2';
const PROOFS: readonly ProofName[] = ['openProved1', 'openProved2', 'closedProved1', 'closedProved2'];
const isProof = (name: string): name is ProofName => (PROOFS as readonly string[]).includes(name);

/**
 * `relayCoil` is the wanted position of the contacts, 1 closed and 0 open, for every type; the relay's drive turns it
 * into what its coil needs. Without supply a held-closed relay falls open, a held-open one closed, a latching one stays.
 *
 * The interlock is the series of the open-proved contacts of all line poles, as they show, lies included.
 */
class Relay implements EquipmentPiece {
  readonly id: Id;
  readonly kind = 'relay';
  readonly devices: readonly PhasorDevice[] = [];
  readonly poleSet: PoleSet;
  readonly #around: Surroundings;
  readonly #params: Bag;
  readonly #charts = new Map<Conductor, Actor<typeof contactChart>>();
  readonly #proofs: Record<ProofName, ProvingContact>;
  readonly #listeners = new Map<string, ((cause: Cause) => void)[]>();
  #wantsClosed: boolean;
  /** What the coils were last driven to. */
  #drivenClosed: boolean;
  #byItself: boolean | undefined;
  #isSupplyLost = false;

  constructor(piece: Piece, around: Surroundings) {
    this.id = piece.id;
    this.#around = around;
    this.#params = piece.params;
    const closed = flagOf(around.start, 'closed');
    this.#wantsClosed = closed;
    this.#drivenClosed = closed;
    const from = around.wiring.bus(piece.at[0]!);
    const to = around.wiring.bus(piece.at[1]!);
    this.poleSet = new PoleSet(around.wiring, piece.id, from, to, closed ? 'closed' : 'open', piece.legs);
    const proof = (name: ProofName): ProvingContact => {
      const isOpen = name.startsWith('open');
      return new ProvingContact(around, piece.id, name, isOpen !== closed ? 1 : 0, (cause) =>
        this.#tell(isOpen ? ['openProved', 'interlock', name] : ['closedProved', name], cause),
      );
    };
    this.#proofs = {
      openProved1: proof('openProved1'),
      openProved2: proof('openProved2'),
      closedProved1: proof('closedProved1'),
      closedProved2: proof('closedProved2'),
    };
    for (const conductor of this.poleSet.conductors) this.#charts.set(conductor, this.#chartOf(conductor, closed));
  }

  begin(): void {
    const supply = textOf(this.#params, 'supply');
    if (supply === 'own') return;
    const feeder = this.#around.piece(supply);
    assert(
      feeder !== undefined,
      `relay ${this.id} is supplied by ${supply}, which is not there; was the site checked?`,
    );
    feeder.watch?.('controlSupply', (cause) => this.#supplyMoved(cause));
    const { kernel } = this.#around;
    // Every piece has begun by then, so that the supply is what it is.
    kernel.at(kernel.now_us, 'protection', this.id, 'looks at its supply', () => this.#supplyMoved(OWN));
  }

  order(output: string, value: number, cause: Cause): void {
    if (output !== 'relayCoil') return;
    this.#wantsClosed = value === 1;
    if (this.#isSupplied) this.#byItself = undefined;
    this.#drive(cause);
  }

  does(name: string, using: Bag, cause: Cause): void {
    if (name === 'lose supply' || name === 'restore supply') {
      this.#isSupplyLost = name === 'lose supply';
      this.#supplyMoved(cause);
    } else if (name === 'operate') {
      this.#byItself = textOf(using, 'to') === 'closed';
      this.#drive(cause);
    } else if (name === 'lie') {
      const contact = textOf(using, 'contact');
      assert(isProof(contact), `no proving contact ${contact}; was the scenario checked?`);
      this.#proofs[contact].stick(numberOf(using, 'shows') === 1 ? 1 : 0, cause);
    } else {
      for (const [conductor, chart] of this.#charts) {
        const pole = textOf(using, 'pole');
        if (pole === 'both' ? conductor === 'N' : pole !== conductor) continue;
        this.#faultOf(name, conductor, chart, using, cause);
      }
    }
  }

  #faultOf(name: string, conductor: Conductor, chart: Actor<typeof contactChart>, using: Bag, cause: Cause): void {
    if (name === 'weld') chart.send({ type: 'WELD', cause });
    else if (name === 'slow') chart.send({ type: 'SLOW', extra_us: numberOf(using, 'extra') });
    else if (name === 'stick') chart.send({ type: 'STICK' });
    else if (name === 'chatter') {
      const period_us = numberOf(using, 'period');
      chart.send({ type: 'CHATTER', count: numberOf(using, 'count'), period_us, cause });
    } else {
      assert(name === 'mend', `a relay cannot ${name}; was the scenario checked?`);
      const [open, closed] = this.#proofsOf(conductor);
      open?.stick(undefined, cause);
      closed?.stick(undefined, cause);
      chart.send({ type: 'MEND', cause });
    }
  }

  channels(): Channel[] {
    return [
      ...this.poleSet.channels(),
      ...PROOFS.map((name): Channel => ({ name: `${this.id}.${name}`, unit: 'bit' })),
      { name: `${this.id}.coil`, unit: 'bit' },
      { name: `${this.id}.controlSupply`, unit: 'V' },
    ];
  }

  write(out: Float64Array, at: number): void {
    let next = this.poleSet.write(this.#around.level(), out, at);
    for (const name of PROOFS) out[next++] = this.#proofs[name].shown;
    out[next++] = this.#drivenClosed ? 1 : 0;
    out[next] = this.#supply_V;
  }

  /** Proving contacts 0 or 1, `interlock` 1 while every line pole shows open, `controlSupply` in V. */
  signal(name: string): number {
    if (isProof(name)) return this.#proofs[name].shown;
    if (name === 'interlock' || name === 'openProved') return this.#both('openProved1', 'openProved2');
    if (name === 'closedProved') return this.#both('closedProved1', 'closedProved2');
    return name === 'controlSupply' ? this.#supply_V : 0;
  }

  /** `openProved` (same as `interlock`), `closedProved`, any one contact by name, `controlSupply`. */
  watch(signal: string, listener: (cause: Cause) => void): void {
    this.#listeners.set(signal, [...(this.#listeners.get(signal) ?? []), listener]);
  }

  digestState(): readonly Plain[] {
    const charts = [...this.#charts].flatMap(([conductor, chart]): Plain[] => {
      const { value, context } = chart.getSnapshot();
      const { extra_us, stuck, weldsNext, bouncesLeft, chattersLeft } = context;
      const state = JSON.stringify(value);
      return [conductor, state, this.poleSet.state(conductor), extra_us, stuck, weldsNext, bouncesLeft, chattersLeft];
    });
    const proofs = PROOFS.flatMap((name) => [this.#proofs[name].real, this.#proofs[name].shown]);
    const itself = this.#byItself ?? 'by order';
    return [this.#wantsClosed, this.#drivenClosed, itself, this.#isSupplyLost, this.#supply_V, ...charts, ...proofs];
  }

  #both(first: ProofName, second: ProofName): number {
    return this.#proofs[first].shown === 1 && this.#proofs[second].shown === 1 ? 1 : 0;
  }

  get #supply_V(): number {
    if (this.#isSupplyLost) return 0;
    const supply = textOf(this.#params, 'supply');
    if (supply === 'own') return numberOf(this.#params, 'supplyVoltage');
    return this.#around.piece(supply)?.signal?.('controlSupply') ?? 0;
  }

  get #isSupplied(): boolean {
    return this.#supply_V >= numberOf(this.#params, 'supplyMin');
  }

  #supplyMoved(cause: Cause): void {
    this.#around.noted();
    this.#tell(['controlSupply'], cause);
    this.#drive(cause);
  }

  /** Where the contacts are driven: by itself, by order, or by the spring when there is no supply. */
  #drive(cause: Cause): void {
    const type = textOf(this.#params, 'type');
    let closed = this.#wantsClosed;
    if (!this.#isSupplied) closed = type === 'latching' ? this.#drivenClosed : type === 'held-open';
    if (this.#byItself !== undefined) closed = this.#byItself;
    if (closed === this.#drivenClosed) return;
    this.#drivenClosed = closed;
    this.#around.noted();
    for (const chart of this.#charts.values()) chart.send({ type: 'DRIVE', closed, cause });
  }

  #tell(signals: readonly string[], cause: Cause): void {
    for (const signal of signals) for (const listener of this.#listeners.get(signal) ?? []) listener(cause);
  }

  #proofsOf(conductor: Conductor): readonly [ProvingContact, ProvingContact] | readonly [undefined, undefined] {
    if (conductor === 'N') return [undefined, undefined];
    const n = conductor === 'L1' ? 1 : 2;
    return [this.#proofs[`openProved${n}`], this.#proofs[`closedProved${n}`]];
  }

  #chartOf(conductor: Conductor, closed: boolean): Actor<typeof contactChart> {
    const of = (name: string): number => numberOf(this.#params, name);
    const later = conductor === 'L1' ? 0 : 1;
    const lag_us = of('proofLag');
    const [openProof, closedProof] = this.#proofsOf(conductor);
    const show = (did: string, state: 'open' | 'closed' | 'welded', cause: Cause): void =>
      this.#around.change(() => {
        if (did !== '') this.#around.happened(this.id, `${did} ${conductor}`, cause);
        this.poleSet.set(conductor, state);
      });
    return startChart(contactChart, this.#around.kernel, this.id, {
      closed,
      times: {
        make_us: of('pickUp') + later * of('pickUpSpread'),
        break_us: of('dropOut') + later * of('dropOutSpread'),
        mirror_us: lag_us,
        bounceCount: of('bounceCount'),
        bounce_us: of('bounce'),
      },
      hands: {
        nears: (cause) => openProof?.set(0, 0, cause),
        touch: (cause) => {
          show('touches', 'closed', cause);
          closedProof?.set(1, lag_us, cause);
        },
        part: (cause) => {
          show('parts', 'open', cause);
          closedProof?.set(0, 0, cause);
        },
        rests: (cause) => openProof?.set(1, lag_us, cause),
        weld: (cause) => show('welds', 'welded', cause),
        unweld: (cause) => show('', 'closed', cause),
      },
    });
  }
}
