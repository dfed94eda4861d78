/** A number in the code that nobody has published, or that was not looked up. Its value is read from the code itself. */
export interface Constant {
  readonly file: string;
  /** Name of a constant declared at the top of the file. */
  readonly name: string;
  readonly about: string;
  readonly standing: 'assumed' | 'memory' | 'numerical';
}

/** The same where the number has no name of its own: `holds` is how it stands in the file. */
export interface Inline extends Omit<Constant, 'name'> {
  readonly value: string;
  readonly holds: string;
}

const of =
  (file: string) =>
  (name: string, standing: Constant['standing'], about: string): Constant => ({ file, name, standing, about });
const part = of('sim/network/phasor-part.ts');
const level = of('sim/network/phasor-level.ts');
const plant = of('sim/site/plant.ts');
const following = of('sim/equipment/following.ts');
const motor = of('sim/equipment/load-motor.ts');
const running = of('sim/equipment/running-motor.ts');
const droop = of('sim/equipment/pv-droop.ts');
const forming = of('sim/equipment/forming.ts');
const view = of('sim/gateway/view.ts');
const chart = of('sim/gateway/reference-parts.ts');
const street = of('sim/gateway/reference-utility.ts');
const proof = of('sim/gateway/reference-proof.ts');

export const CONSTANTS: readonly Constant[] = [
  of('harness/rules/sliding-mean.ts')('STEPS_PER_V', 'numerical', 'steps of 10 µV in which a mean over 60 s is summed'),
  of('harness/rules/sliding-mean.ts')(
    'LEVELS_at_first',
    'numerical',
    'changes of a voltage that it has room for at first',
  ),
  of('sim/network/wiring.ts')('POLE_CLOSED_S', 'assumed', 'conductance of a closed pole: 1 mohm'),
  part('LEAK_S', 'numerical', 'leak of each leg to its neutral, and of each neutral to earth, so that no node floats'),
  part('LEAK_OF_CHARGE_S', 'numerical', 'the same leak while the time constant of a stored charge is looked for'),
  level('PASSES_max', 'numerical', 'solutions taken again while a limit changes what is stamped, at most'),
  level('ROOT_STEP_rad_per_s', 'numerical', 'first interval of the search for the frequency of an unformed part'),
  level('ROOT_LOW_rad_per_s', 'numerical', 'lower end of that search'),
  level('ROOT_HIGH_rad_per_s', 'numerical', 'upper end of that search'),
  level('GONE_V', 'numerical', 'a decaying voltage below this is zero'),
  level('LOOKS_PER_TAU', 'numerical', 'steps in one time constant of a decaying part'),
  plant('FINE_Hz', 'numerical', 'steps a second just after a happening'),
  plant('FINE_STEPS', 'numerical', 'their number'),
  plant('FINE_STEPS_UNFORMED', 'numerical', 'their number where a part has no source that makes its voltage'),
  plant('COARSE_Hz', 'numerical', 'steps a second while anything moves'),
  of('sim/site/truth.ts')('SPEAKS_V', 'assumed', 'a leg below this has no angle that is recorded'),
  of('sim/equipment/poles.ts')('SPEAKS_V', 'assumed', 'the same across a pole'),
  of('sim/equipment/poles.ts')('NEUTRAL_ohm', 'assumed', 'neutral link or pole of a device'),
  of('sim/equipment/utility.ts')('NEUTRAL_ohm', 'assumed', 'neutral between transformer and service bus'),
  of('sim/equipment/lag.ts')(
    'ARRIVED',
    'numerical',
    'a state whose next half-cycle step is below this share of its scale has arrived',
  ),
  of('sim/equipment/stairs.ts')('STAIRS', 'numerical', 'stairs of a ramp'),
  of('sim/equipment/utility-source.ts')('STAIRS_Hz', 'numerical', 'stairs a second of a frequency ramp'),
  of('sim/equipment/motor-group.ts')(
    'STARTS_AGAIN',
    'assumed',
    "voltage, pu, at which the neighbours' motors begin to count towards a new start",
  ),
  of('sim/equipment/bimetal.ts')('STAIR', 'numerical', "stair in which a thermal trip's temperature is shown"),
  of('sim/equipment/former.ts')(
    'OVERLOAD',
    'assumed',
    "overload, over the rating, at which the former's trip time is stated",
  ),
  following('FLOOR_V', 'assumed', 'a following source divides its power by no less than this voltage'),
  following('LOOP_FLOOR_V', 'assumed', 'its loop divides by no less than this voltage'),
  following('INTEGRAL_max_rad_per_s', 'assumed', "stop of the loop's integral, either way"),
  following('LEAD_max_rad', 'assumed', 'largest lead of the current over the loop'),
  following('CEILING_PASSES_max', 'numerical', 'passes of the d.c. ceiling'),
  following('BLEEDER_ohm', 'assumed', 'discharges the output filter once the source has stopped'),
  forming('LIMIT_SLACK', 'numerical', 'a current this little above the limit is let pass'),
  forming('ROUNDS_max', 'numerical', 'rounds of the limit while another device changes too'),
  running(
    'GONE',
    'assumed',
    "flux and voltage, share of nominal, below which nothing is left of the neighbours' motors",
  ),
  running('RESTS', 'numerical', 'a motor rests where half a cycle would move it by less'),
  motor('SPEAKS', 'assumed', 'no voltage for a motor at rest, pu'),
  motor('TAKES', 'assumed', 'a motor that takes less than this share of its rating is driven by nobody'),
  motor('GONE', 'numerical', 'flux, share of nominal, that is none'),
  motor('BREAKAWAY', 'assumed', 'accelerating torque goes as u² less this'),
  of('sim/equipment/load-zip.ts')(
    'ZIP_TOP',
    'assumed',
    'a ZIP fit is followed up to here, pu; above it is an impedance',
  ),
  of('sim/equipment/load-pickup.ts')('DARK', 'assumed', 'below this a load counts as dark, pu'),
  of('sim/equipment/load-pickup.ts')('STAIRS', 'numerical', 'stairs of the decay of a cold pick-up'),
  of('sim/equipment/load-heater.ts')('WATER_J_per_K_L', 'memory', 'heat capacity of a litre of water at about 50 °C'),
  of('sim/equipment/overload-clock.ts')(
    'REST_SHARE',
    'assumed',
    'a stage of overload gives time back below this share of its lower current',
  ),
  of('sim/equipment/pv.ts')('ENERGISES', 'assumed', 'share of rated current above which a following source energises'),
  of('sim/equipment/vehicle-work.ts')(
    'ENERGISES',
    'assumed',
    'the same for a vehicle, and pu of its reference where it forms',
  ),
  of('sim/equipment/vehicle-protection.ts')(
    'JUDGES_FROM',
    'assumed',
    'reference, pu, from which the voltage is judged by it',
  ),
  of('sim/equipment/pv-protection.ts')(
    'FREQUENCY_FLOOR',
    'memory',
    'frequency rows of a following source rest below this voltage, pu: IEEE 1547-2018, 6.5.1',
  ),
  droop('STAIR', 'numerical', "stair of the droop's answer, pu of rated"),
  droop('NEAR', 'numerical', 'so near the droop has arrived'),
  droop('DEAF', 'numerical', 'a wish that moves by less moves nothing'),
  chart('TRIES_max', 'assumed', 'tries of forming, and of closing, in a row before the reference controller rests'),
  of('sim/gateway/reference-plain.ts')(
    'STEPS_max',
    'numerical',
    'steps of the reference chart in one scan; more is a circle',
  ),
  chart('SHORTS_max', 'assumed', 'short circuits of an island after which nobody starts the source again'),
  chart('PILOT_A', 'memory', 'lowest current that the control pilot can ask for: IEC 61851-1'),
  chart('RAISE_A', 'assumed', 'room on the service that a raise of a charge, or its start, wants besides'),
  street('ANGLE_OFF_mdeg', 'assumed', 'legs this far off 180 degrees are no sound service'),
  street('DEEP_pu', 'assumed', 'what the reference controller takes for a deep loss of the utility'),
  street('LOW_pu', 'assumed', 'and for a shallow one'),
  street('HIGH_pu', 'assumed', 'and for too high a voltage'),
  street('TOO_HIGH_pu', 'assumed', 'and for one that it leaves quickly'),
  street('NEUTRAL_MOVED_pu', 'assumed', 'legs this far apart under a good line-to-line voltage: the neutral is open'),
  street('LEGS_DIFFER_pu', 'assumed', 'legs this far apart are not good enough to return to'),
  proof('COMES_UP', 'assumed', 'share of the test voltage that a house leg must show'),
  proof('STAYS_DOWN', 'assumed', 'share of the house leg that the utility leg may show'),
  proof('FED_pu', 'assumed', 'a house leg above this is fed by something else than the test'),
  proof('VOLTS_APART_pu', 'assumed', 'difference of voltage with which poles may meet: inside the 10 % of the rule'),
  proof('CONTRADICT_pu', 'assumed', 'legs and line to line of a side that differ by more: a reading is wrong'),
  proof(
    'HERTZ_APART_mHz',
    'assumed',
    'difference of frequency with which poles may meet: inside the 0.3 Hz of the rule',
  ),
  of('sim/gateway/sensor-wiring.ts')(
    'SPEAKS_mV',
    'assumed',
    'a leg below this has no angle across a pole whose sense leads were exchanged',
  ),
  of('sim/site/pole-history.ts')('SPEAKS_V', 'assumed', 'a side below this has no angle across a pole that was'),
  of('sim/site/pole-history.ts')(
    'SAME_deg',
    'numerical',
    'an angle this near to where its slip had to bring it has not jumped',
  ),
  view('EXPORT_SHARE', 'assumed', 'share of PV rating above which the house counts as exporting'),
  view('CEASED_SHARE', 'memory', 'share of rating that counts as ceased: IEEE 1547-2018, 4.5'),
  view('SPARE_SHARE', 'assumed', 'share of the continuous current below which a load that was shed may come back'),
  view('RECENT_us', 'assumed', 'age of a contact reading above which no source forms on it'),
  view('IMPOSSIBLE_mA', 'assumed', 'current out of a house without PV from which its meter is not believed'),
  view('SHIFT_BEGUN_mHz', 'assumed', "frequency above which an island's shift has certainly begun"),
  view('SHIFT_SPENT_mHz', 'assumed', "frequency at which an island's shift has come to its end"),
  of('sim/gateway/reference-settings.ts')('NO_LIMIT_A', 'numerical', 'rating of what is not there'),
  of('harness/rules/book.ts')('HALF_CYCLE_US', 'assumed', 'how well a crossing is known at phasor level'),
  of('harness/rules/book.ts')('WAVE_CROSSING_US', 'assumed', 'the same where waveforms were recorded'),
  of('harness/rules/book.ts')(
    'DETECTION_SHARE',
    'assumed',
    'how well the time to notice an island is known, share of itself',
  ),
  of('harness/rules/intervals.ts')(
    'STOOD_US',
    'assumed',
    'what stands at the first frame is taken to have stood so long',
  ),
  of('harness/rules/backing.ts')(
    'SOC_STEP',
    'numerical',
    'stair in which the state of charge is shown: a source counts as charged one stair above its reserve',
  ),
  of('harness/rules/darkness.ts')(
    'RELAY_PATIENCE_US',
    'assumed',
    'a relay that has been told to close for so long and has not is to blame for the dark',
  ),
];

