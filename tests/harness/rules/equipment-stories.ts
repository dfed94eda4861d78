import { CAR_STOPS, darkHouse, forms, HOUSE_FORMED, onGrid } from './house.ts';
import type { Story, Values } from './telemetry-builder.ts';

/** All five records of commissioning as the gateway reads them. */
export const RECORDS: Values = { 'gateway.in.commissioning': 31 };

/** The gateway orders the coil; nothing of the relay moves with it. */
export function coilOrdered(story: Story, at_us: number, closed: 0 | 1, changes: Values = {}): Story {
  return story
    .happening(at_us, 'gateway', `orders relayCoil ${closed}`, 'controller')
    .frame(at_us, { 'gateway.relayCoil': closed, 'iso.coil': closed, ...changes });
}

export const PROVED_OPEN: Values = {
  'iso.openProved1': 1,
  'iso.openProved2': 1,
  'iso.closedProved1': 0,
  'iso.closedProved2': 0,
};
export const PROVED_CLOSED: Values = {
  'iso.openProved1': 0,
  'iso.openProved2': 0,
  'iso.closedProved1': 1,
  'iso.closedProved2': 1,
};

const INPUTS = [
  'relayL1Open relayL2Open relayL1Closed relayL2Closed mainAux neutralAux utilityL1 utilityL2 utilityL12 utilityLegAngle',
  'utilityFrequency backupL1 backupL2 backupL12 backupFrequency serviceL1 serviceL2 vehiclePower vehicleReady vehicleFault',
  'plugged stateOfCharge',
]
  .join(' ')
  .split(' ');

/** Every reading is as old as this, by the scan at `at_us`; `changes` for those that are not. */
export function fresh(story: Story, at_us: number, age_us: number, changes: Values = {}): Story {
  return story.frame(at_us, {
    ...Object.fromEntries(INPUTS.map((name) => [`gateway.in.${name}.age`, age_us])),
    ...changes,
  });
}

/** A charge with the plug locked: current and power as they are just before the contactor moves. */
export function charging(current_A: number, changes: Values = {}): Story {
  return onGrid()
    .happening(500_000, 'car', 'joins', 'controller')
    .frame(500_000, { 'car.plugged': 1, 'car.locked': 1, 'car.contactor': 1, 'gateway.plugLock': 1 })
    .happening(600_000, 'car', 'starts charging', 'controller')
    .frame(600_000, { 'car.i': current_A, 'car.p': -240 * current_A, 'gateway.vehicleCommand': 1, ...changes });
}

/** The gateway ends a charge at 1 s; the contactor opens at 2 s with this current. */
export function contactorOpens(current_A: number): Story {
  return charging(current_A)
    .frame(1_000_000, { 'gateway.vehicleCommand': 5 })
    .happening(2_000_000, 'car', 'leaves', 'controller')
    .frame(2_000_000, { 'car.contactor': 0, 'car.i': 0, 'car.p': 0 });
}

/** The forming source stops by itself on an overload. */
export function stopsOnOverload(story: Story, at_us: number, changes: Values = {}): Story {
  return story.happening(at_us, 'car', 'stops', 'equipment').frame(at_us, { ...CAR_STOPS, 'car.fault': 1, ...changes });
}

export function formsAgain(story: Story, at_us: number, changes: Values = {}): Story {
  return story
    .happening(at_us, 'car', 'forms', 'controller')
    .frame(at_us, { ...HOUSE_FORMED, 'car.fault': 0, ...changes });
}

/** The heater comes on in an island and stops the source, which starts again so many times, a tenth of a second apart. */
export function restarted(times: number): Story {
  const story = forms(darkHouse(), 2_000_000).frame(2_100_000, { 'heater.on': 1 });
  for (let i = 0; i < times; i += 1) {
    stopsOnOverload(story, 2_200_000 + i * 100_000);
    formsAgain(story, 2_250_000 + i * 100_000);
  }
  return story;
}
