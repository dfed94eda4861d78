import type { Id } from './site-description.ts';
import type { SimUs } from './units.ts';

/** A frame holds from its instant until the next. Rules judge intervals, not samples. */
export type Unit =
  | 'V'
  | 'A'
  | 'Hz'
  | 'deg'
  | 'W'
  | 'var'
  | 'µs'
  | '1'
  | 'state'
  | 'mV'
  | 'mA'
  | 'mHz'
  | 'mdeg'
  | 'permille'
  | 'count'
  | 'code'
  | 'bits'
  | 'bit';

export interface Channel {
  /** `piece.quantity` or `bus.quantity`. */
  readonly name: `${Id}.${string}`;
  readonly unit: Unit;
  /** Names of the states, by value, where the unit is `state`. */
  readonly states?: readonly string[];
  /** It turns by itself between frames, as the angle between two live parts does: a frame shows it as it was when the plant last moved. */
  readonly turns?: true;
}

/** Who is answerable: worked out from the origins of the happenings that opened and closed an interval. */
export type Origin = 'controller' | 'person' | 'equipment' | 'utility' | 'site';
export const ORIGINS: readonly Origin[] = ['controller', 'person', 'equipment', 'utility', 'site'];

/** One thing that happened. `origin` is that of the root of its chain of causes: a pole that parts on the controller's
 *  order is the controller's. `cause` is the number of the happening that brought it about. */
export interface HappeningRecord {
  readonly kind: 'happening';
  readonly at_us: SimUs;
  readonly number: number;
  readonly piece: Id;
  /** From the vocabulary in docs/telemetry.md, e.g. `parts L1`, `touches L2`, `supply lost`, `trips OV2`. */
  readonly did: string;
  readonly origin: Origin;
  readonly cause: number | undefined;
}

export type Telemetry =
  /** First. Index in `channels` = index in `values` and `changed`. */
  | { readonly kind: 'head'; readonly channels: readonly Channel[] }
  /**
   * `values` is reused by the sender: copy to keep. `changed` lists indices whose value differs from the frame before;
   * `before` is that frame, where the sender still has it, and just as much its own.
   */
  | {
      readonly kind: 'frame';
      readonly at_us: SimUs;
      readonly values: Float64Array;
      readonly changed: readonly number[];
      readonly before?: Float64Array;
    }
  | HappeningRecord
  | {
      readonly kind: 'wave';
      readonly from_us: SimUs;
      readonly step_us: number;
      readonly channels: readonly number[];
      readonly samples: Float64Array;
    }
  /** Last. `complete` is false when the run was cut short. */
  | { readonly kind: 'end'; readonly at_us: SimUs; readonly complete: boolean };

/** States of a section's supply, as channel `<bus>.supply`. */
export const SUPPLY = ['dead', 'utility', 'formed', 'unformed', 'decaying'] as const;
/** State of one pole, as channel `<piece>.L1` and so on. */
export const POLE = ['open', 'closed', 'welded'] as const;
