import type { ParamSpec, ParamUnit, Plain } from '../../../sim/site-description.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { type Fault, quoted } from './problem.ts';

/** A unit as it is written: the SI value is number × times × 10^exponent. */
interface UnitWord {
  readonly word: string;
  readonly times: bigint;
  readonly exponent: number;
  /** Other spellings of the same unit. */
  readonly also: readonly string[];
}

export type NumberUnit = Exclude<ParamUnit, 'choice' | 'bool' | 'text'>;

const word = (name: string, exponent = 0, also: readonly string[] = [], times = 1n): UnitWord => ({
  word: name,
  times,
  exponent,
  also,
});

/** Smallest first. The word that a value of this unit is asked for is the one without a prefix, or `s` for times. */
const WORDS: Readonly<Record<NumberUnit, readonly UnitWord[]>> = {
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

/** Sign, digits, fraction, exponent, and the rest as the unit; one that begins with a digit needs a space before it. */
const QUANTITY = /^([+-]?)(\d{1,40})(?:\.(\d{0,40}))?(?:[eE]([+-]?\d{1,3}))?(?:\s*([^\s\d,./].*)|\s+(1\/.*))?$/u;
const YES: Readonly<Record<string, boolean>> = { yes: true, true: true, no: false, false: false };

export type Read = { readonly value: Plain } | { readonly fault: Fault };

const fault = (code: Fault['code'], found: string, expected: string, mend = ''): Read => ({
  fault: { code, found, expected, mend },
});

const isNumberUnit = (unit: ParamUnit): unit is NumberUnit => unit !== 'choice' && unit !== 'bool' && unit !== 'text';

/** Units that may be written for a parameter. Of times only those that fit under its upper bound are named. */
export function unitWords(spec: Pick<ParamSpec, 'unit' | 'max'>): readonly string[] {
  if (!isNumberUnit(spec.unit)) return [];
  const fits = ({ times, exponent }: UnitWord) => Number(times) * 10 ** exponent <= (spec.max ?? Infinity);
  const words = WORDS[spec.unit];
  const fitting = spec.unit === 'µs' ? words.filter(fits) : words;
  return (fitting.length === 0 ? words : fitting).map((each) => each.word);
}

/** The same as a regular expression of JSON Schema. */
export function unitPattern(unit: NumberUnit): string {
  const words = WORDS[unit].flatMap((each) => [each.word, ...each.also]);
  return `^[+-]?\\d+(\\.\\d*)?([eE][+-]?\\d+)?\\s*(${words.join('|')})$`;
}

/** The SI value that a text stands for, correctly rounded: 8.5 ms is 8500 µs and not a neighbour of it. */
function scaled(sign: string, whole: string, fraction: string, power: string, unit: UnitWord | undefined): number {
  const digits = BigInt(whole + fraction) * (unit?.times ?? 1n);
  const exponent = Number(power) - fraction.length + (unit?.exponent ?? 0);
  const value = Number(`${digits}e${exponent}`);
  return sign === '-' && value !== 0 ? -value : value;
}

/** An SI value as a person would write it in a file; reading the text gives the very same value. */
export function writeQuantity(value: Plain, unit: ParamUnit): string {
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (typeof value === 'string' || !isNumberUnit(unit)) return String(value);
  if (unit === '1') return String(value);
  const texts = WORDS[unit]
    .filter(({ times }) => times === 1n)
    .map((each) => ({ each, number: Number(`${value}e${-each.exponent}`) }))
    .filter(({ each, number }) => Number(`${number}e${each.exponent}`) === value)
    .map(({ each, number }) => ({ text: `${number} ${each.word}`, number }));
  const ease = ({ text, number }: { text: string; number: number }) =>
    text.length + (number !== 0 && Math.abs(number) < 1 ? 3 : 0) + (text.includes('e') ? 10 : 0);
  const base = { text: `${value} ${unit}`, number: value };
  return texts.reduce((best, next) => (ease(next) <= ease(best) ? next : best), texts[0] ?? base).text;
}

/** The unit that a reader most likely meant: that in which the default would be written. */
function likelyUnit(spec: ParamSpec): string {
  const words = unitWords(spec);
  if (typeof spec.default === 'number' && spec.default !== 0) {
    return writeQuantity(spec.default, spec.unit).split(' ').at(-1) ?? '';
  }
  return words.find((each) => each === 's') ?? words.find((each) => each === spec.unit) ?? words.at(-1) ?? '';
}

function rangeText({ min, max, unit }: ParamSpec): string {
  if (min !== undefined && max !== undefined) return `${writeQuantity(min, unit)} to ${writeQuantity(max, unit)}`;
  if (min !== undefined) return `${writeQuantity(min, unit)} or more`;
  return `${writeQuantity(max ?? 0, unit)} or less`;
}

/** What may stand at a parameter, in words. */
export function expectedText(spec: ParamSpec): string {
  if (spec.unit === 'bool') return 'yes or no';
  if (spec.unit === 'choice') return oneOf(spec.choices ?? []);
  if (spec.unit === 'text') return 'a text';
  if (spec.unit === '1') return 'a number without a unit';
  return `a number in ${oneOf(unitWords(spec))}`;
}

/** A line that could be added to the file. */
export function exampleText(spec: ParamSpec): string {
  if (spec.default !== undefined) return writeQuantity(spec.default, spec.unit);
  if (spec.unit === 'bool') return 'yes';
  if (spec.unit === 'choice') return spec.choices?.[0] ?? '';
  if (spec.unit === 'text') return 'text';
  const inside = Math.max(spec.min ?? 1, Math.min(1, spec.max ?? 1));
  return writeQuantity(spec.unit === 'µs' && spec.max === undefined ? 1_000_000 : inside, spec.unit);
}

function readNumber(text: string, spec: ParamSpec & { readonly unit: NumberUnit }): Read {
  const parts = QUANTITY.exec(text);
  if (parts === null)
    return fault(spec.unit === '1' ? 'SCN-VALUE' : 'SCN-UNIT', quoted(text), expectedText(spec), mendOf(text, spec));
  const [, sign = '', whole = '0', fraction = '', power = '0', joined, apart] = parts;
  const name = joined ?? apart;
  const number = text.slice(0, text.length - (name?.length ?? 0)).trim();
  const words = WORDS[spec.unit];
  const unit = words.find((each) => each.word === name || (name !== undefined && each.also.includes(name)));
  if (unit === undefined && name !== undefined) {
    const folded = words.filter((each) => each.word.toLowerCase() === name.toLowerCase());
    const meant = folded.length === 1 ? `Write "${number} ${folded[0]!.word}".` : '';
    if (spec.unit === '1')
      return fault('SCN-UNIT', quoted(text), 'a number without a unit', bareMend(sign, whole, fraction, power, name));
    return fault('SCN-UNIT', quoted(text), oneOf(unitWords(spec)), meant);
  }
  if (unit === undefined && spec.unit !== '1' && spec.unit !== '%') {
    return fault(
      'SCN-UNIT',
      `${number} with no unit`,
      oneOf(unitWords(spec)),
      `Write "${number} ${likelyUnit(spec)}".`,
    );
  }
  const value = scaled(sign, whole, fraction, power, unit);
  if (spec.unit === 'µs' && !Number.isInteger(value)) {
    return fault(
      'SCN-TIME',
      quoted(text),
      'a whole number of microseconds',
      `Write "${writeQuantity(Math.round(value), 'µs')}".`,
    );
  }
  const tooFar = spec.unit === 'µs' ? !Number.isSafeInteger(value) : !Number.isFinite(value);
  if (tooFar) return fault('SCN-RANGE', quoted(text), 'a number that fits the clock or a double');
  return inRange(value, text, spec);
}

function bareMend(sign: string, whole: string, fraction: string, power: string, name: string): string {
  const value = scaled(sign, whole, fraction, power, name === '%' ? word('%', -2) : undefined);
  return `Write "${value}".`;
}

function mendOf(text: string, spec: ParamSpec): string {
  const comma = text.replace(',', '.');
  if (comma !== text && QUANTITY.test(comma)) return `Write "${comma}".`;
  return `Write for example "${exampleText(spec)}".`;
}

function inRange(value: number, text: string, spec: ParamSpec): Read {
  const inside = (each: number) => each >= (spec.min ?? -Infinity) && each <= (spec.max ?? Infinity);
  if (inside(value)) return { value };
  const mend = value < 0 && inside(-value) ? `Write "${text.replace('-', '')}".` : '';
  return fault('SCN-RANGE', quoted(text), rangeText(spec), mend);
}

/**
 * The value of one parameter from its text in the file: SI number, whole µs, word, or yes and no.
 *
 * A bare number is taken only where the unit is `1` or `%`.
 */
export function readPlain(text: string, spec: ParamSpec): Read {
  if (spec.unit === 'text') return text === '' ? fault('SCN-VALUE', 'nothing', 'a text') : { value: text };
  if (spec.unit === 'bool') {
    const value = Object.hasOwn(YES, text) ? YES[text] : undefined;
    return value === undefined
      ? fault('SCN-VALUE', quoted(text), 'yes or no', didYouMean(text, ['yes', 'no']))
      : { value };
  }
  if (spec.unit === 'choice') {
    const choices = spec.choices ?? [];
    return choices.includes(text)
      ? { value: text }
      : fault('SCN-VALUE', quoted(text), oneOf(choices), didYouMean(text, choices));
  }
  return readNumber(text, { ...spec, unit: spec.unit });
}
