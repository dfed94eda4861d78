import { it } from 'vitest';
import { IslandRig } from '../sim/equipment/island-rig.ts';

it('try', () => {
  for (const qf of [1])
    for (const f0 of [58.7, 58.9, 59, 59.04, 59.06, 59.065, 59.07, 59.1, 59.15]) {
      const worst: number[] = [];
      for (let seed = 1; seed <= 16; seed++) {
        const isl = new IslandRig({
          units: [{ sfsGain: 0.0424, cf0: 0.02, droop: 'no', filter: 0 }],
          load: { power_W: 5000, qf, f0_Hz: f0 },
          seed,
        });
        isl.rig.run(100_000);
        isl.open();
        isl.rig.run(100_000 + 6e6);
        worst.push(Math.round(isl.trip()?.[1] ?? -1));
      }
      console.log(qf, f0, worst.join(' '));
    }
});