export const INLINE: readonly Inline[] = [
  {
    file: 'sim/equipment/running-motor.ts',
    value: "Rs 0.02, X' 0.12, X 2.5 pu, T0' 0.1 s, H 0.05 s, torque 0.75 pu",
    holds: 'COMPRESSOR: MotorData = { rs: 0.02, transientX: 0.12, x: 2.5, t0_s: 0.1, inertia_s: 0.05, torque: 0.75 }',
    standing: 'assumed',
    about: "a small compressor, as the neighbours' motors",
  },
  {
    file: 'sim/equipment/vehicle-settings.ts',
    value: '20 ms and 10 ms',
    holds: 'frequencyLag_s: 0.02,\n    voltageLag_s: 0.01,',
    standing: 'assumed',
    about: "lags of a vehicle's measured frequency and voltage while it follows",
  },
  {
    file: 'sim/equipment/vehicle-protection.ts',
    value: '0.88 to 1.10 pu, 59.3 to 61.2 Hz',
    holds: "'charge window', [0.88, 1.1], [59.3, 61.2]",
    standing: 'assumed',
    about: 'window in which a vehicle charges',
  },
  {
    file: 'sim/gateway/reference-utility.ts',
    value: '0.90 to 1.06 pu, 59.5 to 60.5 Hz',
    holds: 'p >= 0.9 && p <= 1.06',
    standing: 'assumed',
    about: 'what the reference controller takes for a good utility',
  },
  {
    file: 'sim/gateway/reference-utility.ts',
    value: '0.917 and 1.058 pu',
    holds: 'least < 0.917 || most > 1.058',
    standing: 'assumed',
    about: 'outside of this it tells that the voltage is unusual',
  },
  {
    file: 'sim/gateway/reference-settings.ts',
    value: 'I 0.50/0.70 pu, II 0.45/0.65 pu, III 0.50/0.70 pu; II 0.16, 0.32, 5 s; III 1, 10, 21 s',
    holds: 'II: { low_pu: 0.45, mid_pu: 0.65, low_ms: 160, mid_ms: 320, shallow_ms: 5000 }',
    standing: 'memory',
    about: 'how long an exporting house rides through: IEEE 1547-2018, tables 14 to 16, rounded up',
  },
];

