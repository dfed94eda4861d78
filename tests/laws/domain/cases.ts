import fc from 'fast-check';
import type { Condition, Happening, Scenario, When } from '../../../harness/scenario/model.ts';
import type { SiteDescription } from '../../../sim/site-description.ts';
import { type SimUs, US_PER_MS, US_PER_S } from '../../../sim/units.ts';
import { FAULTED, FAULTS } from './faults.ts';
import { type Draws, doingOf, OFFERED, OFFERS } from './steps.ts';
import { siteOfVariation, type Variation, variations } from './variations.ts';

/** One thing of a sequence: so long after the one before it. A fault while one stands is its mending. */
export interface Step {
  readonly gap_ms: number;
  readonly what: { readonly offer: number } | { readonly fault: number };
  readonly draws: Draws;
  /** Which of several pieces of that kind. */
  readonly which: number;
}

/** A fault that strikes when the controller has come so far for the first time: the only one of its case. */
export interface Trap {
  readonly at: keyof typeof ANCHORS;
  readonly delay_ms: number;
  readonly step: Step;
  /** 0: never. */
  readonly mended_ms: number;
}

export interface Case {
  readonly variation: Variation;
  readonly irradiance: number;
  readonly soc: number;
  readonly seed: number;
  /** Ties between timers of one rank at one instant in an order drawn from the seed. */
  readonly shuffled: boolean;
  /** In the end the utility and the main are put right, so that the house may come back. */
  readonly putRight: boolean;
  readonly trap: Trap | undefined;
  readonly steps: readonly Step[];
}

const is = (channel: string, value: number, held_us = 0): Condition => ({ channel, is: '=', value, held_us });

/** Stages of leaving and of coming back, as orders and contacts show them. */
const ANCHORS = {
  'permit off': is('gateway.pvPermit', 0),
  'relay ordered open': is('gateway.relayCoil', 0),
  'relay proved open': is('relay.openProved1', 1),
  'neutral ordered': is('gateway.neutralContactor', 1),
  'test ordered': is('gateway.vehicleCommand', 3),
  'forming ordered': is('gateway.vehicleCommand', 4),
  'island stands': is('gateway.vehicleCommand', 4, 15 * US_PER_S),
  'source stopped': is('gateway.vehicleCommand', 5),
} as const satisfies Readonly<Record<string, Condition>>;

const draws = fc.tuple(fc.nat(999), fc.nat(999)).map(([a, b]): Draws => [a / 1000, b / 1000]);
const which = fc.nat(99).map((n) => n / 100);
/** Short, so that things meet; or long, so that they settle. */
const gap_ms = fc.oneof(
  { weight: 4, arbitrary: fc.nat(500) },
  { weight: 3, arbitrary: fc.nat(6_000) },
  { weight: 3, arbitrary: fc.nat(20_000) },
  { weight: 1, arbitrary: fc.nat(60_000) },
);
const event = fc.record({ gap_ms, what: fc.constantFrom(...OFFERED).map((offer) => ({ offer })), draws, which });
const fault = fc.record({ gap_ms, what: fc.constantFrom(...FAULTED).map((index) => ({ fault: index })), draws, which });

/** 1 to 30 steps, 10 on average. */
const listOf = (step: fc.Arbitrary<Step>): fc.Arbitrary<Step[]> =>
  fc.oneof(
    { weight: 3, arbitrary: fc.array(step, { minLength: 1, maxLength: 12, size: 'max' }) },
    { weight: 2, arbitrary: fc.array(step, { minLength: 1, maxLength: 30, size: 'max' }) },
  );

const trap: fc.Arbitrary<Trap> = fc.record({
  at: fc.constantFrom(...(Object.keys(ANCHORS) as (keyof typeof ANCHORS)[])),
  delay_ms: fc.oneof(fc.nat(150), fc.nat(3_000)),
  step: fault,
  mended_ms: fc.constantFrom(0, 0, 200, 5_000, 40_000),
});

const caseOf = (steps: fc.Arbitrary<Step[]>, ofTrap: fc.Arbitrary<Trap | undefined>): fc.Arbitrary<Case> =>
  fc.record({
    variation: variations,
    irradiance: fc.constantFrom(1, 0, 0.4),
    soc: fc.constantFrom(0.7, 0.9, 0.3, 0.15),
    seed: fc.nat(0xffff_ffff),
    shuffled: fc.boolean(),
    putRight: fc.boolean(),
    trap: ofTrap,
    steps,
  });

/** Anything that shows may happen, in any order; nothing is broken. */
export const soundCases: fc.Arbitrary<Case> = caseOf(listOf(event), fc.constant(undefined));

/** The same with hidden faults, one at a time: among the steps, or sprung at a stage of the transfer. */
export const faultyCases: fc.Arbitrary<Case> = fc.oneof(
  caseOf(listOf(fc.oneof({ weight: 3, arbitrary: event }, { weight: 1, arbitrary: fault })), fc.constant(undefined)),
  caseOf(listOf(event), trap),
);

