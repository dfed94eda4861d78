import type { Id, KindSpec, ParamSpec } from '../../../sim/site-description.ts';
import type { Tables } from './params.ts';
import { exampleText, expectedText, unitPattern } from './units.ts';

/** As much of JSON Schema, draft 7, as is needed here. */
export type Schema = { readonly [key: string]: Schema | readonly (Schema | string)[] | string | number | boolean };

const DRAFT = 'http://json-schema.org/draft-07/schema#';
const ID = '^[a-z][a-z0-9-]{0,63}$';
const text = (description: string): Schema => ({ type: 'string', minLength: 1, description });
const list = (items: Schema, more: Schema = {}): Schema => ({ type: 'array', items, ...more });
const ref = (name: string): Schema => ({ $ref: `#/definitions/${name}` });
const oneOrMoreKeys = (definition: Schema, description: string): Schema => ({
  type: 'object',
  description,
  additionalProperties: definition,
});

function closed(properties: Schema, required: readonly string[] = [], description = ''): Schema {
  return {
    type: 'object',
    properties,
    required,
    additionalProperties: false,
    ...(description === '' ? {} : { description }),
  };
}

/** A value as an editor sees it: quantities are texts by pattern, bare numbers are numbers too. */
export function paramSchema(spec: ParamSpec): Schema {
  const origin = spec.default === undefined ? 'Must be given.' : `Default ${exampleText(spec)} (${spec.source}).`;
  const description = `${spec.about} ${expectedText(spec)}. ${origin}`.trim();
  const more = { description, ...(spec.default === undefined ? {} : { default: exampleText(spec) }) };
  if (spec.unit === 'bool') return { ...more, anyOf: [{ type: 'string', enum: ['yes', 'no'] }, { type: 'boolean' }] };
  if (spec.unit === 'choice') return { ...more, type: 'string', enum: spec.choices ?? [] };
  if (spec.unit === 'text') return { ...more, anyOf: [{ type: 'string', minLength: 1 }, { type: 'number' }] };
  const number = {
    type: 'number',
    ...(spec.min === undefined ? {} : { minimum: spec.min }),
    ...(spec.max === undefined ? {} : { maximum: spec.max }),
  };
  if (spec.unit === '1') return { ...number, ...more };
  const quantity = { type: 'string', pattern: unitPattern(spec.unit), examples: [exampleText(spec)] };
  return spec.unit === '%' ? { ...more, anyOf: [number, quantity] } : { ...quantity, ...more };
}

function paramSchemas(specs: readonly ParamSpec[]): Schema {
  return Object.fromEntries(specs.map((spec) => [spec.name, paramSchema(spec)]));
}

const needed = (specs: readonly ParamSpec[]) =>
  specs.filter((spec) => spec.default === undefined).map(({ name }) => name);

function kindSchema({ kind, about, joins, legs, params }: KindSpec): Schema {
  const bus = { type: 'string', pattern: ID };
  const at: Schema =
    joins === 1 ? { anyOf: [bus, list(bus, { minItems: 1, maxItems: 1 })] } : list(bus, { minItems: 2, maxItems: 2 });
  const conductors = list(
    { type: 'string', enum: ['L1', 'L2', 'N'] },
    { description: legs.map((set) => `[${set.join(', ')}]`).join(' or ') },
  );
  const fields: Schema = {
    kind: { type: 'string', const: kind },
    at,
    legs: { anyOf: [conductors, { type: 'string', enum: ['L1', 'L2', 'N'] }] },
  };
  return closed({ ...fields, ...paramSchemas(params) }, ['kind', 'at', ...needed(params)], about);
}

/** The parts that both schemas refer to. */
function definitions({ kinds, settings }: Tables): Schema {
  const site = {
    site: { type: 'string', pattern: ID, description: 'Id of the site.' },
    buses: oneOrMoreKeys(
      { type: 'string', enum: ['utility', 'premises'] },
      'Each bus and the side that it belongs to.',
    ),
    pieces: oneOrMoreKeys(
      { oneOf: kinds.map(({ kind }) => ref(`kind-${kind}`)) },
      'Each piece of equipment by its id.',
    ),
    settings: ref('settings'),
  };
  return {
    ...Object.fromEntries(kinds.map((kind) => [`kind-${kind.kind}`, kindSchema(kind)])),
    settings: closed(paramSchemas(settings), [], 'Choices of the site where the trade has no single answer.'),
    site: closed(site, ['site', 'buses', 'pieces'], 'One installation: buses, equipment, ratings, wiring.'),
  };
}

