import { describe, expect, it } from 'vitest';
import { copyOfAnswer, copyOfInputs } from '../../../harness/run/handover.ts';
import { INPUT_NAMES, type Inputs, OUTPUTS_AT_REST, type Reading } from '../../../sim/gateway/boundary.ts';

const reading: Reading = { value: 7, at_us: 3, state: 'fresh' };
const inputs = {
  now_us: 10,
  scan: 1,
  ...Object.fromEntries(INPUT_NAMES.map((name) => [name, { ...reading }])),
} as unknown as Inputs;

describe('copyOfInputs', () => {
  it('is equal, and nothing written into it reaches what was copied', () => {
    const copy = copyOfInputs(inputs);
    expect(copy).toEqual(inputs);
    Object.assign(copy.utilityL1, { value: Number.NaN });
    Object.assign(copy, { onSite: undefined, now_us: 0 });
    expect(inputs).toMatchObject({ now_us: 10, utilityL1: reading, onSite: reading });
  });
});

describe('copyOfAnswer', () => {
  it('keeps outputs and wake, and does not follow when the answer is written over', () => {
    const outputs = { ...OUTPUTS_AT_REST, shed: 1 };
    const copy = copyOfAnswer({ outputs, wake: 'never', more: 1 });
    outputs.shed = 2;
    expect(copy).toEqual({ outputs: { ...OUTPUTS_AT_REST, shed: 1 }, wake: 'never' });
  });

  it('looks at each part once', () => {
    let looks = 0;
    const outputs = {
      ...OUTPUTS_AT_REST,
      get shed() {
        looks += 1;
        return looks;
      },
    };
    expect(copyOfAnswer({ outputs, wake: 'never' })).toMatchObject({ outputs: { shed: looks } });
    expect(looks).toBe(1);
  });

  it.each([[undefined], [null], [7], ['never']])('leaves %j as it is', (answer) => {
    expect(copyOfAnswer(answer)).toBe(answer);
  });

  it('leaves outputs that are none as they are', () => {
    expect(copyOfAnswer({ outputs: null, wake: 3 })).toEqual({ outputs: null, wake: 3 });
    const promise = Promise.resolve(1);
    expect(copyOfAnswer(promise)).toBe(promise);
  });
});
