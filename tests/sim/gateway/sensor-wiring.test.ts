import { describe, expect, it } from 'vitest';
import type { InputName } from '../../../sim/gateway/boundary.ts';
import type { Bag } from '../../../sim/site-description.ts';
import { sensorRig } from './sensor-rig.ts';

/** A sound house that takes 9 A on L1 and 4 A on L2, its poles closed. */
const HOUSE = {
  utilityL1: 121_000,
  utilityL2: 119_000,
  utilityL12: 240_000,
  backupL1: 120_900,
  backupL2: 118_900,
  serviceL1: 9_000,
  serviceL2: 4_000,
  vehicleL1: -20_000,
  vehicleL2: -21_000,
  pvPower: 3_000,
  poleVoltsL1: 9,
  poleVoltsL2: 4,
} as const satisfies { readonly [name in InputName]?: number };

function house(settings: Bag = {}, changes: { readonly [name in InputName]?: number } = {}) {
  const signals = Object.fromEntries(
    Object.entries({ ...HOUSE, ...changes }).map(([name, value]) => [name, () => value]),
  );
  const rig = sensorRig({ signals, settings });
  return { ...rig, values: (...names: InputName[]) => names.map((name) => rig.value(name, 1_000_000)) };
}

describe('a current transformer', () => {
  it('that is reversed changes the sign of its own reading alone; reversed again it is right', () => {
    const { happen, values } = house();
    happen('reverse current transformer', { input: 'serviceL1' });
    expect(values('serviceL1', 'serviceL2')).toEqual([-9_000, 4_000]);
    happen('reverse current transformer', { input: 'pvPower' });
    expect(values('pvPower')).toEqual([-3_000]);
    happen('reverse current transformer', { input: 'serviceL1' });
    expect(values('serviceL1', 'serviceL2')).toEqual([9_000, 4_000]);
  });

  it('that is exchanged with the other shows the other leg with the wrong sign', () => {
    const { happen, values } = house();
    happen('swap current transformers', { pair: 'service' });
    expect(values('serviceL1', 'serviceL2', 'vehicleL1')).toEqual([-4_000, -9_000, -20_000]);
  });

  it('that is exchanged and reversed has the sign right and the leg wrong', () => {
    const { values } = house({ swappedTransformers: 'vehicle', reversedTransformer: 'vehicleL1' });
    expect(values('vehicleL1', 'vehicleL2', 'serviceL1')).toEqual([-21_000, 20_000, 9_000]);
  });
});

describe('sense leads', () => {
  it('exchanged on the utility side: legs exchanged, line to line as it was, service currents turned round', () => {
    const { values } = house({ swappedLegs: 'utility' });
    expect(values('utilityL1', 'utilityL2', 'utilityL12')).toEqual([119_000, 121_000, 240_000]);
    expect(values('backupL1', 'backupL2')).toEqual([120_900, 118_900]);
    expect(values('serviceL1', 'serviceL2', 'vehicleL1')).toEqual([-9_000, -4_000, -20_000]);
  });

  it('exchanged on one side: a closed pole reads both legs together, half a turn apart', () => {
    const { values } = house({ swappedLegs: 'utility' });
    expect(values('poleVoltsL1', 'poleAngleL1')).toEqual([119_000 + 120_900, 180_000]);
    expect(values('poleVoltsL2', 'poleAngleL2')).toEqual([121_000 + 118_900, 180_000]);
  });

  it('exchanged on the house side: 180° out of step reads as in step', () => {
    const { values } = house({ swappedLegs: 'backup' }, { poleAngleL1: 180_000, poleVoltsL1: 241_900 });
    expect(values('poleAngleL1')).toEqual([0]);
    expect(values('poleVoltsL1')).toEqual([121_000 - 118_900]);
  });

  it('exchanged at a dead house: no angle, the volts of the side that is alive', () => {
    const { values } = house({ swappedLegs: 'backup' }, { backupL1: 0, backupL2: 0, poleVoltsL1: 121_000 });
    expect(values('poleAngleL1', 'poleVoltsL1')).toEqual([0, 121_000]);
  });

  it('exchanged on both sides: the poles are exchanged too', () => {
    const { happen, values } = house({ swappedLegs: 'backup' });
    happen('swap legs', { side: 'utility' });
    expect(values('poleVoltsL1', 'poleVoltsL2', 'poleAngleL1')).toEqual([4, 9, 0]);
  });
});
