import { PI, radians, sin } from '../maths.ts';
import { type Bag, numberOf, textOf } from '../site-description.ts';
import { LINE_V, NOMINAL_HZ } from '../units.ts';
import type { ActiveMethod, AmplitudeMethod } from './following.ts';

export const METHODS = ['none', 'AFD', 'SFS', 'SMS', 'SVS'] as const;

/** What an island detection method does to the current: lead over the voltage by frequency, factor by voltage. */
export interface DetectionMethod {
  readonly lead: ActiveMethod;
  readonly factor: AmplitudeMethod;
}

/** No method: the current stands in phase with the loop. */
export const PASSIVE: DetectionMethod = { lead: () => 0, factor: () => 1 };

/**
 * The active methods of the literature, each with the unit's own frequency and voltage.
 *
 * AFD θ = π cf0/2; SFS θ = π/2 (cf0 + K (f - 60)), chopping fraction within ±clamp; SMS θ = θm sin(π/2 (f - 60)/(fm - 60))
 * with f within 60 ± (fm - 60); SVS I = Iref (1 + kv (V - Vn)/Vn). Source: Ropp et al. 2000; Lopes & Sun 2006 (from memory).
 */
export function detectionMethod(params: Bag): DetectionMethod {
  const cf0 = numberOf(params, 'cf0');
  switch (textOf(params, 'detection')) {
    case 'AFD': {
      const lead_rad = (PI * cf0) / 2;
      return { ...PASSIVE, lead: () => lead_rad };
    }
    case 'SFS': {
      const gain = numberOf(params, 'sfsGain');
      const clamp = numberOf(params, 'sfsClamp');
      const chopped = (f_Hz: number): number => Math.max(-clamp, Math.min(clamp, cf0 + gain * (f_Hz - NOMINAL_HZ)));
      return { ...PASSIVE, lead: (f_Hz) => (PI * chopped(f_Hz)) / 2 };
    }
    case 'SMS': {
      const most_rad = radians(numberOf(params, 'smsAngle'));
      const reach_Hz = numberOf(params, 'smsReach');
      const share = (f_Hz: number): number => Math.max(-1, Math.min(1, (f_Hz - NOMINAL_HZ) / reach_Hz));
      return { ...PASSIVE, lead: (f_Hz) => most_rad * sin((PI / 2) * share(f_Hz)) };
    }
    case 'SVS': {
      const gain = numberOf(params, 'svsGain');
      return { ...PASSIVE, factor: (voltage_V) => Math.max(0, 1 + (gain * (voltage_V - LINE_V)) / LINE_V) };
    }
    default:
      return PASSIVE;
  }
}
