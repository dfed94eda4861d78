import type { ParamSpec, ParamUnit, Plain } from '../../../sim/site-description.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { type Fault, quoted } from './problem.ts';
import { isNumberUnit, meantUnit, type NumberUnit, type UnitWord, WORDS, word } from './unit-words.ts';

/** Sign, digits, fraction, exponent, and the rest as the unit; one that begins with a digit needs a space before it. */
const QUANTITY = /^([+-]?)(\d{1,40})(?:\.(\d{0,40}))?(?:[eE]([+-]?\d{1,9}))?(?:\s*([^\s\d,./].*)|\s+(1\/.*))?$/u;
const YES: Readonly<Record<string, boolean>> = { yes: true, true: true, no: false, false: false };

export type Read = { readonly value: Plain } | { readonly fault: Fault };

const fault = (code: Fault['code'], found: string, expected: string, mend = ''): Read => ({
  fault: { code, found, expected, mend },
});

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

/** How many times nearer to the default another unit must bring a number than the plain one: less than that is doubt. */
const CLEARLY = 3;

/** A bare number with the unit that was most likely meant: of those that keep it in range the one nearest to the default; in doubt the plain one. */
function withUnit(
  number: string,
  valueIn: (unit: UnitWord) => number,
  spec: ParamSpec & { readonly unit: NumberUnit },
) {
  const plain = spec.unit === 'µs' ? 's' : spec.unit;
  const fitting = WORDS[spec.unit].filter((each) => {
    const value = valueIn(each);
    return (each.times === 1n || spec.unit === 'µs') && isInside(value, spec) && fits(value, spec.unit);
  });
  const target = typeof spec.default === 'number' ? Math.abs(spec.default) : 0;
  const distance = (each: UnitWord): number => {
    const ratio = Math.abs(valueIn(each)) / target;
    return Math.max(ratio, 1 / ratio) * (each.word === plain ? 1 : CLEARLY);
  };
  const base = fitting.find((each) => each.word === plain) ?? fitting[0];
  const known = target > 0 && fitting.every((each) => valueIn(each) !== 0);
  const best = known ? fitting.reduce((near, next) => (distance(next) < distance(near) ? next : near), base!) : base;
  return best === undefined ? `Write for example "${exampleText(spec)}".` : `Write "${number} ${best.word}".`;
}

/** A number that the clock can count, or a double hold. */
const fits = (value: number, unit: NumberUnit): boolean =>
  unit === 'µs' ? Number.isSafeInteger(value) : Number.isFinite(value);

const isInside = (value: number, { min, max }: ParamSpec): boolean =>
  value >= (min ?? -Infinity) && value <= (max ?? Infinity);

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

/** What is common at a house, in SI units: an example that would be mad there helps nobody. */
const COMMON: Readonly<Partial<Record<NumberUnit, number>>> = {
  V: 240,
  A: 100,
  W: 1000,
  var: 1000,
  VA: 25_000,
  Hz: 60,
  Wh: 10_000,
  deg: 90,
  degC: 20,
  µs: 1_000_000,
  m: 30,
  L: 200,
};

/** A value that could be added to the file: the default, else what is common, as near to it as the range allows. */
export function exampleText(spec: ParamSpec): string {
  if (spec.default !== undefined) return writeQuantity(spec.default, spec.unit);
  if (spec.unit === 'bool') return 'yes';
  if (spec.unit === 'choice') return spec.choices?.[0] ?? '';
  if (spec.unit === 'text') return 'text';
  const common = COMMON[spec.unit] ?? 1;
  return writeQuantity(Math.max(spec.min ?? common, Math.min(common, spec.max ?? common)), spec.unit);
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
    const meant = meantUnit(name, words);
    if (spec.unit === '1')
      return fault('SCN-UNIT', quoted(text), 'a number without a unit', bareMend(sign, whole, fraction, power, name));
    const mend = meant === undefined ? '' : `Write "${number} ${meant}".`;
    return fault('SCN-UNIT', quoted(text), oneOf(unitWords(spec)), mend);
  }
  if (unit === undefined && spec.unit !== '1' && spec.unit !== '%') {
    return fault(
      'SCN-UNIT',
      `${number} with no unit`,
      oneOf(unitWords(spec)),
      withUnit(number, (each) => scaled(sign, whole, fraction, power, each), spec),
    );
  }
  const value = scaled(sign, whole, fraction, power, unit);
  if (spec.unit === 'µs' && Number.isFinite(value) && !Number.isInteger(value)) {
    return fault(
      'SCN-TIME',
      quoted(text),
      'a whole number of microseconds',
      `Write "${writeQuantity(Math.round(value), 'µs')}".`,
    );
  }
  if (!fits(value, spec.unit)) {
    const bounded = spec.min !== undefined || spec.max !== undefined;
    const what = bounded
      ? rangeText(spec)
      : `a smaller one: ${spec.unit === 'µs' ? 'the clock' : 'a number'} cannot hold it`;
    return fault('SCN-RANGE', `${quoted(text)}, a number far too large`, what);
  }
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
  if (isInside(value, spec)) return { value };
  const mend = value < 0 && isInside(-value, spec) ? `Write "${text.replace('-', '')}".` : '';
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
