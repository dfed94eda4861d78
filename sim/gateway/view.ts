import { LEG_V, LINE_V } from '../units.ts';
import { type Inputs, POSITION, REQUEST } from './boundary.ts';

/** What the reference controller makes of one scan's inputs. */
export interface View {
  /** Utility side, by magnitude line to line and leg, and by the angle between the legs. */
  readonly deep: boolean;
  readonly shallow: boolean;
  readonly good: boolean;
  readonly exporting: boolean;
  readonly mainOpen: boolean;
  readonly pvCeased: boolean;
  readonly openProved: boolean;
  readonly closedProved: boolean;
  /** A pole proved open and closed at once, or a proof that is stale. */
  readonly contradiction: boolean;
  readonly houseDead: boolean;
  readonly houseGood: boolean;
  readonly neutralIn: boolean;
  readonly neutralOut: boolean;
  readonly sourceReady: boolean;
  readonly sourceFault: boolean;
  readonly commissioned: boolean;
  readonly asked: 'none' | 'form' | 'return' | 'reset';
  readonly onSite: boolean;
}

/** What the view needs to know of the site. */
export interface ViewSettings {
  readonly pvRated_W: number;
  readonly hasFormer: boolean;
  readonly commissioned: boolean;
}

const mV = (volts: number): number => volts * 1000;
/** Bits that the commissioning record must have. */
const COMMISSIONED = 31;
const ANGLE_OFF_mdeg = 20_000;
/** Share of rating above which a house counts as exporting before a disturbance. */
const EXPORT_SHARE = 0.1;

/** Decisions look at line-to-line magnitude and the angle between the legs, never at leg magnitudes alone. */
export function viewOf(inputs: Inputs, settings: ViewSettings): View {
  const u1 = inputs.utilityL1.value;
  const u2 = inputs.utilityL2.value;
  const u12 = inputs.utilityL12.value;
  const below = (share: number): boolean =>
    u1 < share * mV(LEG_V) || u2 < share * mV(LEG_V) || u12 < share * mV(LINE_V);
  const inside = (value: number, nominal_V: number): boolean =>
    value >= 0.9 * mV(nominal_V) && value <= 1.06 * mV(nominal_V);
  const legsOpposed = Math.abs(inputs.utilityLegAngle.value - 180_000) <= ANGLE_OFF_mdeg;
  const f_mHz = inputs.utilityFrequency.value;
  const mainOpen = inputs.mainAux.state !== 'not fitted' && inputs.mainAux.value === POSITION.open;
  const fresh =
    inputs.utilityL12.state === 'fresh' && inputs.utilityL1.state === 'fresh' && inputs.utilityL2.state === 'fresh';
  const proofs = [inputs.relayL1Open, inputs.relayL2Open, inputs.relayL1Closed, inputs.relayL2Closed];
  const proofsFresh = proofs.every(({ state }) => state === 'fresh');
  const [open1, open2, closed1, closed2] = proofs.map(({ value }) => value === 1);
  const h1 = inputs.backupL1.value;
  const h2 = inputs.backupL2.value;
  const h12 = inputs.backupL12.value;
  const houseInside = (value: number, nominal_V: number): boolean =>
    value >= 0.88 * mV(nominal_V) && value <= 1.1 * mV(nominal_V);
  const requests = Object.keys(REQUEST) as (keyof typeof REQUEST)[];
  return {
    deep: below(0.5) || (u12 >= 0.5 * mV(LINE_V) && !legsOpposed),
    shallow: below(0.88),
    good:
      fresh &&
      !mainOpen &&
      inside(u1, LEG_V) &&
      inside(u2, LEG_V) &&
      inside(u12, LINE_V) &&
      legsOpposed &&
      f_mHz >= 59_500 &&
      f_mHz <= 60_500,
    exporting:
      settings.pvRated_W > 0 &&
      ((inputs.serviceL1.value + inputs.serviceL2.value) / 1000) * LEG_V < -EXPORT_SHARE * settings.pvRated_W,
    mainOpen,
    pvCeased: Math.abs(inputs.pvPower.value) <= Math.max(1, 0.01 * settings.pvRated_W),
    openProved: proofsFresh && open1 === true && open2 === true && closed1 !== true && closed2 !== true,
    closedProved: proofsFresh && closed1 === true && closed2 === true && open1 !== true && open2 !== true,
    contradiction: !proofsFresh || (open1 === true && closed1 === true) || (open2 === true && closed2 === true),
    houseDead: h1 <= 0.1 * mV(LEG_V) && h2 <= 0.1 * mV(LEG_V) && h12 <= 0.1 * mV(LINE_V),
    houseGood: houseInside(h1, LEG_V) && houseInside(h2, LEG_V) && houseInside(h12, LINE_V),
    neutralIn: !settings.hasFormer || inputs.neutralAux.value === POSITION.closed,
    neutralOut: !settings.hasFormer || inputs.neutralAux.value === POSITION.open,
    sourceReady: inputs.vehicleReady.state === 'fresh' && inputs.vehicleReady.value === 1 && inputs.plugged.value === 1,
    sourceFault: inputs.vehicleFault.state === 'fresh' && inputs.vehicleFault.value !== 0,
    commissioned: settings.commissioned && (inputs.commissioning.value & COMMISSIONED) === COMMISSIONED,
    asked: requests.find((name) => REQUEST[name] === inputs.request.value) ?? 'none',
    onSite: inputs.onSite.value === 1,
  };
}
