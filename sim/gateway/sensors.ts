import { assert } from '../check.ts';
import { type Bag, numberOf, type Plain, textOf } from '../site-description.ts';
import type { Chance } from '../time/time.ts';
import type { SimUs } from '../units.ts';
import { INPUT_NAMES, type InputName, type Inputs, type Reading, type ReadingState } from './boundary.ts';
import { MEASURES, type MeasuredClass, type Side, type TransformerPair } from './sensor-inputs.ts';
import { countsPerUnit, noisy } from './sensor-noise.ts';
import { SensorWiring, type ValueAt } from './sensor-wiring.ts';

/** Where one input comes from, as the site has it: the true value at an instant not later than now, in the input's unit. */
export interface Tap {
  /** True value as it was at that instant, windows included. */
  readonly at: ValueAt;
  readonly latency_us: number;
  readonly fitted: boolean;
}

const INT32_max = 0x7fff_ffff;
const STATES: readonly ReadingState[] = ['fresh', 'stale', 'not fitted'];
const FRESH = 0;
const STALE = 1;
const NOT_FITTED = 2;
const HEARTBEAT = INPUT_NAMES.indexOf('vehicleHeartbeat');
const SIGMAS: Readonly<Record<MeasuredClass, string>> = {
  voltage: 'noiseVoltage',
  angle: 'noiseAngle',
  frequency: 'noiseFrequency',
  current: 'noiseCurrent',
  power: 'noisePower',
};

/** int32 of a true value: rounded to the unit, held inside the range, -0 as 0. */
export function toInt32(value: number): number {
  const rounded = Math.round(value);
  if (rounded > INT32_max) return INT32_max;
  if (rounded < -INT32_max) return -INT32_max;
  return rounded === 0 ? 0 : rounded;
}

/** How one input stands: what it hangs on, and what is wrong with it. */
interface Channel {
  readonly name: InputName;
  readonly tap: Tap;
  readonly sampling_us: number;
  /** Standard deviation of its noise, in its unit. */
  readonly sigma: number;
  /** True value as wired and scaled. */
  seen: ValueAt;
  offset: number;
  factor: number;
  /** Neither a frozen nor a stuck reading follows its input any more; a stuck one says that it does. */
  held: 'frozen' | 'stuck' | undefined;
  heldValue: number;
  heldAt_us: number;
}

/**
 * The gateway's view: sampled, late, noisy, wired as it is wired, in int32.
 *
 * A scan is made in two halves. `look` reads everything into arrays and says whether anything differs; only for a scan
 * that takes place does `take` make objects of it.
 */
export class Sensors {
  readonly #channels: readonly Channel[];
  readonly #taps: Readonly<Record<InputName, Tap>>;
  readonly #chance: Chance;
  readonly #wiring = new SensorWiring();
  readonly #value = new Int32Array(INPUT_NAMES.length);
  readonly #state = new Uint8Array(INPUT_NAMES.length);
  readonly #at_us = new Float64Array(INPUT_NAMES.length);
  readonly #lastValue = new Int32Array(INPUT_NAMES.length);
  readonly #lastState = new Uint8Array(INPUT_NAMES.length);
  #lastReadings: readonly Reading[] = [];
  #clockStep_us = 0;