/** Top-level numbers that assume nothing: units, codes, nominal values, published ones, sizes of reports. */
export const NOT_ASSUMED: readonly string[] = [
  'sim/units.ts US_PER_S',
  'sim/units.ts US_PER_MS',
  'sim/units.ts NOMINAL_HZ',
  'sim/units.ts LEG_V',
  'sim/units.ts LINE_V',
  'sim/gateway/reference-proof.ts TURN_mdeg',
  'sim/gateway/reference-spec.ts S_us',
  'sim/gateway/reference-spec.ts MS_us',
  'sim/gateway/spec.ts S',
  'sim/gateway/spec.ts MS',
  'sim/gateway/boundary.ts INT32_max',
  'sim/gateway/sensors.ts FRESH',
  'sim/gateway/sensors.ts STALE',
  'sim/gateway/sensors.ts NOT_FITTED',
  'sim/gateway/sensor-noise.ts TURN_mdeg',
  'sim/gateway/sensor-noise.ts HALF_TURN_mdeg',
  'sim/gateway/sensor-spec.ts HOUR_us',
  'sim/network/wiring.ts EARTH',
  'sim/network/phasor-level.ts HALF_CYCLE_s',
  'sim/time/chance.ts FOR_STREAM',
  'sim/time/chance.ts FOR_NOISE',
  'sim/time/chance.ts WARM_UP',
  'sim/equipment/conductor.ts FEET_1000_m',
  'sim/equipment/load-zip.ts RUNS',
  'sim/equipment/load-zip.ts CUT_OUT',
  'sim/equipment/battery.ts S_PER_H',
  'sim/equipment/battery.ts SAME',
  'sim/equipment/vehicle.ts OPEN',
  'sim/equipment/vehicle.ts CLOSED',
  'sim/equipment/utility-spec.ts HOUR_us',
  'sim/equipment/lag.ts HALF_CYCLE_s',
  'sim/equipment/vehicle-guards.ts CLOSED',
  'sim/equipment/pv-protection.ts HALF_CYCLE_s',
  'sim/equipment/running-motor.ts HALF_CYCLE_s',
  'sim/equipment/following.ts HALF_CYCLE_s',
  'sim/equipment/control-pilot.ts STRAIGHT_END_A',
  'sim/equipment/control-pilot.ts STRAIGHT_END_percent',
  'sim/equipment/control-pilot.ts LOWEST_A',
  'sim/equipment/control-pilot.ts HIGHEST_A',
  'sim/equipment/load-spec.ts HOUR_us',
  'harness/rules/backing.ts COMMISSIONED',
  'harness/rules/lockout.ts RESET',
  'harness/rules/evidence.ts COMMAND_FORM',
  'harness/rules/evidence.ts NOT_FITTED',
  'harness/rules/evidence.ts STALE',
  'harness/rules/excuses.ts STALE',
  'harness/rules/deceit.ts OPEN',
  'harness/rules/deceit.ts CLOSED',
  'harness/rules/deceit.ts FRESH',
  'harness/rules/relay-trust.ts RESET',
  'harness/rules/hand-opening.ts REQUEST_FORM',
  'harness/rules/intervals.ts CYCLE_US',
];
