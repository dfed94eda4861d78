import type { Actor } from 'xstate';
import { DeadbusBug } from '../check.ts';
import { atan2 } from '../maths.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, numberOf, type Piece, type Plain, textOf } from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import { startChart } from './chart.ts';
import { isVersionAtLeast } from './firmware.ts';
import type { Cause, EquipmentPiece, Kind, LoadFacet, SourceFacet, Surroundings } from './piece.ts';
import { COMMAND, VEHICLE_FAULTS, VEHICLE_MODES, type VehicleMode, vehicleChart } from './vehicle-chart.ts';
import { vehicleCores } from './vehicle-cores.ts';
import { VehicleDevice } from './vehicle-device.ts';
import { VehicleGuards } from './vehicle-guards.ts';
import { VehicleLink } from './vehicle-link.ts';
import { PlugLock } from './vehicle-lock.ts';
import { vehicleSpec } from './vehicle-params.ts';
import { deviceOf, timesOf } from './vehicle-settings.ts';
import { VehicleWork } from './vehicle-work.ts';

/** A bidirectional vehicle with its supply circuit. */
export const vehicle: Kind = { spec: vehicleSpec, make: (piece, around) => new Vehicle(piece, around) };

/** Position codes as the boundary table has them. */
const OPEN = 1;
const CLOSED = 2;
const OWN: Cause = { origin: 'equipment', number: undefined };
/** Plugged, awake and with nothing wrong. */
const READY: readonly VehicleMode[] = [
  'idle',
  'closing',
  'charging',
  'discharging',
  'testing',
  'forming',
  'easing',
  'opening',
];
/** Its charge equipment gives no control supply then. */
const DARK: readonly VehicleMode[] = ['unplugged', 'leaving', 'releasing', 'asleep', 'booting'];

/** What the link shows of the vehicle; while it is lost, what it showed last. */
interface Shown {
  readonly soc: number;
  readonly ready: number;
  readonly fault: number;
}

class Vehicle implements EquipmentPiece {
  readonly id: string;
  readonly kind = 'vehicle';
  readonly devices: readonly VehicleDevice[];
  readonly source: SourceFacet;
  readonly load: LoadFacet;
  readonly neutral?: { readonly bus: number; holds(): boolean };
  readonly #around: Surroundings;
  readonly #params: Bag;
  readonly #isFirmwareGood: boolean;
  readonly #bus: WiredBus;
  readonly #device: VehicleDevice;
  readonly #work: VehicleWork;
  readonly #guards: VehicleGuards;
  readonly #link: VehicleLink;
  readonly #lock: PlugLock;
  readonly #listeners = new Map<string, ((cause: Cause) => void)[]>();
  #actor: Actor<typeof vehicleChart> | undefined;
  #mode: VehicleMode = 'idle';
  #frozen: Shown | undefined;
  #supplyBefore_V = 0;

