import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { exampleText, readPlain, writeQuantity } from '../../../harness/scenario/reader/units.ts';
import type { ParamSpec, ParamUnit } from '../../../sim/site-description.ts';
import { param } from './sample.ts';

const value = (text: string, unit: ParamUnit, more: Partial<ParamSpec> = {}) => {
  const read = readPlain(text, param('x', unit, more));
  return 'value' in read ? read.value : read.fault;
};

describe('readPlain', () => {
  it.each<[string, ParamUnit, number]>([
    ['5 s', 'µs', 5_000_000],
    ['20 ms', 'µs', 20_000],
    ['1.005 ms', 'µs', 1005],
    ['16 us', 'µs', 16],
    ['16 \u00b5s', 'µs', 16],
    ['16 \u03bcs', 'µs', 16],
    ['2 min', 'µs', 120_000_000],
    ['1.1 min', 'µs', 66_000_000],
    ['1 h', 'µs', 3_600_000_000],
    ['72 h', 'µs', 259_200_000_000],
    ['7.6 kW', 'W', 7600],
    ['240 V', 'V', 240],
    ['40 A', 'A', 40],
    ['20 deg', 'deg', 20],
    ['25 kVA', 'VA', 25_000],
    ['2 kvar', 'var', 2000],
    ['1.2 %', '%', 1.2],
    ['1.2', '%', 1.2],
    ['0.05 ohm', 'ohm', 0.05],
    ['57 mohm', 'ohm', 0.057],
    ['1.3 kohm', 'ohm', 1300],
    ['0.1 \u03a9', 'ohm', 0.1],
    ['10 uF', 'F', 1e-5],
    ['30 mH', 'H', 0.03],
    ['60 Hz', 'Hz', 60],
    ['0.07 1/Hz', '1/Hz', 0.07],
    ['80 kWh', 'Wh', 80_000],
    ['30 m', 'm', 30],
    ['100 ft', 'm', 30.48],
    ['0.5 Hz/s', 'Hz/s', 0.5],
    ['-40 degC', 'degC', -40],
    ['0.7', '1', 0.7],
    ['1e3 V', 'V', 1000],
    ['5s', 'µs', 5_000_000],
    ['-0 V', 'V', 0],
  ])('reads %s as %s: %d', (text, unit, expected) => {
    expect(value(text, unit)).toBe(expected);
  });

  it('reads yes and no, words of a list, and texts', () => {
    expect(value('yes', 'bool')).toBe(true);
    expect(value('no', 'bool')).toBe(false);
    expect(value('latching', 'choice', { choices: ['latching', 'held-open'] })).toBe('latching');
    expect(value('by the door', 'text')).toBe('by the door');
  });

  it.each<[string, ParamUnit, string, string]>([
    ['8.5', 'V', 'SCN-UNIT', 'Write "8.5 V".'],
    ['5 kWh', 'W', 'SCN-UNIT', ''],
    ['5 KW', 'W', 'SCN-UNIT', 'Write "5 kW".'],
    ['70 %', '1', 'SCN-UNIT', 'Write "0.7".'],
    ['51/Hz', '1/Hz', 'SCN-UNIT', 'Write for example "1 1/Hz".'],
    ['1,5 kW', 'W', 'SCN-UNIT', 'Write "1.5 kW".'],
    ['0.5 us', 'µs', 'SCN-TIME', 'Write "1 µs".'],
    ['lots', '1', 'SCN-VALUE', 'Write for example "1".'],
    ['.inf', 'V', 'SCN-UNIT', 'Write for example "240 V".'],
    ['1e99 h', 'µs', 'SCN-RANGE', ''],
    ['yse', 'bool', 'SCN-VALUE', 'Did you mean "yes"?'],
    ['9999999999999999999999999999999999999999999 V', 'V', 'SCN-UNIT', 'Write for example "240 V".'],
    ['6 sec', 'µs', 'SCN-UNIT', 'Write "6 s".'],
    ['2 Hours', 'µs', 'SCN-UNIT', 'Write "2 h".'],
    ['40 Amps', 'A', 'SCN-UNIT', 'Write "40 A".'],
    ['12 kws', 'W', 'SCN-UNIT', 'Write "12 kW".'],
    ['6 parsecs', 'µs', 'SCN-UNIT', ''],
  ])('refuses %s where the unit is %s: %s', (text, unit, code, mend) => {
    expect(value(text, unit)).toMatchObject({ code, mend });
  });

  it.each<[string, ParamUnit, Partial<ParamSpec>, string]>([
    // The unit of the default alone would make a thousand times too much of these.
    ['2000', 'W', { default: 1000, min: 0, max: 1e6 }, 'Write "2000 W".'],
    ['4000', 'W', { default: 11_500, min: 1, max: 50_000 }, 'Write "4000 W".'],
    ['25000', 'VA', { default: 25_000, min: 1 }, 'Write "25000 VA".'],
    ['7.6', 'W', { default: 10_000, min: 1, max: 50_000 }, 'Write "7.6 kW".'],
    ['8.5', 'µs', { default: 8500, max: 1_000_000 }, 'Write "8.5 ms".'],
    ['5', 'µs', { default: 300_000_000 }, 'Write "5 min".'],
    // 30 W is 33 times too little, 30 kW is 30 times too much: nobody can tell.
    ['30', 'W', { default: 1000 }, 'Write "30 W".'],
    // The plain unit would lie under the least that may stand there, or over the most.
    ['2', 'VA', { default: 5, min: 1000 }, 'Write "2 kVA".'],
    ['50', 'µs', { default: 10_000, max: 100_000 }, 'Write "50 ms".'],
    ['100', 'm', { default: 30 }, 'Write "100 m".'],
    ['0', 'W', { default: 5000 }, 'Write "0 W".'],
    ['60', 'W', {}, 'Write "60 W".'],
    ['900000000', 'W', { default: 5000, max: 50_000 }, 'Write for example "5 kW".'],
  ])('advises for a bare %s in %s with %j: %s', (text, unit, more, mend) => {
    expect(value(text, unit, more)).toMatchObject({ code: 'SCN-UNIT', mend });
  });

  it.each<[string, ParamUnit, Partial<ParamSpec>, string]>([
    ['1e400 kW', 'W', { min: 0, max: 50_000 }, '0 W to 50 kW'],
    ['1e99999 W', 'W', {}, 'a smaller one: a number cannot hold it'],
    ['1e400 s', 'µs', {}, 'a smaller one: the clock cannot hold it'],
  ])('says of %s that it is the number that is too large', (text, unit, more, expected) => {
    const found = `"${text}", a number far too large`;
    expect(value(text, unit, more)).toMatchObject({ code: 'SCN-RANGE', found, expected });
  });

  it('refuses what lies outside the range, and offers the sign as the slip', () => {
    expect(value('-5 kW', 'W', { min: 0, max: 10_000 })).toMatchObject({
      code: 'SCN-RANGE',
      found: '"-5 kW"',
      expected: '0 W to 10 kW',
      mend: 'Write "5 kW".',
    });
    expect(value('1.6', '1', { max: 1.5 })).toMatchObject({ code: 'SCN-RANGE', expected: '1.5 or less', mend: '' });
  });
});

