import type { HappeningRecord } from '../../sim/telemetry.ts';
import { type Channels, isOn } from './channels.ts';
import { type Poles, partedLegs, polesOf } from './contacts.ts';
import type { SiteFacts, SourceFacts } from './facts.ts';
import { type Happenings, PARTS } from './happenings.ts';
import { STOOD_US } from './intervals.ts';
import type { Moment } from './judge.ts';
import { Presence } from './presence.ts';

/** A following source has lost what it follows. */
export interface Loss {
  readonly source: SourceFacts;
  /** Into the site, W, just before; what it takes counts as 0. */
  readonly power_W: number;
  /** Of the part that it is in now. */
  readonly nIsl: number;
  readonly neutralHeld: boolean;
  /** The way to the street was opened; else the forming source or the neutral former let go. */
  readonly byOpening: boolean;
  /** The service lacked a leg already. */
  readonly inOutage: boolean;
  /** PV only: for how long its permit has been off; 0 while it is on. */
  readonly permitOff_us: number | undefined;
  readonly cause: HappeningRecord | undefined;
}

type Names = 'present1' | 'present2' | 'forming' | 'nIsl' | 'neutralHeld';

interface Watched {
  readonly source: SourceFacts;
  readonly bus: Readonly<Record<Names, number>>;
  readonly own: Readonly<Record<'p' | 'path1' | 'path2', number>>;
  readonly forms: number | undefined;
  readonly permit: number | undefined;
  permitOff_us: number | undefined;
}

const NO_LOSSES: readonly Loss[] = [];

/**
 * Watches for the last reference of a following source to be taken by a contact or by a forming source that stops: utility
 * and forming source both gone, or, in an outage, the way to the street, whose transformer and neighbours hold it still.
 * The end of the utility itself is nobody's order and is not reported.
 */
export class ReferenceWatch {
  readonly #happenings: Happenings;
  readonly #presence: Presence;
  readonly #poles: readonly Poles[];
  readonly #formers: readonly string[];
  readonly #forming: readonly string[];
  readonly #watched: readonly Watched[];

  constructor(facts: SiteFacts, channels: Channels, happenings: Happenings) {
    this.#happenings = happenings;
    this.#presence = new Presence(channels, facts.serviceBus);
    this.#poles = facts.devices.map((device) => polesOf(channels, device));
    this.#formers = facts.site.pieces.filter((piece) => piece.kind === 'former').map((piece) => piece.id);
    this.#forming = facts.forming.map((source) => source.id);
    this.#watched = facts.following.map((source) => ({
      source,
      bus: channels.of(source.at, 'present1', 'present2', 'forming', 'nIsl', 'neutralHeld'),
      own: channels.of(source.id, 'p', 'path1', 'path2'),
      forms: source.kind === 'vehicle' ? channels.index(`${source.id}.forms`) : undefined,
      permit: source.kind === 'pv' ? channels.index(`${source.id}.permit`) : undefined,
      permitOff_us: undefined,
    }));
  }

  frame(moment: Moment): readonly Loss[] {
    let losses: Loss[] | undefined;
    for (const watched of this.#watched) {
      const loss = this.#lossOf(watched, moment);
      if (loss !== undefined) {
        losses ??= [];
        losses.push(loss);
      }
      takePermit(watched, moment);
    }
    return losses ?? NO_LOSSES;
  }

  #lossOf(watched: Watched, moment: Moment): Loss | undefined {
    const { at_us, now, before } = moment;
    const { source, bus, own, forms } = watched;
    if (before === undefined || (forms !== undefined && isOn(before, forms))) return undefined;
    if (hasReference(now, bus) && !this.#losesNeutral(bus, now, before)) return undefined;
    const hadPath = isOn(before, own.path1) || isOn(before, own.path2);
    const hasPath = isOn(now, own.path1) || isOn(now, own.path2);
    const lost = hasReference(before, bus) || (hadPath && !hasPath) || this.#losesNeutral(bus, now, before);
    if (!lost) return undefined;
    const cause = this.#causeOf(moment);
    if (cause === undefined) return undefined;
    return {
      source,
      power_W: Math.max(0, before[own.p]!),
      nIsl: now[bus.nIsl]!,
      neutralHeld: isOn(now, bus.neutralHeld),
      byOpening: hadPath && !hasPath,
      inOutage: this.#presence.absence(before).any,
      permitOff_us: permitOffFor(watched, at_us),
      cause,
    };
  }

  /** In an island the neutral former is a reference of its own: without it the legs drift apart. */
  #losesNeutral(bus: Readonly<Record<Names, number>>, now: Float64Array, before: Float64Array): boolean {
    const inIsland = !isOn(now, bus.present1) && !isOn(now, bus.present2);
    return this.#formers.length > 0 && inIsland && isOn(before, bus.neutralHeld) && !isOn(now, bus.neutralHeld);
  }

  /** The contact that parted with this frame; else the former or the forming source that let go. */
  #causeOf(moment: Moment): HappeningRecord | undefined {
    const parted = this.#poles.filter((poles) => partedLegs(moment, poles).length > 0).map(({ device }) => device.id);
    if (parted.length > 0) return this.#happenings.latest(parted, PARTS);
    if (this.#anyDrops(moment, 'forming'))
      return this.#happenings.latest(this.#forming, ['stops', 'leaves', 'trips', 'ceases']);
    if (!this.#anyDrops(moment, 'neutralHeld')) return undefined;
    return this.#happenings.latest(this.#formers, [...PARTS, 'leaves', 'trips']);
  }

  #anyDrops({ now, before }: Moment, name: Names): boolean {
    return before !== undefined && this.#watched.some(({ bus }) => isOn(before, bus[name]) && !isOn(now, bus[name]));
  }
}

function hasReference(values: Float64Array, bus: Readonly<Record<Names, number>>): boolean {
  return isOn(values, bus.present1) || isOn(values, bus.present2) || isOn(values, bus.forming);
}

function takePermit(watched: Watched, { at_us, now, before }: Moment): void {
  if (watched.permit === undefined) return;
  if (isOn(now, watched.permit)) watched.permitOff_us = undefined;
  else watched.permitOff_us ??= before === undefined ? at_us - STOOD_US : at_us;
}

function permitOffFor({ permit, permitOff_us }: Watched, at_us: number): number | undefined {
  if (permit === undefined) return undefined;
  return permitOff_us === undefined ? 0 : at_us - permitOff_us;
}
