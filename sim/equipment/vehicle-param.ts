import type { ParamSpec } from '../site-description.ts';

export const COMMON = 'common practice, no source';

/** A number with a default. @param source - where the default comes from. @param range - both ends allowed */
export const number = (
  name: string,
  unit: ParamSpec['unit'],
  value: number,
  about: string,
  source = 'assumed',
  range: { readonly min?: number; readonly max?: number } = { min: 0 },
): ParamSpec => ({ name, unit, about, default: value, source, ...range });
