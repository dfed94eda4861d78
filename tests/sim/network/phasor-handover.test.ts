import { describe, expect, it } from 'vitest';
import { cos, sin } from '../../../sim/maths.ts';
import type { PhasorDevice } from '../../../sim/network/device.ts';
import type { Handover } from '../../../sim/network/handover.ts';
import { closePhasors, openPhasors } from '../../../sim/network/phasor-handover.ts';
import { PhasorLevel } from '../../../sim/network/phasor-level.ts';
import { EARTH, Wiring } from '../../../sim/network/wiring.ts';
import type { SimUs } from '../../../sim/units.ts';
import { centreTap, currentSource, resistor, stiffSource } from '../equipment/rig-devices.ts';

type Complex = readonly [re: number, im: number];
const us = (at_us: number): SimUs => at_us as SimUs;
const size = ([re, im]: Complex): number => Math.hypot(re, im);
const of = (from: Handover, name: string): Complex => {
  const found = from.phasors.get(name);
  if (found === undefined) throw new Error(`no ${name}; there are ${[...from.phasors.keys()].join(', ')}`);
  return found;
};
/** A bus's L1-L2 voltage with the angle of its frame: what does not depend on how it is told. */
const absolute = (from: Handover, bus: string): Complex => {
  const angle_rad = from.islands.find(({ buses }) => buses.includes(bus))!.angle_rad;
  const [a, b] = [of(from, `${bus}.L1`), of(from, `${bus}.L2`)];
  return turned([a[0] - b[0], a[1] - b[1]], angle_rad);
};
const turned = ([re, im]: Complex, by: number): Complex => [re * cos(by) - im * sin(by), re * sin(by) + im * cos(by)];

/** The same state with one island's frame turned, and its voltages turned back. */
function retold(from: Handover, island: number, by_rad: number): Handover {
  const { buses } = from.islands[island]!;
  const islands = from.islands.map((one, i) => (i === island ? { ...one, angle_rad: one.angle_rad + by_rad } : one));
  const phasors = [...from.phasors].map(([name, value]): [string, Complex] => [
    name,
    buses.includes(name.split('.')[0]!) ? turned(value, -by_rad) : value,
  ]);
  return { ...from, islands, phasors: new Map(phasors) };
}

/** Street of 240 V at 60.5 Hz behind 0.1 ohm, a pole pair, 24 ohm across the house; the utility leads. */
function onGrid() {
  const wiring = new Wiring();
  const [street, house] = [wiring.addBus('street'), wiring.addBus('house')];
  wiring.addNeutral(street.N, EARTH, 1e-3, 0);
  wiring.addNeutral(street.N, house.N, 1e-3, 0);
  const poles = (['L1', 'L2'] as const).map((leg) => wiring.addPole('relay', leg, street, house, 'closed'));
  const utility = stiffSource({
    bus: 0,
    a: street.L1,
    b: street.L2,
    volts_V: 240,
    angle_rad: 0.3,
    r_ohm: 0.1,
    x_ohm: 0,
    f_Hz: 60.5,
  });
  const lamp = resistor(1, house.L1, house.L2, 24);
  const owners = [
    { id: 'utility', devices: [utility] },
    { id: 'relay', devices: [] },
    { id: 'lamp', devices: [lamp] },
  ];
  const level = new PhasorLevel(wiring, [utility, lamp], owners);
  level.cut(0);
  level.solve(0, 0);
  return { level, utility, poles };
}

/** A follower that wants 61 Hz on 12 ohm and 30 µF: an island that nobody forms. */
function unformed() {
  const wiring = new Wiring();
  const house = wiring.addBus('house');
  let angle_rad = 0.4;
  const rebased: number[] = [];
  const follower: PhasorDevice = {
    bus: 0,
    drives: () => true,
    follow: (net) => net.pull(20, 2 * Math.PI * 61),
    stamp: (net) => net.inject(house.L1, house.L2, 20 * cos(angle_rad), 20 * sin(angle_rad)),
    rebase: (by) => {
      rebased.push(by);
      angle_rad += by;
    },
  };
  const load = resistor(0, house.L1, house.L2, 12, 2 * Math.PI * 60 * 30e-6);
  const level = new PhasorLevel(wiring, [follower, load], [{ id: 'pv', devices: [follower] }]);
  level.cut(0);
  level.solve(0, 0);
  return { level, rebased };
}

