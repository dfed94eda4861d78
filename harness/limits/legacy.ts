import { type Document, type Limit, row } from './limit.ts';

const of2003: Document = { document: 'IEEE 1547', edition: '2003' };
const of2014: Document = { document: 'IEEE 1547a', edition: '2014' };

function voltage(of: Document, about: string, level_pu: number, time_s: number): Limit<'level_pu' | 'time_s'> {
  return row(of, '4.2.3, Table 1', 'confirmed', 'laboratory-distribution-code', about, { level_pu, time_s });
}

function frequency(of: Document, about: string, level_Hz: number, time_s: number): Limit<'level_Hz' | 'time_s'> {
  return row(of, '4.2.4, Table 2', 'confirmed', 'laboratory-distribution-code', about, { level_Hz, time_s });
}

function reconnect(of: Document): Limit<'time_s'> {
  return row(of, '4.2.6', 'confirmed', 'laboratory-distribution-code', 'wait before reconnecting', { time_s: 300 });
}

/** Both older editions: range B of ANSI C84.1 down to the trip level, and 59.3 to 60.5 Hz. */
function returnWindow(of: Document): Limit<'min_pu' | 'max_pu' | 'min_Hz' | 'max_Hz'> {
  const values = { min_pu: 0.88, max_pu: 127 / 120, min_Hz: 59.3, max_Hz: 60.5 };
  return row(of, '4.2.6', 'memory', 'memory', 'voltage and frequency before reconnecting', values);
}

/** Sets that an older rooftop inverter may still hold. The numbers were seen, their clause numbers are from memory. */
export const LEGACY_LIMITS = {
  'ieee-1547-2003.trip.OV2': voltage(of2003, 'fast over-voltage trip, above', 1.2, 0.16),
  'ieee-1547-2003.trip.OV1': voltage(of2003, 'slow over-voltage trip, above', 1.1, 1),
  'ieee-1547-2003.trip.UV1': voltage(of2003, 'slow under-voltage trip, below', 0.88, 2),
  'ieee-1547-2003.trip.UV2': voltage(of2003, 'fast under-voltage trip, below', 0.5, 0.16),
  'ieee-1547-2003.trip.OF1': frequency(of2003, 'over-frequency trip, 30 kW or less, above', 60.5, 0.16),
  'ieee-1547-2003.trip.UF1': frequency(of2003, 'under-frequency trip, 30 kW or less, below', 59.3, 0.16),
  'ieee-1547-2003.reconnect': reconnect(of2003),
  'ieee-1547-2003.reconnect.window': returnWindow(of2003),
  'ieee-1547a-2014.trip.OV2': voltage(of2014, 'fast over-voltage trip, above', 1.2, 0.16),
  'ieee-1547a-2014.trip.OV1': voltage(of2014, 'slow over-voltage trip, above', 1.1, 1),
  'ieee-1547a-2014.trip.UV1': voltage(of2014, 'slow under-voltage trip, below', 0.88, 2),
  'ieee-1547a-2014.trip.UV2': voltage(of2014, 'middle under-voltage trip, below', 0.6, 1),
  'ieee-1547a-2014.trip.UV3': voltage(of2014, 'fast under-voltage trip, below', 0.45, 0.16),
  'ieee-1547a-2014.trip.OF2': frequency(of2014, 'fast over-frequency trip, above', 62, 0.16),
  'ieee-1547a-2014.trip.OF1': frequency(of2014, 'slow over-frequency trip, above', 60.5, 2),
  'ieee-1547a-2014.trip.UF1': frequency(of2014, 'slow under-frequency trip, below', 59.5, 2),
  'ieee-1547a-2014.trip.UF2': frequency(of2014, 'fast under-frequency trip, below', 57, 0.16),
  'ieee-1547a-2014.reconnect': reconnect(of2014),
  'ieee-1547a-2014.reconnect.window': returnWindow(of2014),
} as const;
