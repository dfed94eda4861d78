import { describe, expect, it } from 'vitest';
import { enterSettings } from '../../../harness/rules/enter-settings.ts';
import type { SourceFacts } from '../../../harness/rules/facts.ts';
import {
  frequencyRows,
  settled,
  settledPv,
  timeAccuracy_us,
  voltageRows,
} from '../../../harness/rules/inverter-settings.ts';
import type { Bag } from '../../../sim/site-description.ts';

const source = (params: Bag, kind = 'pv'): SourceFacts => ({ id: 'roof', kind, at: 'house', rated_W: 5000, params });
const named = (rows: readonly { readonly row: string }[]): string => rows.map(({ row }) => row).join(' ');

describe('voltageRows and frequencyRows', () => {
  it.each([
    ['I', 'OV2 OV1 UV1 UV2', 'OF2 OF1 UF1 UF2'],
    ['III', 'OV2 OV1 UV1 UV2', 'OF2 OF1 UF1 UF2'],
    ['2003', 'OV2 OV1 UV1 UV2', 'OF1 UF1'],
    ['2014', 'OV2 OV1 UV1 UV2 UV3', 'OF2 OF1 UF1 UF2'],
  ])('has for category %s the rows that its edition has: %s; %s', (category, voltage, frequency) => {
    expect(named(voltageRows(source({ category })))).toBe(voltage);
    expect(named(frequencyRows(source({ category })))).toBe(frequency);
  });

  it('holds a frequency setting to its range', () => {
    const [of2] = frequencyRows(source({ category: 'II', of2: 70, of2Time: 5_000_000 }));
    expect(of2).toMatchObject({ row: 'OF2', side: 'over', level: 66, time_us: 5_000_000 });
  });

  it('has none for a source without a category', () => {
    expect(voltageRows(source({}))).toEqual([]);
    expect(settled([source({})])).toEqual([]);
    expect(settledPv([source({ category: 'II' }, 'vehicle'), source({ category: 'II' })])).toHaveLength(1);
  });
});

describe('timeAccuracy_us', () => {
  it.each([
    [160_000, 33_333],
    [4_999_999, 33_333],
    [5_000_000, 50_000],
    [300_000_000, 3_000_000],
  ])('gives a clock of %i µs %i µs', (time_us, accuracy_us) => {
    expect(timeAccuracy_us(time_us)).toBe(accuracy_us);
  });
});

describe('enterSettings', () => {
  it('has window, delay and ramp of Table 4, widened by 1 % and 10 mHz', () => {
    const { min_pu, max_pu, min_Hz, max_Hz, delay_us, ramp_us } = enterSettings(source({ category: 'II' }));
    expect([min_pu, max_pu, min_Hz, max_Hz].map((value) => Number(value.toFixed(4)))).toEqual([
      0.907, 1.06, 59.49, 60.11,
    ]);
    expect([delay_us, ramp_us]).toEqual([300_000_000, 300_000_000]);
  });

  it('has an older window and no ramp for an older edition, and takes no setting for it', () => {
    const settings = enterSettings(source({ category: '2003', enterDelay: 1, enterLow: 0.5 }));
    expect(settings).toMatchObject({ delay_us: 300_000_000, ramp_us: 0, delayKey: 'ieee-1547-2003.reconnect' });
    expect(settings.min_pu).toBeCloseTo(0.87, 9);
  });

  it('holds a ramp to 1 s at least and 1000 s at most', () => {
    const ramp = (rampTime: number) => enterSettings(source({ category: 'II', rampTime })).ramp_us;
    expect([ramp(1), ramp(2_000_000_000)]).toEqual([1_000_000, 1_000_000_000]);
  });
});
