import { expectedText, writeQuantity } from '../../harness/scenario/reader/units.ts';
import { KINDS } from '../../sim/equipment/catalogue.ts';
import { GATEWAY_KIND, SITE_SETTINGS } from '../../sim/gateway/spec.ts';
import type { DoesSpec, KindSpec, ParamSpec } from '../../sim/site-description.ts';
import { table } from './markdown.ts';
import { defaultText } from './params.ts';

const INTRO = `# Equipment: what a site file may say

<!-- Written by \`npm run docs\`. Change the spec of the kind and run it again. -->

One section a kind. A piece stands in the site file as \`name: { kind: …, at: …, legs: […], parameter: value }\`. Quantities are written with their unit:
\`8.5 ms\`, \`25 kVA\`. What a default rests on stands in the last column; works are named in full in [sources.md](sources.md), what has no source is
collected in [assumptions.md](assumptions.md). Starting states are written as \`start: { pv.irradiance: 0.7 }\`, actions as
\`do: main open\` with \`using: { … }\`. Editors check files against [schemas/site.schema.json](schemas/site.schema.json) and
[schemas/scenario.schema.json](schemas/scenario.schema.json).
`;

function rangeOf({ unit, min, max }: ParamSpec): string {
  if (min === undefined && max === undefined) return '';
  if (max === undefined) return `, ${writeQuantity(min!, unit)} or more`;
  if (min === undefined) return `, ${writeQuantity(max, unit)} or less`;
  return `, ${writeQuantity(min, unit)} to ${writeQuantity(max, unit)}`;
}

/** Without a default: it must be given, but for a starting state, which the piece takes from its parameters. */
type Standin = (spec: ParamSpec) => string;
const atStart =
  (params: readonly ParamSpec[]): Standin =>
  (spec) =>
    spec.default !== undefined
      ? defaultText(spec)
      : params.some(({ name }) => name === spec.name)
        ? 'as the parameter'
        : 'may be left out';

function paramTable(params: readonly ParamSpec[], standin: Standin = defaultText): string {
  const rows = params.map((spec) => [
    `\`${spec.name}\``,
    `${expectedText(spec)}${rangeOf(spec)}`,
    standin(spec),
    spec.about,
    spec.default === undefined ? '' : spec.source,
  ]);
  return table(['name', 'takes', 'default', 'what it is', 'source of the default'], rows);
}

function doesTable(does: readonly DoesSpec[]): string {
  const rows = does.map(({ name, about, origin, using }) => [
    `\`${name}\``,
    about,
    origin,
    using.map((spec) => `\`${spec.name}\` (${expectedText(spec)}; ${defaultText(spec)}): ${spec.about}`).join(' '),
  ]);
  return table(['do', 'what happens', 'answerable', 'using'], rows);
}

function section({ kind, about, joins, legs, params, does, start }: KindSpec): string {
  const place = joins === 1 ? 'Stands at one bus.' : 'Joins two buses, the first towards the street.';
  const conductors = legs.map((set) => `[${set.join(', ')}]`).join(' or ');
  return [
    `## ${kind}`,
    kind === 'gateway' ? about : `${about} ${place} Conductors: ${conductors}; the first is the default.`,
    ...(params.length === 0 ? [] : [paramTable(params)]),
    ...(start.length === 0 ? [] : ['At the start:', paramTable(start, atStart(params))]),
    ...(does.length === 0 ? [] : ['Can be done to it:', doesTable(does)]),
  ].join('\n\n');
}

/** docs/equipment.md, made from the specs of the kinds. */
export function renderEquipment(): string {
  const settings = `## settings\n\nSettings of the site and of the controller that comes with it.\n\n${paramTable(SITE_SETTINGS)}`;
  return `${[INTRO.trimEnd(), ...[...KINDS, GATEWAY_KIND].map(section), settings].join('\n\n')}\n`;
}
