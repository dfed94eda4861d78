import type { Actor } from 'xstate';
import { DeadbusBug } from '../check.ts';
import { atan2, radians } from '../maths.ts';
import type { PhasorDevice, PhasorNet } from '../network/device.ts';
import type { WiredBus } from '../network/wiring.ts';
import { type Bag, flagOf, numberOf, type Piece, type Plain } from '../site-description.ts';
import type { Channel } from '../telemetry.ts';
import { LINE_V, US_PER_S } from '../units.ts';
import { startChart } from './chart.ts';
import { FollowingCore, type FollowingSettings } from './following.ts';
import type { Cause, EquipmentPiece, Kind, SourceFacet, Surroundings } from './piece.ts';
import { modeOf, PV_MODES, type PvMode, pvChart } from './pv-chart.ts';
import { PvContacts } from './pv-contacts.ts';
import { detectionMethod, PASSIVE } from './pv-methods.ts';
import { pvSpec } from './pv-params.ts';
import { PvPower } from './pv-power.ts';
import { PvProtection } from './pv-protection.ts';

/** Above this share of rated current it energises. */
const ENERGISES = 0.02;
const OWN: Cause = { origin: 'equipment', number: undefined };

/** A photovoltaic inverter: current behind its own loop, its trips, its return, its permit. */
export const pv: Kind = { spec: pvSpec, make: (piece, around) => new PvInverter(piece, around) };

class PvInverter implements EquipmentPiece {
  readonly id: string;
  readonly kind = 'pv';
  readonly devices: readonly PhasorDevice[];
  readonly source: SourceFacet;
  readonly #around: Surroundings;
  readonly #params: Bag;
  readonly #bus: WiredBus;
  readonly #core: FollowingCore;
  readonly #protection: PvProtection;
  readonly #contacts: PvContacts;
  readonly #power: PvPower;
  readonly #actor: Actor<typeof pvChart>;
  readonly #rated_W: number;
  readonly #noise_Hz: number;
  #mode: PvMode = 'off';
  #permit: boolean;
  #serving = false;
  #paused = false;

