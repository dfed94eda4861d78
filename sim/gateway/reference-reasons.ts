/**
 * Why the house is not simply on the utility with its island armed: the values of the output `reason`, for people and docs.
 *
 * Records that are missing are told by `notCommissioned` plus their bits, so that all of them stand in one code.
 */
export const REASONS = {
  none: { code: 0, about: 'On the utility, and an island could be formed.' },
  booting: { code: 1, about: 'The position of the relay has not been read yet.' },
  outage: { code: 10, about: 'The utility is gone.' },
  lowVoltage: { code: 11, about: 'The utility is too low or too high, but there.' },
  oneLegLost: { code: 12, about: 'One leg of the utility is lost; what stands on it hangs on the other.' },
  openNeutral: { code: 13, about: 'The neutral of the service is open: line to line is good, the legs moved apart.' },
  overvoltage: { code: 14, about: 'The utility is far too high.' },
  unusualVoltage: { code: 15, about: 'The utility is outside 0.917 to 1.058 pu.' },
  handOpened: { code: 20, about: 'The main was opened by hand.' },
  mainBelowOpen: { code: 21, about: 'The main behind the relay is open: nothing can be formed there.' },
  noSource: { code: 30, about: 'No vehicle, or it does not come.' },
  sourceAsleep: { code: 31, about: 'The vehicle is being woken.' },
  sourceWeak: { code: 32, about: 'The source did not bring the island up.' },
  sourceLost: { code: 33, about: 'The island lost its source.' },
  sourceFault: { code: 34, about: 'The source stopped itself.' },
  shortCircuit: { code: 35, about: 'A short circuit in the island stopped the source.' },
  reserve: { code: 36, about: 'The charge is at its reserve.' },
  lowCharge: { code: 37, about: 'The charge is low: sheddable loads are off.' },
  batteryFull: { code: 38, about: 'The battery is full: PV has no permit.' },
  overload: { code: 39, about: 'Loads are shed because the source was overloaded.' },
  neutralLost: { code: 40, about: 'The neutral of the island is not held.' },
  neutralStuck: { code: 41, about: 'The neutral former does not let go.' },
  positionUnknown: { code: 50, about: 'The contacts do not say where the relay is.' },
  doesNotOpen: { code: 51, about: 'The relay does not prove open.' },
  doesNotClose: { code: 52, about: 'The relay did not close.' },
  movedByItself: { code: 53, about: 'The relay, or its proof, changed without an order.' },
  notProven: { code: 54, about: 'Isolation is not proven: open the main, and do not rely on it.' },
  houseLive: { code: 55, about: 'The house stays live behind an open relay.' },
  noSupply: { code: 56, about: 'The relay has no control supply.' },
  notCommissioned: {
    code: 100,
    about:
      'Records are missing, and no island is formed; plus 1 supply circuit, 2 firmware, 4 breaker size, 8 grid profile, 16 others.',
  },
} as const satisfies Record<string, { readonly code: number; readonly about: string }>;

export type ReasonName = keyof typeof REASONS;