  constructor(piece: Piece, around: Surroundings) {
    const { params } = piece;
    this.id = piece.id;
    this.#around = around;
    this.#params = params;
    this.#isFirmwareGood = isVersionAtLeast(textOf(params, 'firmware'), textOf(params, 'firmwareMinimum'));
    this.#bus = around.wiring.bus(piece.at[0]!);
    this.#device = this.#makeDevice();
    const findings = {
      stops: (code: number, retry: boolean, cause: Cause) => this.#send({ type: 'stop itself', code, retry, cause }),
      letsGo: () => this.#send({ type: 'let go', cause: OWN }),
      eased: () => this.#send({ type: 'eased' }),
      look: () => this.#send({ type: 'look' }),
    };
    this.#work = new VehicleWork(this.id, this.#bus, params, around, this.#device, findings);
    this.#guards = new VehicleGuards(this.id, params, around, {
      lost: (code, cause) => {
        const makes =
          this.#device.makesVoltage && (code !== VEHICLE_FAULTS.neutralLost || this.#device.work === 'forming');
        if (makes) this.#send({ type: 'stop itself', code, retry: false, cause });
      },
      look: findings.look,
    });
    this.#lock = new PlugLock(this.id, around, numberOf(params, 'lockTime'));
    this.#link = new VehicleLink(around.kernel, this.id, params, {
      deliver: (output, value, cause) => this.#obey(output, value, cause),
      silent: () => {
        if (textOf(params, 'onLinkLoss') === 'stop') findings.stops(VEHICLE_FAULTS.link, false, OWN);
      },
    });
    this.devices = [this.#device];
    this.source = this.#work.source;
    this.load = this.#work.load;
    if (flagOf(params, 'neutral')) this.neutral = { bus: this.#bus.index, holds: () => this.#work.isForming };
  }

  begin(): void {
    this.#guards.begin();
    const { start } = this.#around;
    const mode = textOf(start, 'mode') as 'idle' | 'charging' | 'discharging' | 'forming';
    const commands = {
      idle: COMMAND.idle,
      charging: COMMAND.charge,
      discharging: COMMAND.discharge,
      forming: COMMAND.form,
    };
    const initial = !flagOf(start, 'plugged') ? 'unplugged' : flagOf(start, 'awake') ? mode : 'asleep';
    const logic = vehicleChart.provide({
      actions: {
        begin: (_, { work, cause }) => this.#work.begin(work, cause),
        ease: () => this.#work.ease(),
        cease: (_, { cause }) => this.#work.cease(cause),
        close: (_, { cause }) => {
          this.#work.close(cause);
          this.#lock.contactor(true, cause);
        },
        open: (_, { cause }) => {
          this.#work.open(cause);
          this.#lock.contactor(false, cause);
        },
        release: (_, { cause }) => this.#lock.release(cause),
        drawn: (_, { cause }) => {
          this.#around.happened(this.id, 'plug out', cause);
        },
        shows: (_, { mode: shown }) => this.#show(shown),
      },
    });
    this.#actor = startChart(logic, this.#around.kernel, this.id, {
      ...timesOf(this.#params),
      initial,
      command: initial === mode ? commands[mode] : COMMAND.idle,
      retries: numberOf(this.#params, 'retries'),
      allows: (command) => this.#allows(command),
      release_us: () => this.#lock.release_us,
    });
    this.#work.settled();
    this.#supplyBefore_V = this.signal('controlSupply');
  }

  settle(): void {
    const part = this.#around.level().partAt(this.#bus.index);
    const { L1, L2 } = this.#bus;
    const re = part.re(L1) - part.re(L2);
    const im = part.im(L1) - part.im(L2);
    this.#device.settle(part, atan2(im, re));
    this.#work.settle(part);
  }

  channels(): Channel[] {
    const names: readonly [string, Channel['unit'], (readonly string[])?][] = [
      ['p', 'W'],
      ['q', 'var'],
      ['i', 'A'],
      ['mode', 'state', VEHICLE_MODES],
      ['energises', 'bit'],
      ['tripped', 'bit'],
      ['forms', 'bit'],
      ['reference', '1'],
      ['soc', '1'],
      ['plugged', 'bit'],
      ['contactor', 'bit'],
      ['locked', 'bit'],
      ['fault', 'code'],
      ['limitReached', 'bit'],
      ['restarts', 'count'],
      ['setFrequency', 'Hz'],
    ];
    return names.map(([name, unit, states]) => ({ name: `${this.id}.${name}`, unit, ...(states ? { states } : {}) }));
  }

  write(out: Float64Array, at: number): void {
    const { p_W, q_var, i1_A, i2_A, reference } = this.#device.reading;
    const context = this.#actor?.getSnapshot().context;
    const values = [
      p_W,
      q_var,
      Math.max(i1_A, i2_A),
      VEHICLE_MODES.indexOf(this.#mode),
      this.#work.energises ? 1 : 0,
      this.#work.isTripped ? 1 : 0,
      this.#work.isForming ? 1 : 0,
      reference,
      this.#work.charge.shown,
      this.signal('plugged'),
      this.#device.joined ? 1 : 0,
      this.signal('plugLocked'),
      context?.fault ?? 0,
      this.#device.forming.limited ? 1 : 0,
      context?.restarts ?? 0,
      this.#work.isForming ? this.#device.setFrequency_Hz + this.#device.lift_Hz : 0,
    ];
    out.set(values, at);
  }

  does(name: string, using: Bag, cause: Cause): void {
    if (name === 'plug in') this.#send({ type: 'plug', cause });
    else if (name === 'unplug') this.#pull(cause);
    else if (name === 'pull by force') this.#pullByForce(cause);
    else if (name === 'leave') this.#send({ type: 'leave', cause });
    else if (name === 'lose lock') this.#lock.lose();
    else if (name === 'mend lock') this.#lock.mend(cause);
    else if (name === 'charge') {
      this.#work.personLimit(numberOf(using, 'current'));
      this.#send({ type: 'order', command: COMMAND.charge, cause });
    } else if (name === 'stop') this.#send({ type: 'order', command: COMMAND.stop, cause });
    else if (name === 'fault') this.#send({ type: 'fault', code: numberOf(using, 'code'), cause });
    else if (name === 'fail to detect') this.#work.failToDetect();
    else if (name === 'clear fault') this.#send({ type: 'clear', cause });
    else if (name === 'sleep') this.#send({ type: 'sleep', cause });
    else if (name === 'wake') this.#send({ type: 'wake', cause });
    else if (name === 'set soc') this.#work.charge.set(numberOf(using, 'soc'));
    else if (name === 'lose communication') {
      this.#frozen ??= this.#shown();
      this.#link.lose();
      this.#link.beat(false);
    } else if (name === 'restore communication') {
      this.#frozen = undefined;
      this.#link.restore();
      this.#link.beat(!DARK.includes(this.#mode));
      this.#around.noted();
    } else throw new DeadbusBug(`a vehicle does not know how to "${name}"`);
  }

  order(output: string, value: number, cause: Cause): void {
    if (['vehicleCommand', 'vehicleLimit', 'islandVoltage', 'islandFrequency', 'plugLock'].includes(output)) {
      this.#link.order(output, value, cause);
    }
  }

  signal(name: string): number {
    const { kernel } = this.#around;
    switch (name) {
      case 'plugged':
        return this.#mode === 'unplugged' || this.#mode === 'leaving' ? 0 : 1;
      case 'plugLocked':
        return this.#lock.holds ? 1 : 0;
      case 'heartbeat':
        return this.#link.heartbeat(kernel.now_us);
      case 'supplyContactor':
        return this.#device.joined ? CLOSED : OPEN;
      case 'controlSupply':
        return DARK.includes(this.#mode) || !this.#isFirmwareGood ? 0 : numberOf(this.#params, 'controlSupply');
      case 'current1':
        return this.#signed(this.#device.reading.i1_A);
      case 'current2':
        return this.#signed(this.#device.reading.i2_A);
      case 'power':
        return this.#device.reading.p_W;
      case 'commissioning':
        return this.#commissioning();
      case 'soc':
      case 'ready':
      case 'fault':
        return (this.#frozen ?? this.#shown())[name];
      default:
        return 0;
    }
  }

  watch(signal: string, listener: (cause: Cause) => void): void {
    this.#listeners.set(signal, [...(this.#listeners.get(signal) ?? []), listener]);
  }

  digestState(now_us: number): readonly Plain[] {
    const context = this.#actor?.getSnapshot().context;
    const chart = [context?.command ?? 0, context?.fault ?? 0, context?.retriesLeft ?? 0, context?.restarts ?? 0];
    const timers = this.#around.kernel.pending(this.id).flatMap(({ name, in_us }) => [name, in_us]);
    return [
      this.#mode,
      ...this.#lock.state(),
      ...chart,
      ...this.#link.state(),
      ...this.#work.state(now_us),
      ...this.#device.state(now_us),
      ...timers,
    ];
  }

  #send(event: Parameters<Actor<typeof vehicleChart>['send']>[0]): void {
    this.#actor?.send(event);
  }

  /** Current with the sign of the power: negative flows into the vehicle. */
  #signed(current_A: number): number {
    return this.#device.reading.p_W < 0 ? -current_A : current_A;
  }

  #shown(): Shown {
    const fault = this.#actor?.getSnapshot().context.fault ?? 0;
    return { soc: this.#work.charge.shown, ready: READY.includes(this.#mode) ? 1 : 0, fault };
  }

  /** Bits: supply circuit 1, firmware 2, breaker size 4, grid profile 8, records 16. */
  #commissioning(): number {
    const done = (name: string, bit: number): number => (flagOf(this.#params, name) ? bit : 0);
    const firmware = this.#isFirmwareGood ? 2 : 0;
    return (
      done('supplyCircuitDone', 1) +
      firmware +
      done('breakerSizeDone', 4) +
      done('gridProfileDone', 8) +
      done('recordsDone', 16)
    );
  }

  #allows(command: number): boolean {
    if (command === COMMAND.charge) return this.#work.mayCharge;
    if (command === COMMAND.discharge) return this.#work.mayDischarge;
    if (command !== COMMAND.testVoltage && command !== COMMAND.form) return true;
    return flagOf(this.#params, 'forms') && this.#work.charge.hasReserve && this.#guards.isEnabled;
  }

  #show(mode: VehicleMode): void {
    this.#mode = mode;
    this.#lock.plugged(mode !== 'unplugged' && mode !== 'leaving', OWN);
    this.#link.beat(!DARK.includes(mode) && !this.#link.isLost);
    if (this.#actor === undefined) return;
    this.#around.noted();
    const supply_V = this.signal('controlSupply');
    const { cause } = this.#actor.getSnapshot().context;
    if (supply_V !== this.#supplyBefore_V) this.#tell('controlSupply', cause);
    this.#supplyBefore_V = supply_V;
    this.#tell('mode', cause);
  }

  #tell(signal: string, cause: Cause): void {
    for (const listener of this.#listeners.get(signal) ?? []) listener(cause);
  }

  /** An order as it arrives. */
  #obey(output: string, value: number, cause: Cause): void {
    if (output === 'vehicleCommand') this.#send({ type: 'order', command: value, cause });
    else if (output === 'vehicleLimit') this.#work.orderLimit(value / 1000);
    else if (output === 'islandVoltage') this.#work.setVoltage(value / 1000);
    else if (output === 'islandFrequency') this.#work.setFrequency(value / 1000);
    else if (output === 'plugLock') this.#lock.order(value === 1, cause);
  }

  /** A lock that holds keeps the plug where it is. */
  #pull(cause: Cause): void {
    if (this.#lock.holds) this.#around.happened(this.id, 'plug held', cause);
    else this.#send({ type: 'unplug', cause });
  }

  #pullByForce(cause: Cause): void {
    const broken = this.#lock.holds ? this.#around.happened(this.id, 'lock broken', cause) : cause;
    if (this.#lock.holds) this.#lock.lose();
    this.#send({ type: 'unplug', cause: broken });
  }

  #makeDevice(): VehicleDevice {
    const params = this.#params;
    const { forming, following } = vehicleCores(params, this.#bus);
    const noise_Hz = numberOf(params, 'noise');
    return new VehicleDevice(this.#bus, forming, following, deviceOf(params), {
      solved: (reading, before, h_s, net) => this.#work.solved(reading, before, h_s, net),
      noise_Hz: (net) => {
        if (noise_Hz === 0 || this.#around.level().partAt(this.#bus.index).kind !== 'unformed') return 0;
        return noise_Hz * this.#around.chance.noise(this.id, net.now_us);
      },
    });
  }
}