  constructor(piece: Piece, around: Surroundings) {
    const { params } = piece;
    this.id = piece.id;
    this.#around = around;
    this.#params = params;
    this.#bus = around.wiring.bus(piece.at[0]!);
    this.#rated_W = numberOf(params, 'rated');
    this.#noise_Hz = numberOf(params, 'noise');
    this.#core = new FollowingCore(coreSettings(params), this.#bus.L1, this.#bus.L2);
    this.#core.bias_rad = radians(numberOf(params, 'bias'));
    this.#use(detectionMethod(params));
    this.#permit = flagOf(around.start, 'permit');
    this.#contacts = this.#makeContacts();
    const { kernel } = around;
    this.#protection = new PvProtection(kernel, this.id, this.#bus, params, {
      trips: (row) => this.#actor.send({ type: 'trip', row, cause: OWN }),
      ceases: () => this.#actor.send({ type: 'cease' }),
      recovers: () => this.#actor.send({ type: 'recover' }),
      window: (inside) => this.#actor.send({ type: 'window', inside }),
    });
    this.#power = new PvPower(around, this.id, params, {
      moved: () => this.#apply(),
      ramped: () => this.#actor.send({ type: 'ramped' }),
    });
    this.#actor = this.#makeActor();
    this.devices = [this.#makeDevice()];
    this.source = {
      bus: this.#bus.index,
      joined: () => this.#core.connected,
      following: () => ({ energises: this.#energises(), power_W: this.#output().p_W }),
      forms: () => false,
    };
  }

  begin(): void {
    if (this.#mode === 'running') {
      this.#serving = true;
      this.#contacts.contact = true;
      this.#power.ramp.top();
      this.#power.recovery.top();
    }
    this.#apply();
  }

  settle(): void {
    const net = this.#around.level().partAt(this.#bus.index);
    const size_V = this.#core.measured_V(net);
    const re = net.re(this.#bus.L1) - net.re(this.#bus.L2);
    const im = net.im(this.#bus.L1) - net.im(this.#bus.L2);
    if (size_V > 0) this.#core.settle(atan2(im, re), size_V, net.w);
    this.#protection.settle(size_V, this.#core.f_Hz, net);
  }

  channels(): Channel[] {
    const { id } = this;
    return [
      { name: `${id}.p`, unit: 'W' },
      { name: `${id}.q`, unit: 'var' },
      { name: `${id}.i`, unit: 'A' },
      { name: `${id}.mode`, unit: 'state', states: PV_MODES },
      { name: `${id}.energises`, unit: 'bit' },
      { name: `${id}.tripped`, unit: 'bit' },
      { name: `${id}.permit`, unit: 'bit' },
      { name: `${id}.irradiance`, unit: '1' },
      { name: `${id}.fMeasured`, unit: 'Hz' },
    ];
  }

  write(out: Float64Array, at: number): void {
    const { p_W, q_var, i_A } = this.#output();
    out[at] = p_W;
    out[at + 1] = q_var;
    out[at + 2] = i_A;
    out[at + 3] = PV_MODES.indexOf(this.#mode);
    out[at + 4] = this.#energises() ? 1 : 0;
    out[at + 5] = this.#serving ? 0 : 1;
    out[at + 6] = this.#permit ? 1 : 0;
    out[at + 7] = this.#power.irradiance;
    out[at + 8] = this.#core.f_Hz;
  }

  does(name: string, using: Bag, cause: Cause): void {
    if (name === 'irradiance') this.#shine(numberOf(using, 'value'), cause);
    else if (name === 'trip test') this.#actor.send({ type: 'trip', row: 'TEST', cause });
    else if (name === 'fail to detect') this.#around.change(() => this.#use(PASSIVE));
    else if (name === 'stuck on') this.#actor.send({ type: 'stick on' });
    else if (name === 'start') this.#actor.send({ type: 'start', cause });
    else throw new DeadbusBug(`a pv does not know how to "${name}"`);
  }

  order(output: string, value: number, cause: Cause): void {
    if (output === 'pvPermit') {
      if (!flagOf(this.#params, 'permitWired')) return;
      this.#permit = value === 1;
      this.#around.noted();
      this.#actor.send({ type: 'permit', given: this.#permit, cause });
    } else if (output === 'pvContactor' && flagOf(this.#params, 'contactor')) {
      this.#contacts.order(value === 1, cause);
    }
  }

  signal(name: string): number {
    return name === 'power' ? this.#output().p_W : 0;
  }

  digestState(now_us: number): readonly Plain[] {
    const flags = [this.#permit, this.#contacts.contact, this.#contacts.contactor, this.#core.gate > 0];
    return [
      this.#mode,
      ...flags,
      ...this.#power.digest(now_us),
      ...this.#core.digest(),
      ...this.#protection.digest(now_us),
    ];
  }

  #output(): { p_W: number; q_var: number; i_A: number } {
    return this.#core.output(this.#around.level().partAt(this.#bus.index));
  }

  #energises(): boolean {
    return this.#output().i_A > (ENERGISES * this.#rated_W) / LINE_V;
  }

  #use(method: typeof PASSIVE): void {
    this.#core.activeMethod = method.lead;
    this.#core.amplitudeMethod = method.factor;
  }

  #makeDevice(): PhasorDevice {
    const core = this.#core;
    return {
      bus: this.#bus.index,
      begin: () => core.begin(),
      stamp: (net) => core.stamp(net),
      limit: (net) => core.limit(net),
      follow: (net) => core.follow(net),
      drives: () => core.drives(),
      rebase: (by_rad) => core.rebase(by_rad),
      advance: (net, h_s) => core.advance(net, h_s, this.#noiseNow(net)),
      accept: (net, h_s) => this.#accept(net, h_s),
    };
  }

  /** Only an unformed part disturbs the measured frequency: elsewhere quiet stays quiet. */
  #noiseNow(net: PhasorNet): number {
    if (this.#noise_Hz === 0 || this.#around.level().partAt(this.#bus.index).kind !== 'unformed') return 0;
    return this.#noise_Hz * this.#around.chance.noise(this.id, net.now_us);
  }

  #accept(net: PhasorNet, h_s: number): boolean {
    const state = !this.#serving ? 'out' : this.#paused ? 'ceased' : 'serving';
    if (state === 'serving') this.#power.drive(this.#core.f_Hz);
    return this.#protection.look(net, h_s, this.#core.measured_V(net), this.#core.f_Hz, state);
  }

  #makeContacts(): PvContacts {
    const settings = {
      contactDelay_us: numberOf(this.#params, 'contactDelay'),
      contactorTravel_us: numberOf(this.#params, 'contactorTravel'),
    };
    const closed = !flagOf(this.#params, 'contactor') || flagOf(this.#around.start, 'contactorClosed');
    return new PvContacts(this.#around, this.id, settings, closed, () => this.#apply());
  }

  #makeActor(): Actor<typeof pvChart> {
    const { start, kernel, chance } = this.#around;
    const noted = (): void => this.#around.noted();
    const params = this.#params;
    const sunny = this.#power.irradiance > 0;
    const random_us = numberOf(params, 'randomDelay');
    const draw = chance.stream(`${this.id}.enter`);
    const logic = pvChart.provide({
      actions: {
        enter: (_, { cause }) => this.#enter(cause),
        leave: (_, { row, cause }) => this.#leave(row, cause),
        pause: () => this.#pause(),
        resume: () => this.#resume(),
      },
    });
    const actor = startChart(logic, kernel, this.id, {
      initial: flagOf(start, 'running') && sunny && this.#permit ? 'running' : 'out',
      sunny,
      permitted: this.#permit,
      enterDelay_us: numberOf(params, 'enterDelay'),
      permitDelay_us: numberOf(params, 'permitDelay'),
      drawExtra_us: () => (random_us > 0 ? Math.round(draw() * random_us) : 0),
    });
    this.#mode = modeOf(actor.getSnapshot().value);
    actor.subscribe(({ value }) => {
      const mode = modeOf(value);
      if (mode === this.#mode) return;
      this.#mode = mode;
      noted();
    });
    return actor;
  }

  /** What the core gives, from everything that bears on it. Inside a change. */
  #apply(): void {
    this.#core.power_W = this.#power.share * this.#rated_W;
    this.#core.gate = this.#serving && !this.#paused ? this.#power.recovery.share : 0;
    this.#core.connected = this.#contacts.joined;
    this.#core.isolated = !this.#contacts.contactor;
  }

  #enter(cause: Cause): void {
    this.#around.change(() => {
      this.#protection.clear();
      this.#around.happened(this.id, 'starts', this.#contacts.join(cause));
      this.#serving = true;
      this.#paused = false;
      this.#power.recovery.top();
      this.#power.ramp.start();
      this.#apply();
    });
    if (this.#power.ramp.share === 1) this.#actor.send({ type: 'ramped' });
  }

  #leave(row: string | undefined, cause: Cause): void {
    this.#around.change(() => {
      const tripped = row === undefined ? cause : this.#around.happened(this.id, `trips ${row}`, cause);
      const ceased = this.#core.gate > 0 ? this.#around.happened(this.id, 'ceases', tripped) : tripped;
      this.#protection.clear();
      this.#power.stop();
      this.#serving = false;
      this.#paused = false;
      this.#apply();
      this.#contacts.leave(ceased);
    });
  }

  #pause(): void {
    this.#around.change(() => {
      this.#around.happened(this.id, 'ceases', OWN);
      this.#protection.clearCessation();
      this.#power.recovery.stop();
      this.#paused = true;
      this.#apply();
    });
  }

  #resume(): void {
    this.#around.change(() => {
      this.#around.happened(this.id, 'starts', OWN);
      this.#paused = false;
      this.#power.recovery.start();
      this.#apply();
    });
  }

  #shine(value: number, cause: Cause): void {
    this.#around.change(() => {
      this.#power.irradiance = value;
      this.#apply();
    });
    this.#actor.send({ type: 'sun', up: value > 0, cause });
  }
}

function coreSettings(params: Bag): FollowingSettings {
  return {
    rated_W: numberOf(params, 'rated'),
    currentLimit: numberOf(params, 'currentLimit'),
    loop_Hz: numberOf(params, 'loop'),
    loopDamping: numberOf(params, 'damping'),
    frequencyLag_s: numberOf(params, 'frequencyLag') / US_PER_S,
    voltageLag_s: numberOf(params, 'voltageLag') / US_PER_S,
    filter_F: numberOf(params, 'filter'),
    ceiling: numberOf(params, 'ceiling'),
  };
}
