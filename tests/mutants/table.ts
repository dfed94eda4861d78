/** One wrong constant or line in the physics: where it is, what stands there, what the mutant puts there. */
export interface Mutant {
  readonly name: string;
  readonly about: string;
  readonly file: string;
  readonly from: string;
  readonly to: string;
}

/** The table is read by the tests' configuration as well, so it is plain data. */
export const MUTANTS: readonly Mutant[] = [
  {
    name: 'neutral-always-held',
    about: 'the neutral former holds the neutral though its contactor is open',
    file: 'sim/equipment/former.ts',
    from: "    if (this.#contact === 'open') return;\n    const { L1, L2, N } = this.#nodes;",
    to: '    const { L1, L2, N } = this.#nodes;',
  },
  {
    name: 'other-leg',
    about: 'a load from L1 to neutral stands on the other leg',
    file: 'sim/equipment/load-body.ts',
    from: "legs.includes('L1') ? bus.L1 : bus.L2;",
    to: "legs.includes('L1') ? bus.L2 : bus.L1;",
  },
  {
    name: 'island-voltage-fixed',
    about: 'the power loop of a following source divides by nominal voltage',
    file: 'sim/equipment/following.ts',
    from: 'this.power_W / Math.max(this.#voltage.value, FLOOR_V)',
    to: 'this.power_W / LINE_V',
  },
  {
    name: 'island-frequency-fixed',
    about: 'an unformed part stays at 60 Hz',
    file: 'sim/network/phasor-level.ts',
    from: '      this.#findFrequency(part);',
    to: '      part.w = NOMINAL_rad_per_s;',
  },
  {
    name: 'neighbours-dropped',
    about: "the neighbours' load is gone as soon as it matters",
    file: 'sim/equipment/neighbours.ts',
    from: '    if (g_S > 0) {',
    to: '    if (g_S < 0) {',
  },
  {
    name: 'current-limit-off',
    about: 'a following source gives whatever its power asks for',
    file: 'sim/equipment/following.ts',
    from: 'this.settings.currentLimit * rated_A;',
    to: '1000 * rated_A;',
  },
  {
    name: 'trip-time-tenfold',
    about: 'every trip row of an inverter takes ten times its time',
    file: 'sim/equipment/pv-trips.ts',
    from: 'Math.max(0, setting.time_us - switching_us);',
    to: 'Math.max(0, 10 * setting.time_us - switching_us);',
  },
  {
    name: 'angle-frozen',
    about: 'the angle across an open pole does not move with the slip',
    file: 'sim/equipment/poles.ts',
    from: 'partA === partB ? 0 : partA.frame.angleAt(now_us) - partB.frame.angleAt(now_us);',
    to: '0 * now_us;',
  },
  {
    name: 'line-load-on-one-leg',
    about: 'a 240 V load is connected from one leg to neutral',
    file: 'sim/equipment/load-body.ts',
    from: 'b: across ? bus.L2 : bus.N,',
    to: 'b: bus.N,',
  },
  {
    name: 'transformer-without-impedance',
    about: 'the halves of the service transformer have no impedance to speak of',
    file: 'sim/equipment/service-transformer.ts',
    from: '    const [r_ohm, x_ohm] = this.#half;',
    to: '    const [r_ohm, x_ohm] = [1e-6, 1e-6 * this.#half[1]];',
  },
  {
    name: 'angle-sign',
    about: 'the lead of an active method becomes a lag',
    file: 'sim/equipment/following.ts',
    from: 'return this.#angle_rad + Math.max(-LEAD_max_rad, Math.min(LEAD_max_rad, lead_rad)) + this.bias_rad;',
    to: 'return this.#angle_rad - Math.max(-LEAD_max_rad, Math.min(LEAD_max_rad, lead_rad)) - this.bias_rad;',
  },
  {
    name: 'zip-exponent',
    about: 'the constant-current share of a load goes with the square of the voltage',
    file: 'sim/equipment/load-zip.ts',
    from: 'return (base_S * (i * held + p)) / (held * held);',
    to: 'return (base_S * (i * held * held + p)) / (held * held);',
  },
];

/** Applies a mutant to a file's text. Throws when what it changes does not stand there exactly once. */
export function mutated(mutant: Mutant, text: string): string {
  const count = text.split(mutant.from).length - 1;
  if (count !== 1)
    throw new Error(`mutant ${mutant.name}: its line stands ${count} times in ${mutant.file}; expected once`);
  return text.replace(mutant.from, () => mutant.to);
}