  constructor(taps: Readonly<Record<InputName, Tap>>, settings: Bag, chance: Chance) {
    this.#taps = taps;
    this.#chance = chance;
    const sampling_us = numberOf(settings, 'sensorSampling');
    this.#channels = INPUT_NAMES.map((name): Channel => {
      const measures = MEASURES[name];
      const sigma = measures === undefined ? 0 : numberOf(settings, SIGMAS[measures]) * countsPerUnit(name);
      const sampled = { sampling_us: measures === undefined ? 0 : sampling_us, sigma };
      const sound = { offset: 0, factor: 1, held: undefined, heldValue: 0, heldAt_us: 0 } as const;
      return { name, tap: taps[name], seen: taps[name].at, ...sampled, ...sound };
    });
    const [reversed, swapped, legs] = ['reversedTransformer', 'swappedTransformers', 'swappedLegs'].map((name) =>
      textOf(settings, name),
    );
    if (reversed !== 'none') this.#wiring.reverse(reversed as InputName);
    if (swapped !== 'none') this.#wiring.swapTransformers(swapped as TransformerPair);
    if (legs !== 'none') this.#wiring.swapLegs(legs as Side);
    this.#rewire();
  }

  /** Reads every input as it is now. True: a value or a state differs from the scan that was taken last, or none was. */
  look(now_us: number): boolean {
    let differs = this.#lastReadings.length === 0;
    for (let i = 0; i < this.#channels.length; i += 1) {
      this.#read(i, now_us);
      // Instants do not matter, nor the heartbeat's count.
      if (this.#state[i] !== this.#lastState[i]) differs = true;
      else if (this.#value[i] !== this.#lastValue[i] && i !== HEARTBEAT) differs = true;
    }
    return differs;
  }

  /** The inputs of a scan that takes place, as the last look found them. */
  take(now_us: SimUs, scan: number): Inputs {
    const readings: Reading[] = [];
    const inputs: { now_us: SimUs; scan: number } & { [name in InputName]?: Reading } = { now_us, scan };
    for (let i = 0; i < this.#channels.length; i += 1) {
      const value = this.#value[i]!;
      const at_us = this.#at_us[i]!;
      const state = STATES[this.#state[i]!]!;
      const last = this.#lastReadings[i];
      const same = last !== undefined && last.value === value && last.at_us === at_us && last.state === state;
      const reading = same ? last : { value, at_us, state };
      readings.push(reading);
      inputs[INPUT_NAMES[i]!] = reading;
    }
    this.#lastValue.set(this.#value);
    this.#lastState.set(this.#state);
    this.#lastReadings = readings;
    return inputs as Inputs;
  }

  /** A reading may move though the plant is at rest: the instant from which the next one does. */
  restlessFrom_us(now_us: number): number | undefined {
    const next = this.#channels
      .filter(({ sigma, tap, held }) => sigma > 0 && tap.fitted && held === undefined)
      .map((channel) => nextSample_us(channel, now_us));
    return next.length === 0 ? undefined : next.reduce((first, each) => Math.min(first, each));
  }

  /** One of the gateway's `does` that concern its sensors. */
  does(name: string, using: Bag, now_us: number): void {
    const channel = this.#channels.find((each) => each.name === using['input']);
    if (name === 'freeze input' || name === 'stick input') this.#hold(channel!, name === 'freeze input', now_us);
    else if (name === 'thaw input') channel!.held = undefined;
    else if (name === 'reverse current transformer') this.#wiring.reverse(channel!.name);
    else if (name === 'swap current transformers')
      this.#wiring.swapTransformers(textOf(using, 'pair') as TransformerPair);
    else if (name === 'swap legs') this.#wiring.swapLegs(textOf(using, 'side') as Side);
    else if (name === 'offset input') channel!.offset = numberOf(using, 'by');
    else if (name === 'scale input') channel!.factor = numberOf(using, 'factor');
    else if (name === 'step clock') this.#clockStep_us += numberOf(using, 'by');
    else this.#mend(name);
    this.#rewire();
  }

  digestState(): readonly Plain[] {
    const faults = this.#channels.map(({ name, offset, factor, held, heldValue, heldAt_us }) =>
      held === undefined ? [name, offset, factor] : [name, offset, factor, held, heldValue, heldAt_us],
    );
    return [JSON.stringify([faults, this.#wiring.digestState(), this.#clockStep_us])];
  }

  #hold(channel: Channel, stale: boolean, now_us: number): void {
    const i = this.#channels.indexOf(channel);
    this.#read(i, now_us);
    channel.heldValue = this.#value[i]!;
    channel.heldAt_us = this.#at_us[i]!;
    channel.held = stale ? 'frozen' : 'stuck';
  }

  #mend(name: string): void {
    assert(name === 'mend sensors', `sensors cannot ${name}; was the scenario checked?`);
    for (const channel of this.#channels) Object.assign(channel, { held: undefined, offset: 0, factor: 1 });
    this.#wiring.mend();
    this.#clockStep_us = 0;
  }

  #rewire(): void {
    for (const channel of this.#channels) {
      if (MEASURES[channel.name] === undefined) continue;
      const { offset, factor } = channel;
      const seen = this.#wiring.seen(channel.name, (name) => this.#taps[name].at);
      channel.seen = offset === 0 && factor === 1 ? seen : (t_us) => factor * seen(t_us) + offset;
    }
  }

  #read(i: number, now_us: number): void {
    const channel = this.#channels[i]!;
    const { tap, sampling_us } = channel;
    if (!tap.fitted) {
      this.#set(i, 0, now_us, NOT_FITTED);
      return;
    }
    if (channel.held === 'frozen') {
      this.#set(i, channel.heldValue, channel.heldAt_us, STALE);
      return;
    }
    const seen_us = Math.max(0, now_us - tap.latency_us);
    const sample_us = sampling_us === 0 ? seen_us : Math.floor(seen_us / sampling_us) * sampling_us;
    const at_us = sample_us + this.#clockStep_us;
    if (channel.held === 'stuck') {
      this.#set(i, channel.heldValue, at_us, FRESH);
      return;
    }
    // What changes at the instant of a sample has no solution yet when a scan of that instant sees it. So that the sample
    // holds all the same, it shows what stood just before.
    const value = channel.seen(sampling_us === 0 ? sample_us : Math.max(0, sample_us - 1));
    const { sigma, name } = channel;
    this.#set(i, toInt32(sigma === 0 ? value : noisy(this.#chance, name, sigma, value, sample_us)), at_us, FRESH);
  }

  #set(i: number, value: number, at_us: number, state: number): void {
    this.#value[i] = value;
    this.#at_us[i] = at_us;
    this.#state[i] = state;
  }
}

/** When the next sample of an input can be seen, after now. */
function nextSample_us({ sampling_us, tap }: Channel, now_us: number): number {
  if (sampling_us === 0) return now_us + 1;
  return (Math.floor((now_us - tap.latency_us) / sampling_us) + 1) * sampling_us + tap.latency_us;
}
