import type { Controller } from '../../../sim/gateway/boundary.ts';
import { createReferenceController } from '../../../sim/gateway/reference-controller.ts';
import { machineOf, type PlainChart } from '../../../sim/gateway/reference-plain.ts';
import type { Id, SiteDescription } from '../../../sim/site-description.ts';

/** Where a saboteur is caught: the rule names it against the controller, in built-in scenarios that the reference controller passes. */
export interface Catch {
  readonly rule: Id;
  /** Files below `scenarios/`, without their ending. */
  readonly scenarios: readonly string[];
}

/** The reference controller made wrong on purpose in one way: a bench that lets it pass is no bench. */
export interface Saboteur {
  readonly id: Id;
  /** One line: what it does wrong. */
  readonly wrong: string;
  readonly caughtBy: readonly Catch[];
  readonly make: (site: SiteDescription) => Controller;
}

/** A controller that follows another chart. The machine is made at the first use: a table of all of them costs nothing. */
export function charted(chart: () => PlainChart): Saboteur['make'] {
  let machine: ReturnType<typeof machineOf> | undefined;
  return (site) => {
    machine ??= machineOf(chart());
    return createReferenceController(site, machine);
  };
}
