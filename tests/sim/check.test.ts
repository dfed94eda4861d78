import { describe, expect, it } from 'vitest';
import { assert, DeadbusBug, mustBe } from '../../sim/check.ts';

describe('assert', () => {
  it('is silent when the condition holds', () => {
    expect(() => assert(true, 'time goes forward')).not.toThrow();
  });

  it('throws DeadbusBug with the words given, and says whose defect it is', () => {
    const failing = (): void => assert(false, 'time goes back from 20 to 10 µs');
    expect(failing).toThrow(DeadbusBug);
    expect(failing).toThrow(/^time goes back from 20 to 10 µs .*defect of deadbus, not of your file/);
  });

  it('is told apart from a wrong argument and by its name', () => {
    const bug = new DeadbusBug('anything');
    expect([bug instanceof Error, bug instanceof RangeError, bug.name]).toEqual([true, false, 'DeadbusBug']);
  });
});

describe('mustBe', () => {
  it('is silent when the condition holds', () => {
    expect(() => mustBe(true, 'lineDrop', 'length_m', 5, '≥ 0 m')).not.toThrow();
  });

  it('throws RangeError with place, argument, value and what was expected', () => {
    expect(() => mustBe(false, 'lineDrop', 'length_m', -5, 'finite, ≥ 0 m')).toThrow(
      new RangeError('lineDrop: length_m is -5; expected finite, ≥ 0 m.'),
    );
  });

  it('fails on NaN when the condition is put positively, and prints any value', () => {
    const check = (found: number): void => mustBe(found >= 0, 'lineDrop', 'length_m', found, '≥ 0 m');
    expect(() => check(Number.NaN)).toThrow(/length_m is NaN/);
    expect(() => mustBe(false, 'wire', 'legs', undefined, 'a list')).toThrow(/legs is undefined/);
    expect(() => mustBe(false, 'wire', 'legs', Symbol('L1'), 'a list')).toThrow(/legs is Symbol\(L1\)/);
  });
});
