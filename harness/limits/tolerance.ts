import type { Grade } from '../rules/rule.ts';
import { type Document, type Limit, row } from './limit.ts';
import type { LimitSource } from './sources.ts';

const iti: Document = { document: 'ITI (CBEMA) curve', edition: '2000' };
const c84: Document = {
  document: 'ANSI C84.1',
  edition: 'ranges as in editions since 1995; which edition holds which is from memory',
};

/** The axis values were seen in print; which level belongs to which time is from memory where the grade says so. */
function corner(
  about: string,
  grade: Grade,
  source: LimitSource,
  level_pu: number,
  time_s: number,
): Limit<'level_pu' | 'time_s'> {
  return row(iti, 'envelope', grade, source, about, { level_pu, time_s });
}

function range(
  about: string,
  grade: Grade,
  source: LimitSource,
  min_V: number,
  max_V: number,
): Limit<'min_V' | 'max_V' | 'min_pu' | 'max_pu'> {
  return row(c84, '120 V base', grade, source, about, { min_V, max_V, min_pu: min_V / 120, max_pu: max_V / 120 });
}

/** What 120 V equipment bears, and what a supply should be. */
export const TOLERANCE_LIMITS = {
  'iti.upper.500': corner('upper edge: 5 pu for 0.01 cycle', 'memory', 'memory', 5, 1 / 6000),
  'iti.upper.200': corner(
    'upper edge: 2 pu for 1 ms; a line in level against the logarithm of time joins the first three corners',
    'memory',
    'memory',
    2,
    0.001,
  ),
  'iti.upper.140': corner('upper edge: 1.4 pu for 3 ms, then a step', 'memory', 'memory', 1.4, 0.003),
  'iti.upper.120': corner('upper edge: 1.2 pu for 0.5 s, then a step', 'confirmed', 'power-quality-textbook', 1.2, 0.5),
  'iti.upper.110': corner('upper edge: 1.1 pu for ever', 'confirmed', 'power-quality-note', 1.1, Infinity),
  'iti.lower.0': corner('lower edge: nothing for 20 ms', 'memory', 'memory', 0, 0.02),
  'iti.lower.70': corner('lower edge: 0.7 pu for 0.5 s', 'confirmed', 'power-quality-textbook', 0.7, 0.5),
  'iti.lower.80': corner('lower edge: 0.8 pu for 10 s', 'memory', 'memory', 0.8, 10),
  'iti.lower.90': corner('lower edge: 0.9 pu for ever', 'confirmed', 'power-quality-textbook', 0.9, Infinity),
  'ansi-c84-1.A.service': range('range A at the service', 'weak', 'cpuc-12993-05', 114, 126),
  'ansi-c84-1.A.utilisation': range(
    'range A at the outlet, not for lighting',
    'weak',
    'voltage-boundary-sheet',
    108,
    126,
  ),
  'ansi-c84-1.A.lighting': range('range A at the outlet, lighting', 'weak', 'cpuc-12993-05', 110, 126),
  'ansi-c84-1.B.service': range('range B at the service', 'weak', 'cpuc-12993-05', 110, 127),
  'ansi-c84-1.B.utilisation': range(
    'range B at the outlet, not for lighting',
    'weak',
    'voltage-boundary-sheet',
    104,
    127,
  ),
  'ansi-c84-1.B.lighting': range('range B at the outlet, lighting', 'weak', 'cpuc-12993-05', 106, 127),
} as const;
