import { assert } from '../check.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import { type Bag, flagOf, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import { type LoadBody, share, type Terminals, terminalsOf } from './load-body.ts';
import { impedanceLoad, resonantLoad } from './load-fixed.ts';
import { HeaterLoad } from './load-heater.ts';
import { MotorLoad } from './load-motor.ts';
import { ColdPickup } from './load-pickup.ts';
import { LoadSchedule } from './load-schedule.ts';
import { LOAD_SPEC } from './load-spec.ts';
import { electronicSettings, ZipLoad, zipSettings } from './load-zip.ts';
import type { Cause, EquipmentPiece, Kind, LoadFacet, Surroundings } from './piece.ts';

function makeBody(at: Terminals, params: Bag, power_W: number, connected: boolean, scale: () => number): LoadBody {
  const type = textOf(params, 'type');
  if (type === 'impedance') return impedanceLoad(at, params, power_W, connected, scale);
  if (type === 'resonant') return resonantLoad(at, params, power_W, connected, () => 1);
  if (type === 'zip') return new ZipLoad(at, zipSettings(params), power_W, connected, scale);
  if (type === 'electronic') return new ZipLoad(at, electronicSettings(params), power_W, connected, scale);
  if (type === 'heater') return new HeaterLoad(at, params, power_W, connected);
  assert(type === 'motor', `no load is of type ${type}`);
  return new MotorLoad(at, params, power_W, connected);
}

/**
 * A load behind its own switch and, where it has them, a timer switch and a shed contact of the gateway; what it is, its
 * body knows.
 *
 * The shed contact is open while its bit of the mask is set.
 */
class Load implements EquipmentPiece, PhasorDevice {
  readonly id: string;
  readonly kind = 'load';
  readonly devices: readonly PhasorDevice[] = [this];
  readonly bus: number;
  readonly load: LoadFacet;
  readonly #around: Surroundings;
  readonly #at: Terminals;
  readonly #leg: 'g1_S' | 'g2_S' | 'g12_S';
  readonly #shedMask: number;
  readonly #pickup: ColdPickup;
  readonly #schedule: LoadSchedule;
  readonly #body: LoadBody;
  #on: boolean;
  #shed = false;

  constructor({ id, at, legs, params }: Piece, around: Surroundings) {
    this.id = id;
    this.#around = around;
    const bus = around.wiring.bus(at[0]!);
    this.bus = bus.index;
    this.#at = terminalsOf(id, around, bus, legs);
    this.#leg = !legs.includes('N') ? 'g12_S' : legs.includes('L1') ? 'g1_S' : 'g2_S';
    const bit = numberOf(params, 'shedBit');
    this.#shedMask = bit > 0 ? 1 << (bit - 1) : 0;
    const { start } = around;
    this.#on = flagOf(start, 'on');
    const power_W = start.power === undefined ? numberOf(params, 'power') : numberOf(start, 'power');
    this.#pickup = new ColdPickup(this.#at, params, numberOf(start, 'darkFor'));
    this.#schedule = new LoadSchedule(this.#at, params, (move) => this.#switch(move));
    this.#body = makeBody(this.#at, params, power_W, this.connected, () => this.#pickup.multiple);
    this.load = { bus: this.bus, nominal: () => this.#nominal() };
  }

  get connected(): boolean {
    return this.#on && !this.#shed && this.#schedule.isClosed;
  }

  stamp(net: PhasorNet): void {
    if (this.connected) this.#body.stamp(net);
  }

  drives(): boolean {
    return this.connected && this.#body.drives?.() === true;
  }

  follow(net: PhasorNet): void {
    if (this.connected) this.#body.follow?.(net);
  }

  rebase(by_rad: number): void {
    this.#body.rebase?.(by_rad);
  }

  advance(net: PhasorNet, h_s: number): boolean {
    return this.connected && this.#body.advance?.(net, h_s) === true;
  }

  accept(net: PhasorNet, h_s: number): boolean {
    this.#pickup.see(this.connected ? share(net, this.#at) : 0);
    return this.#body.accept?.(net, h_s) === true;
  }

  settle(): void {
    const net = this.#around.level().partAt(this.bus);
    this.#body.settle(net);
    this.#pickup.settle(this.connected ? share(net, this.#at) : 0);
  }

  channels(): readonly Channel[] {
    const extras = this.#body.extras ?? [];
    return [
      { name: `${this.id}.p`, unit: 'W' },
      { name: `${this.id}.on`, unit: 'bit' },
      { name: `${this.id}.state`, unit: 'state', states: this.#body.states },
      ...extras.map(({ name, unit }): Channel => ({ name: `${this.id}.${name}`, unit })),
    ];
  }

  write(out: Float64Array, at: number): void {
    out[at] = this.connected ? this.#body.power_W(this.#around.level().partAt(this.bus)) : 0;
    out[at + 1] = this.connected ? 1 : 0;
    out[at + 2] = this.#body.state();
    const count = this.#body.extras?.length ?? 0;
    for (let i = 0; i < count; i += 1) out[at + 3 + i] = this.#body.extra!(i, this.#around.kernel.now_us);
  }

  does(name: string, using: Bag, _cause: Cause): void {
    if (name === 'on' || name === 'off' || name === 'start') {
      this.#switch(() => {
        this.#on = name !== 'off';
      }, name === 'start');
    } else if (name === 'set power') this.#around.change(() => this.#body.setPower(numberOf(using, 'power')));
    else {
      assert(name === 'draw', `a load cannot ${name}`);
      this.#body.draw?.(numberOf(using, 'volume'));
    }
  }

  order(output: string, value: number, cause: Cause): void {
    if (output !== 'shed' || this.#shedMask === 0) return;
    const shed = (value & this.#shedMask) !== 0;
    if (shed === this.#shed) return;
    this.#switch(() => {
      this.#around.happened(this.id, shed ? 'sheds' : 'unsheds', cause);
      this.#shed = shed;
    });
  }

  digestState(now_us: number): readonly Plain[] {
    const own = [this.#on, this.#shed, ...this.#schedule.digest()];
    return [...own, ...this.#pickup.digest(now_us), ...this.#body.digest(now_us)];
  }

  #switch(mutate: () => void, free = false): void {
    this.#around.change(() => {
      const before = this.connected;
      mutate();
      if (this.connected !== before) this.#body.switched(this.connected, free);
    });
  }

  #nominal(): { g1_S: number; g2_S: number; g12_S: number } {
    const nominal = { g1_S: 0, g2_S: 0, g12_S: 0 };
    if (this.connected) nominal[this.#leg] = this.#body.nominal_S();
    return nominal;
  }
}

export const load: Kind = { spec: LOAD_SPEC, make: (piece, around) => new Load(piece, around) };
