import { mustBe } from '../check.ts';

/** Highest current that the straight part of the table says, A, and the duty at which it ends, %. */
const STRAIGHT_END_A = 51;
const STRAIGHT_END_percent = 85;
const LOWEST_A = 6;
const HIGHEST_A = 80;

/**
 * Current that a control pilot of duty D allows: 6 A from 8 to 10 %, 0.6 D up to 85 %, 2.5 (D - 64) up to 96 %, 80 A to 97 %.
 *
 * 3 to 7 % asks for digital communication and allows nothing by itself. Source: IEC 61851-1 and SAE J1772 (duty table).
 *
 * @param duty_percent - share of the period at the positive level, %, 0 to 100
 * @returns A; 0 where the table forbids charging
 * @throws RangeError outside 0 to 100 %
 */
export function currentOfDuty(duty_percent: number): number {
  mustBe(duty_percent >= 0 && duty_percent <= 100, 'currentOfDuty', 'duty_percent', duty_percent, '0 to 100 %');
  if (duty_percent < 8 || duty_percent > 97) return 0;
  if (duty_percent < 10) return LOWEST_A;
  if (duty_percent <= STRAIGHT_END_percent) return 0.6 * duty_percent;
  if (duty_percent <= 96) return 2.5 * (duty_percent - 64);
  return HIGHEST_A;
}

/**
 * Duty that says a current: I / 0.6 up to 51 A, I / 2.5 + 64 above. Source: IEC 61851-1 and SAE J1772 (duty table).
 *
 * @param current_A - 6 to 80 A; the pilot cannot say less or more
 * @returns %
 * @throws RangeError outside 6 to 80 A
 */
export function dutyOfCurrent(current_A: number): number {
  mustBe(current_A >= LOWEST_A && current_A <= HIGHEST_A, 'dutyOfCurrent', 'current_A', current_A, '6 to 80 A');
  return current_A <= STRAIGHT_END_A ? current_A / 0.6 : current_A / 2.5 + 64;
}

/** Whether a duty asks for digital communication: 3 to 7 %, 5 % nominal. Same source. */
export function asksForDigital(duty_percent: number): boolean {
  return duty_percent >= 3 && duty_percent <= 7;
}

/** The lowest current that a pilot can say, A: below it there is no charging. */
export const PILOT_LOWEST_A = LOWEST_A;
