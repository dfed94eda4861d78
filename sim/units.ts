/** Brands cost nothing at run time. They guard module borders; arithmetic drops them, and the cast at the border vouches. */
declare const unit: unique symbol;

/** Whole microseconds since the start of the run, below 2^53. No 32-bit operators on it. */
export type SimUs = number & { readonly [unit]: 'µs since start' };

export const US_PER_S = 1_000_000;
export const US_PER_MS = 1_000;

/** Nominal frequency of the one common frame in which every angle is kept. */
export const NOMINAL_HZ = 60;
/** Nominal leg and line-to-line voltage of a 120/240 V split-phase service, V rms. */
export const LEG_V = 120;
export const LINE_V = 240;

/** Fixed digits without the zeros at the end, and without a minus before nothing but zeros. */
const trim = (value: number, digits: number): string => {
  const text = value.toFixed(digits);
  const short = text.includes('.') ? text.replace(/\.?0+$/, '') : text;
  return short === '-0' ? '0' : short;
};

/** Instant or duration in the unit a person would choose: "8.5 ms", "300 s", "12 min 5 s". The only place that does it. */
export function timeText(time_us: number): string {
  const size_us = Math.abs(time_us);
  if (size_us < US_PER_MS) return `${trim(time_us, 0)} µs`;
  if (size_us < US_PER_S) return `${trim(time_us / US_PER_MS, 3)} ms`;
  if (size_us < 600 * US_PER_S) return `${trim(time_us / US_PER_S, 6)} s`;
  if (size_us === Infinity || Number.isNaN(time_us)) return `${time_us} µs`;
  const whole_us = Math.round(size_us); // From here on whole, or 59.9999999 s would be printed as 60 s of the same minute.
  const sign = time_us < 0 ? '-' : '';
  const rest_s = trim((whole_us % (60 * US_PER_S)) / US_PER_S, 6);
  const minutes = Math.floor(whole_us / (60 * US_PER_S));
  const hours = Math.floor(minutes / 60);
  return hours > 0 ? `${sign}${hours} h ${minutes % 60} min ${rest_s} s` : `${sign}${minutes} min ${rest_s} s`;
}

/**
 * A number with its unit: four significant digits (frequency to the millihertz, nothing finer than six decimals), and
 * the SI prefix k for power from 1,000 on. "state", "bit" and "1" print bare, with four decimals.
 */
export function quantityText(value: number, unitName: string): string {
  if (unitName === 'µs') return timeText(value);
  if (unitName === '1' || unitName === 'state' || unitName === 'bit') return trim(value, 4);
  const kilo = (unitName === 'W' || unitName === 'var' || unitName === 'VA') && Math.abs(value) >= 1000;
  const shown = kilo ? value / 1000 : value;
  const digits = unitName === 'Hz' ? 3 : decimalsFor(Math.abs(shown));
  return `${trim(shown, digits)} ${kilo ? 'k' : ''}${unitName}`;
}

/** Decimals that leave four significant digits, at most six. */
function decimalsFor(size: number): number {
  let decimals = 0;
  for (let bound = 1000; size < bound && decimals < 6; bound /= 10) decimals += 1;
  return decimals;
}
