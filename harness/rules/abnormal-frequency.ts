import { LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { frequencyRows, settled } from './inverter-settings.ts';
import { rule } from './judge.ts';
import { TripClocks } from './trip-clocks.ts';

/** The same of a frequency, as long as there is voltage enough to tell one. */
export const abnormalFrequency = rule({
  id: 'abnormal-frequency',
  about:
    'A following source that runs beyond a frequency trip value of its category ceases within the time of that row.',
  limit: 'ieee-1547-2018.trip.OF2',
  needs: 'phasor',
  scale: 'the clearing time of the row',
  preside: (desk) => {
    const floor_V = limit('ieee-1547-2018.frequency-floor').values.level_pu * LINE_V;
    const clocks = settled(desk.facts.following).map((source) => {
      const bus = desk.channels.of(source.at, 'u12', 'f');
      return new TripClocks(desk, source, {
        rows: frequencyRows(source),
        accuracy: limit('ieee-1547-2018.accuracy.frequency').values.level_Hz,
        unit: 'Hz',
        // 0 Hz: nothing turns.
        read: (now) => (now[bus.u12]! >= floor_V && now[bus.f]! > 0 ? now[bus.f]! : undefined),
      });
    });
    return {
      frame: (moment) => {
        for (const clock of clocks) clock.frame(moment);
      },
      end: (at_us) => {
        for (const clock of clocks) clock.end(at_us);
      },
    };
  },
});