/** 15 µF on 100 kohm, 240 V when its source stopped: RC = 1.5 s. */
function charged() {
  const wiring = new Wiring();
  const house = wiring.addBus('house');
  const source = currentSource(0, house.L1, house.L2, 1);
  const load = resistor(0, house.L1, house.L2, 100_000, 2 * Math.PI * 60 * 15e-6);
  const level = new PhasorLevel(wiring, [source, load]);
  level.cut(0);
  level.solve(0, 0);
  source.amps_A = 0;
  level.cut(1000);
  level.solve(0, 1000);
  return level;
}

describe('closePhasors', () => {
  it('tells each bus with its island, whose frame has turned by 0.5 Hz · 360° · 0.2 s on from 0.3 rad', () => {
    const { level, poles } = onGrid();
    expect(closePhasors(level, us(0)).islands).toEqual([{ buses: ['street', 'house'], f_Hz: 60.5, angle_rad: 0.3 }]);
    expect(closePhasors(level, us(200_000)).islands[0]!.angle_rad).toBeCloseTo(0.3 + 0.2 * Math.PI, 12);
    for (const pole of poles) pole.state = 'open';
    level.cut(200_000);
    level.solve(0, 200_000);
    const apart = closePhasors(level, us(300_000));
    expect(apart.islands.map(({ buses }) => buses)).toEqual([['street'], ['house']]);
    expect(of(apart, 'relay.L1')).toEqual([0, 0]);
  });

  it('tells volts against earth and amps into each piece: 240 V over 0.1, 0.002 and 24 ohm drive 9.957 A', () => {
    const from = closePhasors(onGrid().level, us(0));
    const amps_A = 240 / 24.102;
    expect(size(of(from, 'house.L1'))).toBeCloseTo(12 * amps_A, 3);
    expect(size(of(from, 'house.L2'))).toBeCloseTo(12 * amps_A, 3);
    expect(size(of(from, 'house.N'))).toBeLessThan(1e-6);
    expect(of(from, 'lamp.L1')[0]).toBeCloseTo(amps_A, 4);
    expect(of(from, 'lamp.L2')[0]).toBeCloseTo(-amps_A, 4);
    expect(of(from, 'relay.L1')[0]).toBeCloseTo(amps_A, 3);
    // Kirchhoff at the street: what the utility pushes out goes through the relay, but for the leak of 1 µS.
    expect(of(from, 'utility.L1')[0] + of(from, 'relay.L1')[0]).toBeCloseTo(0, 3);
    expect(from.phasors.has('lamp.N')).toBe(false);
  });

  it('tells the primary of a transformer as an inner node: 240 V across, whatever its ratio', () => {
    const wiring = new Wiring();
    const bus = wiring.addBus('service');
    const p = wiring.addInnerNode(bus);
    const half = { r_ohm: 0.01, x_ohm: 0.01 };
    const supply = { r_ohm: 1e-3, x_ohm: 0, volts_V: 240 };
    const street = centreTap({ bus: 0, p, L1: bus.L1, L2: bus.L2, N: bus.N, half, supply });
    const lamp = resistor(0, bus.L1, bus.N, 12);
    const level = new PhasorLevel(wiring, [street, lamp], [{ id: 'street', devices: [street] }]);
    level.cut(0);
    level.solve(0, 0);
    const from = closePhasors(level, us(0));
    expect(size(of(from, 'service.inner1'))).toBeCloseTo(240, 1);
    // 120 V on 12 ohm: out of its L1, back into its centre tap.
    expect(of(from, 'street.L1')[0]).toBeCloseTo(-10, 1);
    expect(of(from, 'street.N')[0]).toBeCloseTo(10, 1);
  });

  it('tells a decaying voltage as it is at the instant, not as it was last looked at: e^(-0.75 s / 1.5 s)', () => {
    const level = charged();
    const [first, later] = [closePhasors(level, us(1000)), closePhasors(level, us(751_000))];
    expect(size(absolute(later, 'house')) / size(absolute(first, 'house'))).toBeCloseTo(Math.exp(-0.5), 3);
  });
});

