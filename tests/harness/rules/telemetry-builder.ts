import { Observable } from 'rxjs';
import { siteFacts } from '../../../harness/rules/index.ts';
import type { Rule, Verdict } from '../../../harness/rules/rule.ts';
import { VEHICLE_MODES } from '../../../sim/equipment/vehicle-chart.ts';
import type { Id, Piece, SiteDescription } from '../../../sim/site-description.ts';
import type { Channel, HappeningRecord, Origin, Telemetry } from '../../../sim/telemetry.ts';
import type { SimUs } from '../../../sim/units.ts';

export type Values = Readonly<Record<string, number>>;

const BUS = 'v1 v2 v12 u1 u2 u12 legAngle f supply present1 present2 part following forming nIsl neutralHeld bonds';
const DEVICE = 'L1 L2 dv1 dv2 da1 da2 df i1 i2';
const RELAY = 'openProved1 openProved2 closedProved1 closedProved2 coil controlSupply';
const SOURCE = 'p q i mode energises tripped path1 path2';
const UTILITY = 'on voltage frequency L1 L2 neutral neighbours i1 i2';
const VEHICLE = 'forms reference plugged contactor locked fault soc setFrequency';
const OUTPUTS = 'relayCoil pvPermit vehicleCommand vehicleLimit shed plugLock lockout reason';
const INPUTS = [
  'relayL1Open relayL2Open relayL1Closed relayL2Closed mainAux neutralAux',
  'utilityL1 utilityL2 utilityL12 utilityLegAngle utilityFrequency backupL1 backupL2 backupL12 backupFrequency supplyContactor',
  'serviceL1 serviceL2 vehiclePower vehicleReady vehicleFault plugged stateOfCharge commissioning request onSite',
].join(' ');
const OTHERS: Readonly<Record<string, string>> = {
  former: 'contactor neutralCurrent thermal',
  bond: 'joined',
  fault: 'struck i',
  load: 'p on state',
  utility: UTILITY,
};

/** Names of the channels of a site, as docs/telemetry.md lists them; of the gateway only what rules read. */
export function channelNames(site: SiteDescription): string[] {
  const of = (owner: string, names: string): string[] => names.split(' ').map((name) => `${owner}.${name}`);
  const ofPiece = ({ id, kind }: Piece): string[] => {
    if (kind === 'breaker') return of(id, `${DEVICE} thermal`);
    if (kind === 'relay') return of(id, `${DEVICE} ${RELAY}`);
    if (kind === 'pv') return of(id, `${SOURCE} permit irradiance fMeasured`);
    if (kind === 'vehicle') return of(id, `${SOURCE} ${VEHICLE}`);
    return OTHERS[kind] === undefined ? [] : of(id, OTHERS[kind]);
  };
  const inputs = INPUTS.split(' ').flatMap((name) => [name, `${name}.state`, `${name}.age`, `${name}.heldFrom`]);
  return [
    ...site.buses.flatMap(({ id }) => of(id, BUS)),
    ...site.pieces.flatMap(ofPiece),
    ...of('gateway', `${OUTPUTS} scan`),
    ...inputs.map((name) => `gateway.in.${name}`),
  ];
}

/** A stream of telemetry written down as a table: each row says what changes. What a row leaves out stays as it was. */
export class Story {
  readonly site: SiteDescription;
  readonly records: Telemetry[] = [];
  readonly #names: readonly string[];
  readonly #values: Float64Array;
  #number = 0;

  constructor(site: SiteDescription, without: readonly string[] = []) {
    this.site = site;
    this.#names = channelNames(site).filter((name) => !without.includes(name));
    this.#values = new Float64Array(this.#names.length);
    const channels = this.#names.map(
      (name): Channel => ({
        name: name as Channel['name'],
        unit: '1',
        ...(name.endsWith('.mode') && { states: VEHICLE_MODES }),
      }),
    );
    this.records.push({ kind: 'head', channels });
  }

  frame(at_us: number, changes: Values = {}): this {
    const changed: number[] = [];
    for (const [name, value] of Object.entries(changes)) {
      const index = this.#names.indexOf(name);
      if (index < 0) throw new Error(`the story's site has no channel ${name}`);
      if (this.#values[index] !== value) changed.push(index);
      this.#values[index] = value;
    }
    this.records.push({ kind: 'frame', at_us: at_us as SimUs, values: this.#values.slice(), changed });
    return this;
  }

  happening(at_us: number, piece: Id, did: string, origin: Origin): this {
    this.#number += 1;
    const record: HappeningRecord = {
      kind: 'happening',
      at_us: at_us as SimUs,
      number: this.#number,
      piece,
      did,
      origin,
      cause: undefined,
    };
    this.records.push(record);
    return this;
  }

  /** A window of waveforms with a sample every 10 µs; what is in it no rule here reads. */
  wave(from_us: number, to_us: number): this {
    const samples = new Float64Array((to_us - from_us) / 10 + 1);
    this.records.push({ kind: 'wave', from_us: from_us as SimUs, step_us: 10, channels: [0], samples });
    return this;
  }

  end(at_us: number, complete = true): this {
    this.records.push({ kind: 'end', at_us: at_us as SimUs, complete });
    return this;
  }
}

/** Plays records as a sender does that reuses its buffer and spoils it after each frame. */
export function play(records: readonly Telemetry[]): Observable<Telemetry> {
  return new Observable((out) => {
    let buffer: Float64Array | undefined;
    for (const record of records) {
      if (record.kind === 'frame') {
        buffer ??= new Float64Array(record.values.length);
        buffer.set(record.values);
        out.next({ ...record, values: buffer });
        buffer.fill(Number.NaN);
      } else out.next(record);
    }
    out.complete();
  });
}

/** The one verdict of a rule on a story. */
export function judge(rule: Rule, story: Story): Verdict {
  return judgeRecords(rule, story.site, story.records);
}

export function judgeRecords(rule: Rule, site: SiteDescription, records: readonly Telemetry[]): Verdict {
  const verdicts: Verdict[] = [];
  const errors: unknown[] = [];
  play(records)
    .pipe(rule.judge(siteFacts(site)))
    .subscribe({
      next: (verdict) => verdicts.push(verdict),
      error: (cause) => errors.push(cause),
    });
  if (errors.length > 0) throw errors[0];
  if (verdicts.length !== 1) throw new Error(`${rule.id} gave ${verdicts.length} verdicts, expected 1`);
  return verdicts[0]!;
}

/** The same changes for several owners: `each(['panel', 'house'], { v1: 0 })`. */
export function each(owners: readonly Id[], values: Values): Values {
  const all: Record<string, number> = {};
  for (const owner of owners) for (const [name, value] of Object.entries(values)) all[`${owner}.${name}`] = value;
  return all;
}
