import type { Bag, Conductor, Id, SiteDescription } from '../../sim/site-description.ts';

/** What rules may know of a site: worked out from its description alone, never from the running equipment. */
export interface DeviceFacts {
  readonly id: Id;
  readonly kind: string;
  /** Towards the street first. */
  readonly at: readonly [Id, Id];
  readonly legs: readonly Conductor[];
  readonly params: Bag;
}

export interface SourceFacts {
  readonly id: Id;
  readonly kind: string;
  readonly at: Id;
  readonly rated_W: number;
  readonly params: Bag;
}

export interface SiteFacts {
  readonly site: SiteDescription;
  /** Bus that the service transformer's secondary stands on. */
  readonly serviceBus: Id;
  /** Section of each bus: S up to the first customer switching device, M between it and the relay, H behind the relay. */
  readonly sectionOf: ReadonlyMap<Id, 'S' | 'M' | 'H'>;
  readonly devices: readonly DeviceFacts[];
  readonly relays: readonly DeviceFacts[];
  readonly following: readonly SourceFacts[];
  readonly forming: readonly SourceFacts[];
  /** Buses with at least one load from line to neutral, and with any load. */
  readonly legLoadAt: ReadonlySet<Id>;
  readonly loadAt: ReadonlySet<Id>;
}
