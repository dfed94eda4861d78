import { generateScenario } from '../../harness/campaign/generate.ts';
import type { Scenario } from '../../harness/scenario/model.ts';
import { type SimUs, US_PER_S } from '../../sim/units.ts';
import { play, siteOf } from '../helpers/sites.ts';

// The child of memory-growth.ts: prints resident bytes early and late as JSON.

const EARLY = 1_000;
const LATE = 20_000;
const SITES = ['juniper-lane', 'mill-cottage'].map(siteOf);

/** One happening after 2 s, and half a second of what it brings. */
function short(seed: number): Scenario {
  const scenario = generateScenario(SITES[seed % SITES.length]!, seed, 1);
  return { ...scenario, end_us: (2.5 * US_PER_S) as SimUs };
}

function resident_B(): number {
  for (let i = 0; i < 3; i += 1) globalThis.gc?.();
  return process.memoryUsage().rss;
}

let early_B = 0;
for (let runs = 1; runs <= LATE; runs += 1) {
  play(short(runs));
  if (runs === EARLY) early_B = resident_B();
}
console.log(JSON.stringify({ early_B, late_B: resident_B() }));
