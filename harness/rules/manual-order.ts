import type { Id } from '../../sim/site-description.ts';
import { limit } from '../limits/index.ts';
import { Aftermath } from './aftermath.ts';
import { type Finding, yesOrNo } from './book.ts';
import { isOn } from './channels.ts';
import { type BusLife, isLive, lifeOf, type Touch, TouchWatch } from './contacts.ts';
import type { DeviceFacts, SiteFacts } from './facts.ts';
import { originOf } from './happenings.ts';
import { type Desk, type Judge, type Moment, rule } from './judge.ts';
import { type Loss, ReferenceWatch } from './parting.ts';
import { powerFinding } from './reference-order.ts';
import { VehicleCurrents } from './vehicle-currents.ts';

/** What a hand on a breaker must not do to sources that run. */
export const manualOrder = rule({
  id: 'manual-order',
  about:
    'A person takes no reference from a running inverter, joins no live section with an unformed island, breaks no charge.',
  limit: 'ieee-1547-2018.ceased.active',
  needs: 'phasor',
  scale: '1 % of the rating of the source; a joining or a broken charge counts 1',
  preside: (desk) => new ManualOrder(desk),
});

class ManualOrder implements Judge {
  readonly #desk: Desk;
  readonly #references: ReferenceWatch;
  readonly #touches: TouchWatch;
  readonly #currents: VehicleCurrents;
  readonly #aftermath: Aftermath;
  readonly #lives = new Map<string, readonly [BusLife, BusLife]>();
  readonly #island = new Map<string, Readonly<Record<'present1' | 'present2', number>>>();

  constructor(desk: Desk) {
    const { facts, channels, happenings } = desk;
    this.#desk = desk;
    this.#references = new ReferenceWatch(facts, channels, happenings);
    this.#touches = new TouchWatch(facts, channels);
    this.#currents = new VehicleCurrents(facts, channels);
    this.#aftermath = new Aftermath(facts.following, channels, (note) => desk.book.note(note));
    for (const { id, at } of facts.devices) {
      this.#lives.set(id, [lifeOf(channels, at[0]), lifeOf(channels, at[1])]);
      for (const bus of at) this.#island.set(bus, channels.of(bus, 'present1', 'present2'));
    }
  }

  frame(moment: Moment): void {
    const { book, happenings } = this.#desk;
    for (const loss of this.#references.frame(moment)) {
      if (loss.cause?.origin !== 'person') continue;
      book.arm();
      const own = standsAlone(this.#desk.facts, loss.source.at, loss.cause.piece);
      const findings = referenceFindings(loss, own, moment.at_us);
      book.add(...findings);
      const wasRunning = findings[0]!.margin.value < 0;
      if (wasRunning) this.#aftermath.begin(loss.source, moment.at_us, loss.cause.piece);
    }
    this.#aftermath.frame(moment);
    const touches = this.#touches.frame(moment);
    if (touches.length > 0) this.#judgeTouches(touches, moment);
    for (const { device, source, current_A } of this.#currents.frame(moment)) {
      const legs = ['parts L1', 'parts L2'];
      if (originOf(happenings.latest([device.id], legs)) !== 'person') continue;
      book.arm();
      book.add(brokenCharge(device, source, current_A, moment.at_us));
    }
  }

  end(at_us: number): void {
    this.#aftermath.end(at_us);
  }

  /** Closing a device is one order, however many of its poles touch at once: they all find the parts still apart. */
  #judgeTouches(touches: readonly Touch[], moment: Moment): void {
    const closed = new Set<Id>();
    for (const touch of touches) {
      if (!touch.partsApart || closed.has(touch.device.id)) continue;
      closed.add(touch.device.id);
      this.#judgeTouch(touch, moment);
    }
  }

  #judgeTouch({ device }: Touch, { at_us, before }: Moment): void {
    const doings = ['touches L1', 'touches L2'];
    if (before === undefined || originOf(this.#desk.happenings.latest([device.id], doings)) !== 'person') return;
    const [a, b] = this.#lives.get(device.id)!;
    if (!isLive(before, a) || !isLive(before, b)) return;
    if (!this.#isUnformed(before, device.at[0], a) && !this.#isUnformed(before, device.at[1], b)) return;
    this.#desk.book.arm();
    const about = `${device.id} closed by hand between a live section and an island that nobody forms`;
    this.#desk.book.add(yesOrNo(at_us, false, 'practice.by-hand', 'person', about));
  }

  #isUnformed(values: Float64Array, bus: string, life: BusLife): boolean {
    const { present1, present2 } = this.#island.get(bus)!;
    const utility = isOn(values, present1) || isOn(values, present2);
    return !utility && !isOn(values, life.forming) && isOn(values, life.following);
  }
}

/**
 * Quiet just before, and kept from starting again: by its permit, or by a breaker of its own. Opening that very breaker is
 * how it is done, so the permit is then not asked for.
 */
function referenceFindings(loss: Loss, own: boolean, at_us: number): Finding[] {
  const findings = [powerFinding(loss, at_us, 'person')];
  if (loss.permitOff_us !== undefined && !own) {
    const about = `${loss.source.id} kept from starting (permit off) as a hand takes its reference`;
    findings.push(yesOrNo(at_us, loss.permitOff_us > 0, 'ieee-1547-2018.ceased.active', 'person', about));
  }
  return findings;
}

/** Whether what an open device parts with the source holds no load: it is the source's own breaker. */
function standsAlone({ site, loadAt }: SiteFacts, bus: Id, device: Id): boolean {
  const reached = new Set([bus]);
  for (let size = 0; size < reached.size; ) {
    size = reached.size;
    for (const { id, at } of site.pieces) {
      const [a, b] = at;
      if (id === device || a === undefined || b === undefined) continue;
      if (reached.has(a)) reached.add(b);
      else if (reached.has(b)) reached.add(a);
    }
  }
  return ![...reached].some((each) => loadAt.has(each));
}

function brokenCharge(device: DeviceFacts, source: string, found: number, at_us: number): Finding {
  const most = limit('practice.break-current').values.current_A;
  const about = `current of ${source} broken by hand at ${device.id}, which must not be`;
  // An event, however large the current.
  const margin = { value: -1, at_us, found, limit: most, scale: most, unit: 'A' as const, about };
  return { margin, limit: 'practice.break-current', against: 'person' };
}
