import { generateScenario } from '../../harness/campaign/generate.ts';
import { play, siteOf } from '../helpers/sites.ts';

/** Happenings of a generated scenario, and how many scenarios the median is taken of. */
const HAPPENINGS = 10;
const SCENARIOS = 25;

export interface Work {
  readonly solves: number;
  readonly scans: number;
  readonly frames: number;
}

/** Solutions, scans and frames per happening in a median generated scenario: counts, the same on every machine. */
export function medianWork(): Work {
  const counts = Array.from({ length: SCENARIOS }, (_, i) => {
    const { solves, scans, frames } = play(generateScenario(siteOf('juniper-lane'), 5000 + i, HAPPENINGS)).counts;
    return { solves: solves / HAPPENINGS, scans: scans / HAPPENINGS, frames: frames / HAPPENINGS };
  });
  const median = (of: (work: Work) => number): number =>
    counts.map(of).sort((a, b) => a - b)[Math.floor(SCENARIOS / 2)]!;
  return {
    solves: median((work) => work.solves),
    scans: median((work) => work.scans),
    frames: median((work) => work.frames),
  };
}
