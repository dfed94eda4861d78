import { exampleText } from '../../harness/scenario/reader/units.ts';
import { CATALOGUE } from '../../sim/equipment/catalogue.ts';
import { GATEWAY_KIND, SITE_SETTINGS } from '../../sim/gateway/spec.ts';
import type { ParamSpec } from '../../sim/site-description.ts';

/** One parameter with the name under which documents know it: `pv.loop`, `start pv.soc`, `utility sag.duration`, `settings.deadTime`. */
export interface Named {
  readonly owner: string;
  readonly name: string;
  readonly spec: ParamSpec;
}

/** Every parameter of every kind, of what can be done to it and of how it starts, and the settings of a site. */
export function allParams(): Named[] {
  const kinds = [...CATALOGUE.map(({ spec }) => spec), GATEWAY_KIND];
  const named = (owner: string, prefix: string, specs: readonly ParamSpec[]): Named[] =>
    specs.map((spec) => ({ owner, name: `${prefix}.${spec.name}`, spec }));
  return [
    ...kinds.flatMap(({ kind, params, does, start }) => [
      ...named(kind, kind, params),
      ...named(kind, `start ${kind}`, start),
      ...does.flatMap(({ name, using }) => named(kind, `${kind} ${name}`, using)),
    ]),
    ...named('settings', 'settings', SITE_SETTINGS),
  ];
}

/** What stands behind a default: nobody, the trade's habit, somebody's memory of a text, or a text. */
export type Standing = 'assumed' | 'common practice' | 'memory' | 'source' | 'none';

export function standingOf({ default: fallback, source }: ParamSpec): Standing {
  if (fallback === undefined) return 'none'; // The file must say it: no number of ours.
  if (/^assumed\b/.test(source)) return 'assumed';
  if (/^common practice\b/.test(source)) return 'common practice';
  if (/from memory/.test(source)) return 'memory';
  return /^(none|the scenario)\b/.test(source) ? 'none' : 'source';
}

export const defaultText = (spec: ParamSpec): string =>
  spec.default === undefined ? 'must be given' : exampleText(spec);
