/** Root of a mean square of currents, in whole µA: a current that stands is its own one-second value. */
export function rootOf(square_A2: number): number {
  return Math.round(Math.sqrt(square_A2) * 1e6) / 1e6;
}
