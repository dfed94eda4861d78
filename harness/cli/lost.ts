import { KINDS } from '../../sim/equipment/catalogue.ts';
import type { RuleBook } from '../report/report.ts';
import type { ControllerFault, RunResult } from '../run/result.ts';
import { notesOfSite } from '../scenario/site-notes.ts';
import type { Job } from './job.ts';

/** The result of a run whose controller took the thread with it: a verdict about the controller, and nothing judged. */
export function neverCameBack(
  job: Job,
  controller: string,
  controllerFault: ControllerFault,
  book: RuleBook,
): RunResult {
  return {
    scenario: job.scenario,
    file: job.file,
    ...(job.variant === undefined ? {} : { variant: job.variant }),
    controller,
    verdicts: book.rules.map(({ id }) => ({
      rule: id,
      armed: 0,
      outcome: { is: 'not exercised', why: 'cut short' },
      grade: 'confirmed',
      violations: { controller: 0, person: 0, equipment: 0, utility: 0, site: 0 },
    })),
    statements: [],
    happenings: [],
    neverCame: [],
    siteNotes: notesOfSite(job.scenario.site, KINDS),
    simulated_us: controllerFault.at_us,
    complete: false,
    digests: { scenario: 'none', controller: 'none', run: 'none' },
    counts: { solves: 0, scans: 0, frames: 0 },
    controllerFault,
    cutShort: 'the controller did not come back',
  };
}
