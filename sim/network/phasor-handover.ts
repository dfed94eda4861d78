import { assert } from '../check.ts';
import { cos, sin, TWO_PI, wrapAngle } from '../maths.ts';
import type { SimUs } from '../units.ts';
import type { Handover, Island } from './handover.ts';
import { LegCurrents } from './leg-currents.ts';
import type { PhasorLevel } from './phasor-level.ts';
import type { PhasorPart } from './phasor-part.ts';
import { POLE_CLOSED_S, type WiredBus } from './wiring.ts';

type Complex = readonly [re: number, im: number];

const LEGS = ['L1', 'L2', 'N'] as const;

/** Every node of a bus by its name in a hand-over. */
function nodesOf(bus: WiredBus): readonly (readonly [name: string, node: number])[] {
  const legs = LEGS.map((leg) => [`${bus.id}.${leg}`, bus[leg]] as const);
  return [...legs, ...bus.inner.map((node, i) => [`${bus.id}.inner${i + 1}`, node] as const)];
}

/**
 * The phasor level as it stands at an instant, told and not moved: a solution holds until the next one, its frames turn and
 * what decays falls by closed forms.
 */
export function closePhasors(level: PhasorLevel, at_us: SimUs): Handover {
  const phasors = new Map<string, Complex>();
  for (const part of level.parts) {
    for (const bus of part.buses) {
      for (const [name, node] of nodesOf(bus)) phasors.set(name, level.voltageAt(part, node, at_us));
    }
  }
  tellPoles(level, phasors);
  for (const part of level.parts)
    if (part.kind !== 'dead' && part.kind !== 'decaying') tellDevices(level, part, phasors);
  return {
    at_us,
    islands: level.parts.map((part) => ({
      buses: part.buses.map(({ id }) => id),
      f_Hz: part.frame.f_Hz,
      angle_rad: part.frame.angleAt(at_us),
    })),
    phasors,
  };
}

function isDriven({ kind }: PhasorPart): boolean {
  return kind !== 'dead' && kind !== 'decaying';
}

function tellPoles(level: PhasorLevel, phasors: Map<string, Complex>): void {
  const { vRe, vIm, wiring } = level;
  const withDevices = new Set(level.owners.filter(({ devices }) => devices.length > 0).map(({ id }) => id));
  for (const { owner, leg, nodeA, nodeB, busA, state } of wiring.poles) {
    if (withDevices.has(owner) || !isDriven(level.partAt(busA))) continue;
    const closed_S = state === 'open' ? 0 : POLE_CLOSED_S;
    phasors.set(`${owner}.${leg}`, [(vRe[nodeA]! - vRe[nodeB]!) * closed_S, (vIm[nodeA]! - vIm[nodeB]!) * closed_S]);
  }
}

function tellDevices(level: PhasorLevel, part: PhasorPart, phasors: Map<string, Complex>): void {
  for (const { id, devices } of level.owners) {
    for (const device of part.devices) {
      if (!devices.includes(device)) continue;
      const currents = new LegCurrents(part, device);
      const bus = level.wiring.buses[device.bus]!;
      for (const leg of LEGS) {
        const into = currents.into(bus[leg]);
        if (into === undefined) continue;
        const [re, im] = phasors.get(`${id}.${leg}`) ?? [0, 0];
        phasors.set(`${id}.${leg}`, [re + into[0], im + into[1]]);
      }
    }
  }
}

/**
 * Takes frames and voltages over. No branch of this level remembers a current, and only what decays goes on from its
 * voltages; elsewhere they follow from the pieces with the next solution.
 *
 * A source that leads keeps its own angle and frequency, and the voltages are turned into its frame. Else the island's frame
 * is the one told, and what devices keep against it is moved so that their absolute angles stay. The level has been cut.
 *
 * @returns whether anything differs, by a bit, from what this level would itself have handed over: it is
 * then to be solved at that instant
 */
export function openPhasors(level: PhasorLevel, from: Handover): boolean {
  assert(from.islands.length === level.parts.length, 'a hand-over tells every island');
  let differs = false;
  for (const island of from.islands) {
    const part = partOf(level, island);
    const nodes = part.buses.flatMap(nodesOf);
    const own = nodes.map(([, node]) => level.voltageAt(part, node, from.at_us));
    const turn_rad = wrapAngle(island.angle_rad - part.frame.angleAt(from.at_us));
    const led = level.isLed(part);
    if (!led && takeFrame(part, island, turn_rad, from.at_us)) differs = true;
    const told = nodes.map(([name]) => turned(toldOf(from, name), led ? turn_rad : 0));
    if (told.every(([re, im], i) => re === own[i]![0] && im === own[i]![1])) continue;
    nodes.forEach(([, node], i) => {
      [level.vRe[node], level.vIm[node]] = told[i]!;
    });
    level.forgetDecay(part);
    differs = true;
  }
  return differs;
}

/** The island's frame becomes the one told; true when that is another. */
function takeFrame(part: PhasorPart, island: Island, by_rad: number, at_us: SimUs): boolean {
  if (by_rad === 0 && island.f_Hz === part.frame.f_Hz) return false;
  if (by_rad !== 0) for (const device of part.devices) device.rebase?.(-by_rad);
  part.frame.setFrequency(TWO_PI * island.f_Hz, at_us);
  part.frame.setAngle(island.angle_rad, at_us);
  return true;
}

function partOf(level: PhasorLevel, { buses }: Island): PhasorPart {
  const part = level.partAt(level.wiring.busIndex(buses[0]!));
  const members = part.buses.map(({ id }) => id);
  assert(
    members.length === buses.length && members.every((id) => buses.includes(id)),
    `the island of bus ${buses[0]} is another than its poles make`,
  );
  return part;
}

function toldOf(from: Handover, name: string): Complex {
  const told = from.phasors.get(name);
  assert(told !== undefined, `a hand-over tells ${name}`);
  return told;
}

function turned([re, im]: Complex, by_rad: number): Complex {
  if (by_rad === 0) return [re, im];
  const [c, s] = [cos(by_rad), sin(by_rad)];
  return [re * c - im * s, re * s + im * c];
}
