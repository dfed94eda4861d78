import type { Origin, Unit } from '../../sim/telemetry.ts';
import { type LimitKey, limit } from '../limits/index.ts';
import type { Counts, Grade, Margin, Note, Outcome, Verdict } from './rule.ts';

/** A crossing of voltage, frequency or current is good to half a cycle at phasor level, to 0.1 ms at waveform level. */
export const HALF_CYCLE_US = 8_340;
export const WAVE_CROSSING_US = 100;
/** The time that an inverter needs to notice an island is good to this share of itself at phasor level. */
export const DETECTION_SHARE = 0.1;

/** How coarse a measurement is, in units of the margin; `edges_us` are the instants that were read off crossings. */
export interface Resolution {
  readonly phasor: number;
  readonly wave: number;
  readonly edges_us: readonly number[];
}

export interface Finding {
  readonly margin: Margin;
  readonly limit: LimitKey;
  readonly against: Origin;
  /** Absent: contacts, commands and happenings, which are exact. */
  readonly resolution?: Resolution;
}

const clamp = (value: number): number => Math.min(1, Math.max(-10, value));

/** Margin against an upper limit. */
export function atMost(found: number, most: number, scale: number): number {
  return clamp((most - found) / scale);
}

/** Margin against a lower limit. */
export function atLeast(found: number, least: number, scale: number): number {
  return clamp((found - least) / scale);
}

/** The whole margin of a measurement against an upper limit that is its own scale. */
export function upperMargin(at_us: number, found: number, most: number, unit: Unit, about: string): Margin {
  return { value: atMost(found, most, most), at_us, found, limit: most, scale: most, unit, about };
}

/** What one rule has found in one run: counts, the worst margin, what could not be told, what was still owed. */
export class Book {
  readonly #groups: (readonly Finding[])[] = [];
  readonly #waves: { readonly from_us: number; readonly to_us: number }[] = [];
  readonly #violations: Record<Origin, number> = { controller: 0, person: 0, equipment: 0, utility: 0, site: 0 };
  readonly #notes: Note[] = [];
  #worst: Finding | undefined;
  #armed = 0;
  #cutShort = false;

  arm(): void {
    this.#armed += 1;
  }

  /** An interval stayed open at the end and was not broken yet. */
  owe(): void {
    this.#cutShort = true;
  }

  /** What is said beside the verdict and counts for nothing. */
  note(note: Note): void {
    this.#notes.push(note);
  }

  wave(from_us: number, to_us: number): void {
    this.#waves.push({ from_us, to_us });
  }

  /** Several findings in one call are readings of one thing: at most one violation, the worst. */
  add(...findings: readonly Finding[]): void {
    if (findings.some((finding) => isDoubtful(finding, finding.resolution?.phasor ?? 0))) this.#groups.push(findings);
    else this.#settle(findings);
  }

  verdict(rule: string, mainGrade: Grade, complete: boolean): Verdict {
    let unresolved = false;
    for (const group of this.#groups) {
      const sure = group.filter((finding) => !isDoubtful(finding, this.#resolutionOf(finding)));
      const broken = sure.some((finding) => finding.margin.value < 0);
      if (broken || sure.length === group.length) this.#settle(sure);
      else unresolved = true;
    }
    const violations: Counts = { ...this.#violations };
    const grade = this.#worst === undefined ? mainGrade : limit(this.#worst.limit).grade;
    return {
      rule,
      armed: this.#armed,
      outcome: this.#outcome(unresolved, complete),
      grade,
      ...(this.#worst !== undefined && { limit: this.#worst.limit }),
      violations,
      ...(this.#notes.length > 0 && { notes: [...this.#notes] }),
    };
  }

  #outcome(unresolved: boolean, complete: boolean): Outcome {
    const worst = this.#worst;
    if (worst !== undefined && worst.margin.value < 0)
      return { is: 'fail', worst: worst.margin, against: worst.against };
    if (this.#armed === 0) return { is: 'not exercised', why: 'never armed' };
    if (this.#cutShort || !complete) return { is: 'not exercised', why: 'cut short' };
    if (unresolved) return { is: 'not exercised', why: 'unresolved' };
    if (worst === undefined) return { is: 'not exercised', why: 'cut short' };
    return { is: 'pass', worst: worst.margin };
  }

  #settle(findings: readonly Finding[]): void {
    const first = findings[0];
    if (first === undefined) return;
    const worst = findings.reduce((a, b) => (b.margin.value < a.margin.value ? b : a), first);
    if (worst.margin.value < 0) this.#violations[worst.against] += 1;
    if (isWorse(worst, this.#worst)) this.#worst = worst;
  }

  #resolutionOf({ resolution }: Finding): number {
    if (resolution === undefined) return 0;
    const seen = resolution.edges_us.every((at_us) =>
      this.#waves.some((wave) => wave.from_us <= at_us && at_us <= wave.to_us),
    );
    return seen ? resolution.wave : resolution.phasor;
  }
}

const isDoubtful = (finding: Finding, resolution: number): boolean => Math.abs(finding.margin.value) < resolution;

/** Groups that wait for the waveforms are settled last; the earlier instant still wins a tie, whatever the order. */
function isWorse(a: Finding, b: Finding | undefined): boolean {
  if (b === undefined || a.margin.value < b.margin.value) return true;
  return a.margin.value === b.margin.value && a.margin.at_us < b.margin.at_us;
}

/** A time from `from_us` that may last `limit_us` at most, as a finding. */
export function timeFinding(spec: {
  readonly at_us: number;
  readonly found_us: number;
  readonly limit_us: number;
  readonly key: LimitKey;
  readonly against: Origin;
  readonly about: string;
  readonly resolution?: Resolution;
}): Finding {
  const { at_us, found_us, limit_us, key, against, about } = spec;
  const value = atMost(found_us, limit_us, limit_us);
  const margin = { value, at_us, found: found_us, limit: limit_us, scale: limit_us, unit: 'µs' as Unit, about };
  return { margin, limit: key, against, ...(spec.resolution && { resolution: spec.resolution }) };
}

/** A thing that must not happen at all (-1), or a thing that must be so and is (+1). */
export function yesOrNo(at_us: number, holds: boolean, key: LimitKey, against: Origin, about: string): Finding {
  const margin = { value: holds ? 1 : -1, at_us, found: holds ? 0 : 1, limit: 0, scale: 1, unit: '1' as Unit, about };
  return { margin, limit: key, against };
}

/** Clearing an island is a detection, good to a tenth of its time, unless the source was told to stop. */
export function clearingResolution(
  elapsed_us: number,
  limit_us: number,
  ordered: boolean,
  edge_us: number,
): Resolution {
  const phasor_us = ordered ? HALF_CYCLE_US : Math.max(HALF_CYCLE_US, DETECTION_SHARE * elapsed_us);
  return { phasor: phasor_us / limit_us, wave: WAVE_CROSSING_US / limit_us, edges_us: [edge_us] };
}