describe('openPhasors', () => {
  it('leaves everything alone where the level would itself say the same', () => {
    const grid = onGrid();
    const alone = unformed();
    for (const level of [grid.level, alone.level, charged()]) {
      const before = [...level.vRe];
      const from = closePhasors(level, us(333_333));
      expect(openPhasors(level, from)).toBe(false);
      expect([...level.vRe]).toEqual(before);
      expect(closePhasors(level, us(333_333))).toEqual(from);
    }
    expect(alone.rebased).toEqual([]);
  });

  it('takes an island told in another frame: its followers keep their absolute angle, and so does the solution', () => {
    const { level, rebased } = unformed();
    const from = closePhasors(level, us(10_000));
    expect(from.islands[0]!.f_Hz).toBeCloseTo(61, 9);
    expect(openPhasors(level, retold(from, 0, 1))).toBe(true);
    expect(rebased).toHaveLength(1);
    expect(rebased[0]).toBeCloseTo(-1, 12);
    const taken = closePhasors(level, us(10_000));
    expect(taken.islands[0]!.angle_rad).toBeCloseTo(from.islands[0]!.angle_rad + 1, 12);
    level.solve(0, 10_000);
    const solved = closePhasors(level, us(10_000));
    for (const now of [taken, solved]) {
      expect(absolute(now, 'house')[0]).toBeCloseTo(absolute(from, 'house')[0], 9);
      expect(absolute(now, 'house')[1]).toBeCloseTo(absolute(from, 'house')[1], 9);
    }
  });

  it('takes the frequency of an island that nobody leads, and its frame turns by it', () => {
    const { level } = unformed();
    const from = closePhasors(level, us(0));
    const faster = { ...from, islands: from.islands.map((island) => ({ ...island, f_Hz: 62 })) };
    expect(openPhasors(level, faster)).toBe(true);
    expect(level.partAt(0).frame.f_Hz).toBeCloseTo(62, 9);
    expect(closePhasors(level, us(100_000)).islands[0]!.angle_rad).toBeCloseTo(0.4 * Math.PI, 9);
  });

  it('leaves a source that leads its own angle, and turns the voltages into its frame', () => {
    const { level, utility } = onGrid();
    const from = closePhasors(level, us(50_000));
    const angle_rad = utility.lead!()!.frame.angleAt(50_000);
    expect(openPhasors(level, retold(from, 0, 0.7))).toBe(true);
    expect(utility.lead!()!.frame.angleAt(50_000)).toBe(angle_rad);
    expect(of(closePhasors(level, us(50_000)), 'street.L1')[0]).toBeCloseTo(of(from, 'street.L1')[0], 9);
    expect(of(closePhasors(level, us(50_000)), 'street.L1')[1]).toBeCloseTo(of(from, 'street.L1')[1], 9);
  });

  it('lets what decays go on from the voltages told: twice as much stays twice as much', () => {
    const [level, other] = [charged(), charged()];
    const from = closePhasors(level, us(2000));
    const twice = new Map([...from.phasors].map(([name, [re, im]]): [string, Complex] => [name, [2 * re, 2 * im]]));
    expect(openPhasors(other, { ...from, phasors: twice })).toBe(true);
    other.solve(0, 2000);
    for (const each of [level, other]) each.solve(0, 900_000);
    const ratio =
      size(absolute(closePhasors(other, us(900_000)), 'house')) /
      size(absolute(closePhasors(level, us(900_000)), 'house'));
    expect(ratio).toBeCloseTo(2, 9);
  });

  it('refuses an island that its poles do not make, one that is missing, and a voltage that is missing', () => {
    const { level, poles } = onGrid();
    const whole = closePhasors(level, us(0));
    const short = new Map([...whole.phasors].filter(([name]) => name !== 'house.N'));
    expect(() => openPhasors(level, { ...whole, phasors: short })).toThrow('house.N');
    for (const pole of poles) pole.state = 'open';
    level.cut(0);
    level.solve(0, 0);
    expect(() => openPhasors(level, whole)).toThrow('every island');
    const apart = closePhasors(level, us(0));
    const twice = { ...apart, islands: [whole.islands[0]!, apart.islands[1]!] };
    expect(() => openPhasors(level, twice)).toThrow('another than its poles make');
  });
});
