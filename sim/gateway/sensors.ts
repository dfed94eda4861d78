import { assert } from '../check.ts';
import { type Bag, numberOf, type Plain, textOf } from '../site-description.ts';
import type { Chance } from '../time/time.ts';
import type { SimUs } from '../units.ts';
import { INPUT_NAMES, INT32_max, type InputName, type Inputs, type Reading, type ReadingState } from './boundary.ts';
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
  /** Place in the boundary table. */
  readonly index: number;
  readonly name: InputName;
  readonly tap: Tap;
  readonly sampling_us: number;
  /** Standard deviation of its noise, in its unit. */
  readonly sigma: number;
  /** True value as wired and scaled. */
  seen: ValueAt;
  offset: number;
  factor: number;
  /** It follows its input no more: `frozen` is marked stale, `stuck` says that it is fresh. */
  held: 'frozen' | 'stuck' | undefined;
  /** Instant that a frozen reading bears. */
  heldAt_us: number;
}

/**
 * The gateway's view: sampled, late, noisy, wired as it is wired, in int32.
 *
 * A scan is made in two halves. `look` reads values into an array and says whether anything differs; only for a scan that
 * takes place does `take` add the instants and make objects of it all.
 */
export class Sensors {
  readonly #channels: readonly Channel[];
  readonly #chance: Chance;
  readonly #wiring = new SensorWiring();
  readonly #value = new Int32Array(INPUT_NAMES.length);
  readonly #state = new Uint8Array(INPUT_NAMES.length);
  readonly #lastValue = new Int32Array(INPUT_NAMES.length);
  readonly #lastState = new Uint8Array(INPUT_NAMES.length);
  /** Those that follow their inputs; the values of all others stand. */
  #live: readonly Channel[] = [];
  #lastReadings: readonly Reading[] = [];
  #clockStep_us = 0;

  constructor(taps: Readonly<Record<InputName, Tap>>, settings: Bag, chance: Chance) {
    this.#chance = chance;
    this.#channels = INPUT_NAMES.map((name, index) => channelOf(name, index, taps[name], settings));
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
    const [value, state, lastValue, lastState] = [this.#value, this.#state, this.#lastValue, this.#lastState];
    for (const channel of this.#live) value[channel.index] = this.#valueOf(channel, now_us);
    if (this.#lastReadings.length === 0) return true;
    for (let i = 0; i < value.length; i += 1) {
      if (state[i] !== lastState[i]) return true;
      if (value[i] !== lastValue[i] && i !== HEARTBEAT) return true; // Its count does not matter, nor do instants.
    }
    return false;
  }

  /** The inputs of a scan that takes place, as the look at the same instant found them. */
  take(now_us: SimUs, scan: number): Inputs {
    const readings: Reading[] = [];
    const inputs: { now_us: SimUs; scan: number } & { [name in InputName]?: Reading } = { now_us, scan };
    for (const channel of this.#channels) {
      const { index, name } = channel;
      const value = this.#value[index]!;
      const at_us = this.#instantOf(channel, now_us);
      const state = STATES[this.#state[index]!]!;
      const last = this.#lastReadings[index];
      const same = last !== undefined && last.value === value && last.at_us === at_us && last.state === state;
      const reading = same ? last : { value, at_us, state };
      readings.push(reading);
      inputs[name] = reading;
    }
    this.#lastValue.set(this.#value);
    this.#lastState.set(this.#state);
    this.#lastReadings = readings;
    return inputs as Inputs;
  }

  /** A reading may move though the plant is at rest: the instant from which the next one does. */
  restlessFrom_us(now_us: number): number | undefined {
    let first_us: number | undefined;
    for (const channel of this.#live) {
      if (channel.sigma > 0) first_us = Math.min(first_us ?? Infinity, nextSample_us(channel, now_us));
    }
    return first_us;
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
    const faults = this.#channels.map(({ name, index, offset, factor, held, heldAt_us }) =>
      held === undefined ? [name, offset, factor] : [name, offset, factor, held, this.#value[index]!, heldAt_us],
    );
    return [JSON.stringify([faults, this.#wiring.digestState(), this.#clockStep_us])];
  }

  #hold(channel: Channel, stale: boolean, now_us: number): void {
    if (channel.held === 'frozen' && stale) return;
    if (channel.held === undefined && channel.tap.fitted) this.#value[channel.index] = this.#valueOf(channel, now_us);
    if (channel.held !== 'frozen') channel.heldAt_us = this.#instantOf(channel, now_us);
    channel.held = stale ? 'frozen' : 'stuck';
  }

  #mend(name: string): void {
    assert(name === 'mend sensors', `sensors cannot ${name}; was the scenario checked?`);
    for (const channel of this.#channels) {
      channel.held = undefined;
      channel.offset = 0;
      channel.factor = 1;
    }
    this.#wiring.mend();
    this.#clockStep_us = 0;
  }

  /** After whatever was done to them: what each hangs on, how it stands, and which still follow. */
  #rewire(): void {
    for (const channel of this.#channels) {
      const { index, name, offset, factor, tap, held } = channel;
      this.#state[index] = !tap.fitted ? NOT_FITTED : held === 'frozen' ? STALE : FRESH;
      if (MEASURES[name] === undefined) continue;
      const seen = this.#wiring.seen(name, (other) => this.#channels[INPUT_NAMES.indexOf(other)]!.tap.at);
      channel.seen = offset === 0 && factor === 1 ? seen : (t_us) => factor * seen(t_us) + offset;
    }
    this.#live = this.#channels.filter(({ tap, held }) => tap.fitted && held === undefined);
  }

  #valueOf(channel: Channel, now_us: number): number {
    const { sampling_us, sigma, name } = channel;
    const sample_us = sampleAt_us(channel, now_us);
    // What changes at the instant of a sample has no solution yet when a scan of that instant sees it. So that the sample
    // holds all the same, it shows what stood just before.
    const value = channel.seen(sampling_us === 0 ? sample_us : Math.max(0, sample_us - 1));
    return toInt32(sigma === 0 ? value : noisy(this.#chance, name, sigma, value, sample_us));
  }

  /** The instant that a reading bears. */
  #instantOf(channel: Channel, now_us: number): number {
    if (!channel.tap.fitted) return now_us;
    return channel.held === 'frozen' ? channel.heldAt_us : sampleAt_us(channel, now_us) + this.#clockStep_us;
  }
}

function channelOf(name: InputName, index: number, tap: Tap, settings: Bag): Channel {
  const measures = MEASURES[name];
  return {
    index,
    name,
    tap,
    sampling_us: measures === undefined ? 0 : numberOf(settings, 'sensorSampling'),
    sigma: measures === undefined ? 0 : numberOf(settings, SIGMAS[measures]) * countsPerUnit(name),
    seen: tap.at,
    offset: 0,
    factor: 1,
    held: undefined,
    heldAt_us: 0,
  };
}

/** Instant of the sample of an input that is seen now. */
function sampleAt_us({ sampling_us, tap }: Channel, now_us: number): number {
  const seen_us = Math.max(0, now_us - tap.latency_us);
  return sampling_us === 0 ? seen_us : Math.floor(seen_us / sampling_us) * sampling_us;
}

/** When the next sample of an input can be seen, after now. */
function nextSample_us({ sampling_us, tap }: Channel, now_us: number): number {
  if (sampling_us === 0) return now_us + 1;
  return (Math.floor((now_us - tap.latency_us) / sampling_us) + 1) * sampling_us + tap.latency_us;
}
