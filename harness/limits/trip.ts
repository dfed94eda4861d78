import { IEEE_1547, type Limit, row } from './limit.ts';

type TripValues = 'level_pu' | 'time_s' | 'levelMin_pu' | 'levelMax_pu' | 'timeMin_s' | 'timeMax_s';
type FrequencyValues = 'level_Hz' | 'time_s' | 'levelMin_Hz' | 'levelMax_Hz' | 'timeMin_s' | 'timeMax_s';
/** Default, then the lowest and highest setting allowed. */
type Setting = readonly [number, number, number];

/** Table 11, 12 or 13. A clearing time runs from the start of the abnormal condition until energising has ended. */
function voltage(table: number, about: string, level_pu: Setting, time_s: Setting): Limit<TripValues> {
  return row(IEEE_1547, `6.4.1, Table ${table}`, 'confirmed', 'institute-der-code', about, {
    level_pu: level_pu[0],
    levelMin_pu: level_pu[1],
    levelMax_pu: level_pu[2],
    time_s: time_s[0],
    timeMin_s: time_s[1],
    timeMax_s: time_s[2],
  });
}

function frequency(about: string, level_Hz: Setting, time_s: Setting): Limit<FrequencyValues> {
  return row(IEEE_1547, '6.5.1, Table 18', 'confirmed', 'institute-der-code', about, {
    level_Hz: level_Hz[0],
    levelMin_Hz: level_Hz[1],
    levelMax_Hz: level_Hz[2],
    time_s: time_s[0],
    timeMin_s: time_s[1],
    timeMax_s: time_s[2],
  });
}

/**
 * Shall-trip settings of IEEE 1547-2018. The ranges of category III's two under-voltage rows are those after amendment
 * 1547a; how much of them the amendment brought is from memory. Category II's UV2 range ends at 0.50 pu in two of three
 * public texts, at 0.45 pu in the third.
 */
export const TRIP_LIMITS = {
  'ieee-1547-2018.trip.I.OV2': voltage(11, 'fast over-voltage trip, category I', [1.2, 1.2, 1.2], [0.16, 0.16, 0.16]),
  'ieee-1547-2018.trip.I.OV1': voltage(11, 'slow over-voltage trip, category I', [1.1, 1.1, 1.2], [2, 1, 13]),
  'ieee-1547-2018.trip.I.UV1': voltage(11, 'slow under-voltage trip, category I', [0.7, 0, 0.88], [2, 2, 21]),
  'ieee-1547-2018.trip.I.UV2': voltage(11, 'fast under-voltage trip, category I', [0.45, 0, 0.5], [0.16, 0.16, 2]),
  'ieee-1547-2018.trip.II.OV2': voltage(12, 'fast over-voltage trip, category II', [1.2, 1.2, 1.2], [0.16, 0.16, 0.16]),
  'ieee-1547-2018.trip.II.OV1': voltage(12, 'slow over-voltage trip, category II', [1.1, 1.1, 1.2], [2, 1, 13]),
  'ieee-1547-2018.trip.II.UV1': voltage(12, 'slow under-voltage trip, category II', [0.7, 0, 0.88], [10, 2, 21]),
  'ieee-1547-2018.trip.II.UV2': voltage(12, 'fast under-voltage trip, category II', [0.45, 0, 0.5], [0.16, 0.16, 2]),
  'ieee-1547-2018.trip.III.OV2': voltage(
    13,
    'fast over-voltage trip, category III',
    [1.2, 1.2, 1.2],
    [0.16, 0.16, 0.16],
  ),
  'ieee-1547-2018.trip.III.OV1': voltage(13, 'slow over-voltage trip, category III', [1.1, 1.1, 1.2], [13, 1, 13]),
  'ieee-1547-2018.trip.III.UV1': voltage(13, 'slow under-voltage trip, category III', [0.88, 0, 0.88], [21, 2, 50]),
  'ieee-1547-2018.trip.III.UV2': voltage(13, 'fast under-voltage trip, category III', [0.5, 0, 0.5], [2, 0.16, 21]),
  'ieee-1547-2018.trip.OF2': frequency('fast over-frequency trip', [62, 61.8, 66], [0.16, 0.16, 1000]),
  'ieee-1547-2018.trip.OF1': frequency('slow over-frequency trip', [61.2, 61, 66], [300, 180, 1000]),
  'ieee-1547-2018.trip.UF1': frequency('shallow, slow under-frequency trip', [58.5, 50, 59], [300, 180, 1000]),
  'ieee-1547-2018.trip.UF2': frequency('deep, fast under-frequency trip', [56.5, 50, 57], [0.16, 0.16, 1000]),
} as const;
