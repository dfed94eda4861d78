import { pow } from '../../sim/maths.ts';
import { type LimitKey, limit } from './index.ts';

/**
 * Time for which 120 V equipment bears a voltage of `level_pu`, by the upper ITI edge, seconds.
 *
 * Between the corners (5 pu, 1/6000 s), (2 pu, 1 ms) and (1.4 pu, 3 ms) the level is a straight line against the logarithm
 * of time; then steps at 1.4, 1.2 and 1.1 pu. Infinite up to 1.1 pu, 0 above 5 pu. The corner values themselves still
 * belong to the longer time. A stepped reading of the slope would allow 1 ms anywhere between 1.4 and 2 pu.
 *
 * @param level_pu - rms of a cycle or instantaneous value against crest, pu of nominal, ≥ 0
 */
export function itiUpperTime_s(level_pu: number): number {
  const [c5, c2, c14, c12, c11] = upperCorners();
  if (level_pu <= c11.level_pu) return Infinity;
  if (level_pu <= c12.level_pu) return c12.time_s;
  if (level_pu <= c14.level_pu) return c14.time_s;
  if (level_pu <= c2.level_pu) return onLogLine(level_pu, c14, c2);
  return level_pu <= c5.level_pu ? onLogLine(level_pu, c2, c5) : 0;
}

/**
 * Time for which it bears a voltage of `level_pu` by the lower edge, seconds: 20 ms below 0.7 pu, 0.5 s from there, 10 s from
 * 0.8 pu, for ever from 0.9 pu.
 */
export function itiLowerTime_s(level_pu: number): number {
  if (level_pu >= limit('iti.lower.90').values.level_pu) return Infinity;
  if (level_pu >= limit('iti.lower.80').values.level_pu) return limit('iti.lower.80').values.time_s;
  if (level_pu >= limit('iti.lower.70').values.level_pu) return limit('iti.lower.70').values.time_s;
  return limit('iti.lower.0').values.time_s;
}

/** One line of the grid on which runs are kept: a run of U beyond `level_pu` may last `time_s` at most. */
export interface ItiLevel {
  readonly level_pu: number;
  readonly time_s: number;
  readonly limit: LimitKey;
}

/** Levels that a run can pass upwards. Each allows what a voltage a hair above it is allowed. */
export function itiUpperGrid(): readonly ItiLevel[] {
  const grid: ItiLevel[] = [
    { level_pu: 1.1, time_s: limit('iti.upper.120').values.time_s, limit: 'iti.upper.120' },
    { level_pu: 1.2, time_s: limit('iti.upper.140').values.time_s, limit: 'iti.upper.140' },
  ];
  for (let tenth = 14; tenth <= 50; tenth += tenth < 20 ? 1 : 5) {
    const level_pu = tenth / 10;
    grid.push({ level_pu, time_s: itiUpperTime_s(level_pu), limit: tenth < 20 ? 'iti.upper.140' : 'iti.upper.200' });
  }
  return grid;
}

/** Levels that a run can pass downwards. */
export function itiLowerGrid(): readonly ItiLevel[] {
  return [
    { level_pu: 0.9, time_s: limit('iti.lower.80').values.time_s, limit: 'iti.lower.80' },
    { level_pu: 0.8, time_s: limit('iti.lower.70').values.time_s, limit: 'iti.lower.70' },
    { level_pu: 0.7, time_s: limit('iti.lower.0').values.time_s, limit: 'iti.lower.0' },
  ];
}

interface Corner {
  readonly level_pu: number;
  readonly time_s: number;
}

const upperCorners = (): readonly [Corner, Corner, Corner, Corner, Corner] => [
  limit('iti.upper.500').values,
  limit('iti.upper.200').values,
  limit('iti.upper.140').values,
  limit('iti.upper.120').values,
  limit('iti.upper.110').values,
];

/** time = t0 · (t1 / t0)^((x − x0) / (x1 − x0)), a straight line in level against the logarithm of time. */
function onLogLine(level_pu: number, low: Corner, high: Corner): number {
  const share = (level_pu - low.level_pu) / (high.level_pu - low.level_pu);
  return low.time_s * pow(high.time_s / low.time_s, share);
}
