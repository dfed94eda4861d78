import type { Leg } from '../../sim/site-description.ts';
import type { HappeningRecord, Unit } from '../../sim/telemetry.ts';
import { LEG_V } from '../../sim/units.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import { atMost, type Finding, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { type BusLife, isLive, lifeOf, polesOf, type Touch, TouchWatch } from './contacts.ts';
import type { DeviceFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { transitionOf } from './settings.ts';

/** Two live sections meet only in step; where the site breaks before it makes they do not meet at all. */
export const syncClose = rule({
  id: 'sync-close',
  about: 'As each pole touches between two live sections, frequency, voltage and angle across it are close together.',
  limit: 'ieee-1547-2018.sync.to-500kVA',
  needs: 'phasor',
  scale: 'each of 0.3 Hz, 10 % and 20 degrees, the least of three; a touch that must not be counts 1',
  preside: (desk) => new SyncClose(desk),
});

interface Side extends BusLife {
  readonly present1: number;
  readonly present2: number;
}

interface Across {
  readonly sides: readonly [Side, Side];
  readonly df: number;
  /** Of the poles that are fitted: a breaker of one pole has one. */
  readonly da: ReadonlyMap<Leg, number>;
  readonly states: readonly number[];
  /** A pole of the device has joined two live parts: its other pole meets them too, though they are one part by then. */
  joinedLive: boolean;
  /** A forming source made one of those parts live. */
  joinedFormed: boolean;
}

class SyncClose implements Judge {
  readonly #desk: Desk;
  readonly #touches: TouchWatch;
  readonly #across = new Map<string, Across>();

  constructor(desk: Desk) {
    const { facts, channels } = desk;
    this.#desk = desk;
    this.#touches = new TouchWatch(facts, channels);
    const side = (bus: string): Side => ({ ...lifeOf(channels, bus), ...channels.of(bus, 'present1', 'present2') });
    for (const device of facts.devices) {
      const { id, at } = device;
      const { legs } = polesOf(channels, device);
      this.#across.set(id, {
        sides: [side(at[0]), side(at[1])],
        df: channels.index(`${id}.df`),
        da: new Map(legs.map(({ leg }) => [leg, channels.index(`${id}.${leg === 'L1' ? 'da1' : 'da2'}`)])),
        states: legs.map(({ state }) => state),
        joinedLive: false,
        joinedFormed: false,
      });
    }
  }

  frame(moment: Moment): void {
    const touches = this.#touches.frame(moment);
    if (moment.before === undefined) return;
    for (const touch of touches) this.#judge(touch, moment.at_us, moment.before);
  }

  end(): void {}

  /** Everything is read from the frame before: the state across a pole that does not conduct yet. */
  #judge({ device, leg, partsApart }: Touch, at_us: number, before: Float64Array): void {
    const across = this.#across.get(device.id)!;
    if (!across.states.some((state) => isOn(before, state))) across.joinedLive = false;
    if (!across.sides.every((side) => isLive(before, side))) return;
    // Onto a dead section the first pole makes the far side live by itself: its other pole meets nothing.
    if (!partsApart && !across.joinedLive) return;
    const isFormed = across.sides.some((side) => isOn(before, side.forming));
    // A slow pole whose island has lost its source since the first touch meets nothing either: what its leg still carries
    // comes over the load from the other leg.
    if (!partsApart && across.joinedFormed && !isFormed) return;
    if (partsApart) across.joinedFormed = isFormed;
    across.joinedLive = true;
    this.#desk.book.arm();
    const against = originOf(this.#answerable(device, leg, across, before));
    const findings = differences(device, leg, at_us, across, before, against);
    if (transitionOf(this.#desk.facts) === 'open') {
      const about = `${device.id} ${leg} joins two live sections at a site that breaks before it makes`;
      findings.push(yesOrNo(at_us, false, 'own.no-live-touch', against, about));
    }
    this.#desk.book.add(...findings);
  }

  /**
   * Who closed it. Where a hand closes a device other than the relay between the utility and a formed part, the source formed
   * with no open relay between them: that touch was only waiting to happen, and is held against whoever formed.
   */
  #answerable(device: DeviceFacts, leg: Leg, across: Across, before: Float64Array): HappeningRecord | undefined {
    const { happenings, facts } = this.#desk;
    const [a, b] = across.sides;
    const present = (side: Side): boolean => isOn(before, side.present1) || isOn(before, side.present2);
    const formed = (side: Side): boolean => isOn(before, side.forming) && !present(side);
    const formedBare = device.kind !== 'relay' && ((present(a) && formed(b)) || (present(b) && formed(a)));
    const forming = facts.forming.map((source) => source.id);
    const forms = formedBare ? happenings.latest(forming, ['forms']) : undefined;
    const touched = happenings.latest([device.id], [`touches ${leg}`, `welds ${leg}`]);
    return forms ?? touched;
  }
}

/** The three differences of Table 5 across one pole. Voltage is compared by magnitude; the angle has its own limit. */
function differences(
  device: DeviceFacts,
  leg: Leg,
  at_us: number,
  { sides, df, da }: Across,
  before: Float64Array,
  against: Finding['against'],
): Finding[] {
  const volts = (side: Side): number => before[leg === 'L1' ? side.v1 : side.v2]!;
  const finding = (what: string, found: number, most: number, unit: Unit, key: LimitKey): Finding => {
    const about = `${what} across ${device.id} ${leg} as it touches`;
    return {
      margin: { value: atMost(found, most, most), at_us, found, limit: most, scale: most, unit, about },
      limit: key,
      against,
    };
  };
  const voltageMost_V = (limit('ieee-1547-2018.sync.voltage').values.difference_percent / 100) * LEG_V;
  return [
    finding(
      'frequency',
      Math.abs(before[df]!),
      limit('ieee-1547-2018.sync.frequency').values.difference_Hz,
      'Hz',
      'ieee-1547-2018.sync.frequency',
    ),
    finding('voltage', Math.abs(volts(sides[0]) - volts(sides[1])), voltageMost_V, 'V', 'ieee-1547-2018.sync.voltage'),
    finding(
      'angle',
      Math.abs(before[da.get(leg)!]!),
      limit('ieee-1547-2018.sync.angle').values.difference_deg,
      'deg',
      'ieee-1547-2018.sync.angle',
    ),
  ];
}
