import { LINE_V } from '../../sim/units.ts';
import { limit } from '../limits/index.ts';
import { settled, voltageRows } from './inverter-settings.ts';
import { rule } from './judge.ts';
import { TripClocks } from './trip-clocks.ts';

/** A running inverter leaves a voltage that its trip settings forbid, in the time that they give. */
export const abnormalVoltage = rule({
  id: 'abnormal-voltage',
  about: 'A following source that runs beyond a voltage trip value of its category ceases within the time of that row.',
  limit: 'ieee-1547-2018.trip.II.OV2',
  needs: 'phasor',
  scale: 'the clearing time of the row',
  preside: (desk) => {
    const clocks = settled(desk.facts.following).map((source) => {
      const u12 = desk.channels.index(`${source.at}.u12`);
      return new TripClocks(desk, source, {
        rows: voltageRows(source),
        accuracy: limit('ieee-1547-2018.accuracy.voltage').values.level_pu,
        unit: 'pu',
        read: (now) => now[u12]! / LINE_V,
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
