import type { Mutant } from './table.ts';

/** One parameter of a kind of equipment, 5 % off, and the file of checks from outside that must notice. */
export interface FivePercent extends Mutant {
  readonly kind: string;
  readonly parameter: string;
  /** File of tests/reference. */
  readonly check: string;
}

interface Place {
  readonly file: string;
  /** Source text in which the default stands, once in its file. */
  readonly line: string;
  /** The number in it. */
  readonly literal: string;
}

const TIMES = 1.05;

/** 25_000 becomes 26250: whole numbers stay whole where they are times in µs. */
function larger(literal: string): string {
  const value = Number(literal.replaceAll('_', '')) * TIMES;
  return String(literal.includes('.') ? Number(value.toPrecision(12)) : Math.round(value * 1000) / 1000);
}

function off(kind: string, parameter: string, { file, line, literal }: Place, check: string): FivePercent {
  const from = line.replace('#', literal);
  const to = line.replace('#', larger(literal));
  const about = `${parameter} of a ${kind} is ${larger(literal)} and not ${literal}`;
  return { name: `${kind}-${parameter}`, about, file: `sim/equipment/${file}`, from, to, kind, parameter, check };
}

/** A kind counts as built when a check whose expected value comes from outside fails for one of these. */
export const FIVE_PERCENT: readonly FivePercent[] = [
  off('utility', 'resistance', at('utility-spec.ts', "half of it.',\n    default: #", '1.2'), 'service-transformer'),
  off('utility', 'reactance', at('utility-spec.ts', "windings).',\n    default: #", '1.7'), 'service-transformer'),
  off(
    'utility',
    'noLoadLoss',
    at('utility-spec.ts', "Loss at nominal voltage.',\n    default: #", '0.2'),
    'service-transformer',
  ),
  off(
    'utility',
    'magnetising',
    at('utility-spec.ts', "current at nominal voltage.',\n    default: #", '0.5'),
    'service-transformer',
  ),
  off('conductor', 'size', at('conductor.ts', "'4/0 Al': [#", '0.1'), 'service-transformer'),
  off('conductor', 'length', at('conductor.ts', "about: 'One way.', default: #", '30.48'), 'fault-loop'),
  off(
    'bond',
    'electrode',
    at('bond.ts', "in series with the jumper.',\n      default: #", '25'),
    'service-transformer',
  ),
  off('breaker', 'holdFactor', at('breaker-params.ts', "bears for ever.',\n      default: #", '1.15'), 'breaker-curve'),
  off('breaker', 'thermalTau', at('breaker-params.ts', 'default: #', '150_000_000'), 'breaker-curve'),
  off('relay', 'pickUp', at('relay-params.ts', "until L1 touches.', #", '25_000'), 'relay-travel'),
  off('relay', 'dropOut', at('relay-params.ts', "until L1 parts.', #", '15_000'), 'relay-travel'),
  off('relay', 'supplyMin', at('relay-params.ts', "it cannot be operated.',\n      default: #", '9'), 'relay-travel'),
  off('former', 'resistance', at('former-params.ts', "sees half of it.',\n      default: #", '0.03'), 'split-phase'),
  off('former', 'leakage', at('former-params.ts', "winding at 60 Hz.',\n      default: #", '0.03'), 'split-phase'),
  off('former', 'magnetising', at('former-params.ts', 'default: #,\n      min: 10,', '800'), 'split-phase'),
  off('pv', 'currentLimit', at('pv-params.ts', "'currentLimit', '1', #", '1.2'), 'island-equilibrium'),
  off('pv', 'enterDelay', at('pv-params.ts', "'enterDelay', 'µs', #", '300_000_000'), 'enter-service'),
  off('pv', 'instantLevel', at('service-params.ts', "'instantLevel', '1', #", '1.25'), 'instantaneous-trip'),
  off('pv', 'droopSlope', at('service-params.ts', "'droopSlope',\n    '1',\n    #", '0.05'), 'vehicle-source'),
  off('vehicle', 'continuousShare', at('vehicle-params.ts', "'continuousShare', '1', #", '0.8'), 'vehicle-source'),
  off('vehicle', 'efficiency', at('vehicle-params.ts', "'efficiency', '1', #", '0.94'), 'vehicle-source'),
  off('vehicle', 'virtualX', at('vehicle-params.ts', "'virtualX', '1', #", '0.05'), 'vehicle-island'),
  off('vehicle', 'linkCapacitance', at('vehicle-params.ts', "'linkCapacitance', 'F', #", '0.001'), 'vehicle-island'),
  off(
    'vehicle',
    'serviceRampTime',
    at('vehicle-circuit-params.ts', "'serviceRampTime',\n    'µs',\n    #", '300_000_000'),
    'enter-service',
  ),
  off('load', 'lockedResistance', at('load-spec.ts', "standstill, pu.', #", '0.124'), 'load-motor'),
  off('load', 'torque', at('load-spec.ts', "power over torque.',\n    #", '0.75'), 'load-motor'),
  off('load', 'volume', at('load-spec.ts', "Water in a heater.', default: #", '190'), 'load-slow'),
  off('load', 'pickupDecay', at('load-spec.ts', "it dies away.', #", '2400'), 'load-slow'),
  off('fault', 'resistance', at('fault.ts', "Of the fault with its arc.',\n      default: #", '0.01'), 'fault-loop'),
];

function at(file: string, line: string, literal: string): Place {
  return { file, line, literal };
}