describe('exampleText', () => {
  it('gives the default, else what is common at a house, inside the range', () => {
    expect(exampleText(param('rating', 'A', { min: 0 }))).toBe('100 A');
    expect(exampleText(param('rating', 'A', { min: 0, default: 40 }))).toBe('40 A');
    expect(exampleText(param('frequency', 'Hz', { min: 40, max: 80 }))).toBe('60 Hz');
    expect(exampleText(param('touch', 'A', { min: 0, max: 2 }))).toBe('2 A');
    expect(exampleText(param('factor', '1', { min: -10, max: 10 }))).toBe('1');
  });
});

describe('writeQuantity', () => {
  it('writes what a person would', () => {
    expect(writeQuantity(8500, 'µs')).toBe('8.5 ms');
    expect(writeQuantity(5_000_000, 'µs')).toBe('5 s');
    expect(writeQuantity(25_000, 'VA')).toBe('25 kVA');
    expect(writeQuantity(900, 'W')).toBe('900 W');
    expect(writeQuantity(1e-5, 'F')).toBe('10 uF');
    expect(writeQuantity(0, 'V')).toBe('0 V');
    expect(writeQuantity(true, 'bool')).toBe('yes');
  });

  it('writes what is read back as the same number to the bit, whatever the unit', () => {
    const units = fc.constantFrom<ParamUnit>('V', 'W', 'ohm', 'F', 'H', 'Wh', '1', '%', '1/Hz', 'Hz/s', 'm', 'degC');
    const numbers = fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e30, max: 1e30 });
    fc.assert(
      fc.property(units, numbers, (unit, number) => {
        fc.pre(number === 0 || Math.abs(number) > 1e-30);
        expect(value(writeQuantity(number, unit), unit)).toBe(number === 0 ? 0 : number);
      }),
      { numRuns: 500 },
    );
    fc.assert(
      fc.property(fc.maxSafeInteger(), (time_us) => {
        expect(value(writeQuantity(time_us, 'µs'), 'µs')).toBe(time_us === 0 ? 0 : time_us);
      }),
      { numRuns: 500 },
    );
  });
});
