import type { ParamUnit } from '../../../sim/site-description.ts';

/** A unit as it is written: the SI value is number × times × 10^exponent. */
export interface UnitWord {
  readonly word: string;
  readonly times: bigint;
  readonly exponent: number;
  /** Other spellings of the same unit. */
  readonly also: readonly string[];
}

export type NumberUnit = Exclude<ParamUnit, 'choice' | 'bool' | 'text'>;

export const word = (name: string, exponent = 0, also: readonly string[] = [], times = 1n): UnitWord => ({
  word: name,
  times,
  exponent,
  also,
});

/** Smallest first. The word that a value of this unit is asked for is the one without a prefix, or `s` for times. */
export const WORDS: Readonly<Record<NumberUnit, readonly UnitWord[]>> = {
  V: [word('mV', -3), word('V'), word('kV', 3)],
  A: [word('mA', -3), word('A'), word('kA', 3)],
  W: [word('W'), word('kW', 3), word('MW', 6)],
  var: [word('var'), word('kvar', 3)],
  VA: [word('VA'), word('kVA', 3), word('MVA', 6)],
  Hz: [word('mHz', -3), word('Hz')],
  ohm: [
    word('mohm', -3, ['m\u03a9', 'm\u2126']),
    word('ohm', 0, ['\u03a9', '\u2126']),
    word('kohm', 3, ['k\u03a9', 'k\u2126']),
  ],
  F: [word('nF', -9), word('uF', -6, ['\u00b5F', '\u03bcF']), word('mF', -3), word('F')],
  H: [word('uH', -6, ['\u00b5H', '\u03bcH']), word('mH', -3), word('H')],
  Wh: [word('Wh'), word('kWh', 3)],
  deg: [word('deg', 0, ['°'])],
  degC: [word('degC', 0, ['°C'])],
  µs: [word('µs', 0, ['us', '\u03bcs']), word('ms', 3), word('s', 6), word('min', 6, [], 60n), word('h', 6, [], 3600n)],
  '1': [],
  '%': [word('%')],
  '1/Hz': [word('1/Hz')],
  'Hz/s': [word('mHz/s', -3), word('Hz/s')],
  m: [word('m'), word('km', 3), word('ft', -4, [], 3048n)],
  L: [word('L')],
};

export const isNumberUnit = (unit: ParamUnit): unit is NumberUnit =>
  unit !== 'choice' && unit !== 'bool' && unit !== 'text';

/** Words that people write for a unit; the plural is taken off before. */
const SPELT: Readonly<Record<string, string>> = {
  usec: 'µs',
  microsecond: 'µs',
  msec: 'ms',
  millisecond: 'ms',
  sec: 's',
  second: 's',
  minute: 'min',
  hr: 'h',
  hour: 'h',
  volt: 'V',
  kilovolt: 'kV',
  amp: 'A',
  ampere: 'A',
  milliamp: 'mA',
  watt: 'W',
  kilowatt: 'kW',
  megawatt: 'MW',
  hertz: 'Hz',
  degree: 'deg',
  celsius: 'degC',
  percent: '%',
  foot: 'ft',
  feet: 'ft',
  meter: 'm',
  metre: 'm',
  kilometer: 'km',
  kilometre: 'km',
  liter: 'L',
  litre: 'L',
};

/** The unit that a name was meant for, where it is another spelling of one that may stand here. */
export function meantUnit(name: string, words: readonly UnitWord[]): string | undefined {
  const small = name.toLowerCase();
  const folded = words.filter((each) => each.word.toLowerCase() === small);
  if (folded.length === 1) return folded[0]!.word;
  const single = small.replace(/\.$/, '').replace(/(?<=..)s$/, '');
  return words.find(({ word: each }) => each.toLowerCase() === single || each === SPELT[single])?.word;
}
