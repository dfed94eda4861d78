import { describe, expect, it } from 'vitest';
import { scenarioText } from '../helpers/sites.ts';
import { traceOf } from '../helpers/trace.ts';

// A pump that runs from 6 to 7 in the morning, every day.
const morning = (timeOfDay: string) =>
  traceOf(
    scenarioText(`scenario: morning
title: A pump on a timer switch
site: juniper-lane.yaml
override: { kitchen: { scheduleEvery: 24 h, scheduleOn: 1 h, scheduleFrom: 6 h } }
start: { gateway.timeOfDay: ${timeOfDay}, pv.irradiance: 0 }
end: 2 h
`),
  );

describe('gateway.timeOfDay', () => {
  it('puts what goes by a timer switch where it belongs in a run that begins at half past five', () => {
    const trace = morning('5.5 h');
    expect([1799, 1801, 5399, 5401].map((at_s) => trace.at('kitchen.on', at_s))).toEqual([0, 1, 1, 0]);
  });

  it('has it on at the start of one that begins at half past six', () => {
    const trace = morning('6.5 h');
    expect([1, 1799, 1801].map((at_s) => trace.at('kitchen.on', at_s))).toEqual([1, 1, 0]);
  });
});