const FIRST_us = 1 * US_PER_S;
/** So long nothing more happens: time for a return. */
const REST_us = 30 * US_PER_S;

/** The case as a scenario: plain data, no fast-check in it. */
export function scenarioOf(one: Case): Scenario {
  const site = siteOfVariation(one.variation);
  const told = [...trapHappenings(site, one.trap), ...stepHappenings(site, one)];
  const happenings = one.putRight ? [...told, ...puttingRight(site, told)] : told;
  const last_us = Math.max(FIRST_us, ...happenings.map(({ when }) => ('at_us' in when ? when.at_us : 0)));
  return {
    schema: 1,
    id: 'counterexample',
    title: `Any order of happenings, seed ${one.seed}`,
    tags: one.shuffled ? ['generated', 'shuffled-ties'] : ['generated'],
    seed: one.seed,
    site,
    start: startOf(site, one),
    end_us: (last_us + REST_us) as SimUs,
    happenings,
    waveforms: 'none',
    expect: { pass: [], fail: [], statements: [] },
  };
}

function startOf(site: SiteDescription, { irradiance, soc }: Case): Scenario['start'] {
  return Object.fromEntries(
    site.pieces.flatMap(({ id, kind }) => {
      if (kind === 'pv') return [[`${id}.irradiance`, irradiance]];
      return kind === 'vehicle' ? [[`${id}.soc`, soc]] : [];
    }),
  );
}

function stepHappenings(site: SiteDescription, { steps, trap: sprung }: Case): Happening[] {
  const happenings: Happening[] = [];
  let at_us = FIRST_us;
  let mending: { readonly piece: string; readonly of: (typeof FAULTS)[number] } | undefined;
  for (const [i, step] of steps.entries()) {
    at_us += step.gap_ms * US_PER_MS;
    const id = `h${i + 1}`;
    const when = { at_us: at_us as SimUs };
    if ('offer' in step.what) {
      const { kind, does, make } = OFFERS[step.what.offer]!;
      const doing = doingOf(site, kind, does, make(step.draws), step.which);
      if (doing !== undefined) happenings.push({ id, when, ...doing });
    } else if (mending === undefined) {
      const of = FAULTS[step.what.fault]!;
      const struck = faultHappening(site, step, id, when);
      if (struck === undefined || sprung !== undefined) continue;
      happenings.push(struck);
      mending = { piece: struck.piece, of };
    } else if (mending.of.mended !== undefined) {
      happenings.push({
        id,
        when,
        piece: mending.piece,
        does: mending.of.mended.does,
        using: mending.of.mended.using ?? {},
      });
      mending = undefined;
    }
  }
  return happenings;
}

function puttingRight(site: SiteDescription, told: readonly Happening[]): Happening[] {
  const last_us = Math.max(FIRST_us, ...told.map(({ when }) => ('at_us' in when ? when.at_us : 0)));
  const doings = [
    doingOf(site, 'utility', 'restore leg', { leg: 'L1' }, 0),
    doingOf(site, 'utility', 'restore leg', { leg: 'L2' }, 0),
    doingOf(site, 'utility', 'mend neutral', {}, 0),
    doingOf(site, 'utility', 'restore', { voltage: 1, angle: 77 }, 0),
    doingOf(site, 'utility', 'frequency step', { frequency: 60 }, 0),
    doingOf(site, 'main', 'close', {}, 0),
  ];
  return doings.flatMap((doing, i) => {
    const when = { at_us: (last_us + (2 + i) * US_PER_S) as SimUs };
    return doing === undefined ? [] : [{ id: `right${i + 1}`, when, ...doing }];
  });
}

function faultHappening(site: SiteDescription, step: Step, id: string, when: When): Happening | undefined {
  if (!('fault' in step.what)) return undefined;
  const { kind, does, make } = FAULTS[step.what.fault]!;
  const doing = doingOf(site, kind, does, make(step.draws), step.which);
  return doing && { id, when, ...doing };
}

function trapHappenings(site: SiteDescription, sprung: Trap | undefined): Happening[] {
  if (sprung === undefined) return [];
  const { at, delay_ms, step, mended_ms } = sprung;
  const struck = faultHappening(site, step, 'trap', { after: ANCHORS[at], delay_us: delay_ms * US_PER_MS });
  if (struck === undefined || !('fault' in step.what)) return [];
  const { mended } = FAULTS[step.what.fault]!;
  if (mended === undefined || mended_ms === 0) return [struck];
  const when = { after: 'trap', delay_us: mended_ms * US_PER_MS };
  return [struck, { id: 'trap-mended', when, piece: struck.piece, does: mended.does, using: mended.using ?? {} }];
}