/** The schema of a site file. */
export function siteSchema(tables: Tables): Schema {
  return { $schema: DRAFT, title: 'deadbus site', definitions: definitions(tables), ...ref('site') };
}

const TIME = { type: 'string', pattern: unitPattern('µs'), examples: ['2 s', '20 ms'] };
const WHEN_KEYS: Schema = {
  at: TIME,
  after: { anyOf: [{ type: 'string', pattern: ID }, ref('condition')] },
  delay: TIME,
};
const FROM: Schema = { anyOf: [TIME, { type: 'string', pattern: ID }, closed(WHEN_KEYS)] };

function timeDefinitions(kinds: readonly KindSpec[]): Schema {
  const value = { anyOf: [{ type: 'string', minLength: 1 }, { type: 'number' }, { type: 'boolean' }] };
  const condition = {
    channel: text('<bus or piece>.<quantity>'),
    is: { type: 'string', enum: ['<', '>', '='] },
    value,
    held: TIME,
  };
  const verbs = [...new Set(kinds.flatMap(({ does }) => does.map(({ name }) => name)))];
  const needs = [...new Set(kinds.flatMap(({ does }) => does.flatMap(({ using }) => using.map(({ name }) => name))))];
  const happening = {
    id: { type: 'string', pattern: ID },
    ...WHEN_KEYS,
    do: { ...text('"<piece> <what is done>"'), pattern: `^[a-z][a-z0-9-]*\\s+(${verbs.map(escaped).join('|')})$` },
    using: { ...oneOrMoreKeys(value, 'What the action needs.'), propertyNames: { enum: needs } },
  };
  return {
    condition: closed(condition, ['channel', 'is', 'value']),
    happening: closed(happening, ['do']),
    statement: {
      oneOf: [
        closed({ within: TIME, of: FROM, what: ref('condition') }, ['within', 'what'], 'Becomes true in time.'),
        closed({ until: TIME, from: FROM, what: ref('condition') }, ['until', 'what'], 'Is true all that time.'),
        closed({ never: ref('condition'), from: FROM }, ['never'], 'Is true at no instant.'),
        closed({ 'at the end': ref('condition') }, ['at the end'], 'Is true when the run ends.'),
      ],
    },
  };
}

const escaped = (word: string) => word.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');

/** The schema of a scenario file. `rules` are the ids that a scenario may expect. */
export function scenarioSchema(tables: Tables, rules: readonly Id[]): Schema {
  const value = { anyOf: [{ type: 'string', minLength: 1 }, { type: 'number' }, { type: 'boolean' }] };
  const rule = { type: 'string', enum: rules };
  const changes = [...tables.kinds.flatMap(({ params }) => params), ...tables.settings];
  const expect = {
    pass: list(rule, { description: 'Rules that must be armed and hold.' }),
    fail: list(closed({ rule, because: text('Why, in words.') }, ['rule', 'because']), {
      description: 'Rules that must be violated.',
    }),
    statements: list(ref('statement')),
  };
  const properties: Schema = {
    scenario: { type: 'string', pattern: ID, description: 'Id of the scenario.' },
    title: text('One line that says what it shows.'),
    tags: list({ type: 'string', pattern: ID }),
    site: { anyOf: [text('Path of a site file, as seen from this file.'), ref('site')] },
    override: oneOrMoreKeys(
      {
        type: 'object',
        propertyNames: { enum: [...new Set(changes.map(({ name }) => name))] },
        additionalProperties: value,
      },
      'Parameters of the site that are changed, by piece.',
    ),
    seed: { type: 'integer', minimum: 0, maximum: 2 ** 32 - 1, default: 1 },
    start: oneOrMoreKeys(value, 'Starting state, such as "pv.irradiance: 0.7".'),
    end: TIME,
    happenings: list(ref('happening')),
    waveforms: { type: 'string', enum: ['none'], default: 'none', description: 'Waveforms are not there yet.' },
    vary: oneOrMoreKeys(
      {
        anyOf: [
          list(value, { minItems: 1 }),
          closed({ from: value, to: value, step: value }, ['from', 'to', 'step'], 'Both ends belong to it.'),
        ],
      },
      'Values that a study takes: seed, settings.name, piece.name, happenings.id.at, .delay or what it uses.',
    ),
    expect: closed(expect, [], 'What must come out.'),
  };
  const all = [...tables.kinds, ...(tables.gateway === undefined ? [] : [tables.gateway])];
  const shared = { ...definitions(tables), ...timeDefinitions(all) };
  return {
    $schema: DRAFT,
    title: 'deadbus scenario',
    definitions: shared,
    ...closed(properties, ['scenario', 'title', 'site', 'end']),
  };
}
