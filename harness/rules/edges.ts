import { isOn } from './channels.ts';
import type { Moment } from './judge.ts';

/** The channel was 0 and is not any more. At the first frame nothing rises: what stands there has stood for long. */
export const rises = ({ now, before }: Moment, index: number): boolean =>
  before !== undefined && !isOn(before, index) && isOn(now, index);

export const falls = ({ now, before }: Moment, index: number): boolean =>
  before !== undefined && isOn(before, index) && !isOn(now, index);

export const moves = ({ now, before }: Moment, index: number): boolean =>
  before !== undefined && before[index] !== now[index];

/** It has become this value. */
export const becomes = ({ now, before }: Moment, index: number, value: number): boolean =>
  before !== undefined && before[index] !== value && now[index] === value;
