import { CATALOGUE } from '../../sim/equipment/catalogue.ts';
import { GATEWAY_ID, GATEWAY_KIND, SITE_SETTINGS } from '../../sim/gateway/spec.ts';
import type { Id, KindSpec, ParamSpec, Plain } from '../../sim/site-description.ts';
import { quantityText } from '../../sim/units.ts';
import type { Happening, Scenario } from './model.ts';

/** One of the scenarios that a file with `vary` stands for. */
export interface Variant {
  /** "pv.irradiance 0.2, happenings.back.at 60 s"; empty where nothing varies. */
  readonly name: string;
  readonly scenario: Scenario;
}

/** More than this in one file is a campaign, not a scenario. */
export const VARIANTS_MAX = 10_000;

/** Where a name of `vary` points, and what may stand there. */
export interface Target {
  readonly spec: ParamSpec;
  apply(scenario: Scenario, value: Plain): Scenario;
}

/** The kinds, the settings and the gateway as data, as the reader has them too. */
export interface VaryTables {
  readonly kinds: readonly KindSpec[];
  readonly settings: readonly ParamSpec[];
  readonly gateway?: KindSpec;
}

const BUILT_IN: VaryTables = {
  kinds: CATALOGUE.map(({ spec }) => spec),
  settings: SITE_SETTINGS,
  gateway: GATEWAY_KIND,
};

const TIME: ParamSpec = { name: 'at', unit: 'µs', about: 'When it happens.', min: 0, source: 'assumed' };
const SEED: ParamSpec = { name: 'seed', unit: '1', about: 'The seed.', min: 0, max: 0xffff_ffff, source: 'assumed' };

/**
 * Everything of a scenario that may be varied, by name: `seed`, `settings.x`, `piece.x` (its starting state before its
 * parameters), `happenings.id.at` or `.delay`, and `happenings.id.x` for what a happening uses.
 */
export function targetsOf(
  scenario: Pick<Scenario, 'site' | 'happenings'>,
  tables: VaryTables = BUILT_IN,
): ReadonlyMap<string, Target> {
  const targets = new Map<string, Target>([
    ['seed', { spec: SEED, apply: (to, seed) => ({ ...to, seed: Number(seed) }) }],
  ]);
  for (const spec of tables.settings) targets.set(`settings.${spec.name}`, { spec, apply: settingTo(spec.name) });
  for (const { id, kind } of scenario.site.pieces) {
    const spec = kindCalled(kind, tables);
    for (const each of spec?.params ?? [])
      targets.set(`${id}.${each.name}`, { spec: each, apply: paramTo(id, each.name) });
    for (const each of spec?.start ?? [])
      targets.set(`${id}.${each.name}`, { spec: each, apply: startTo(`${id}.${each.name}`) });
  }
  for (const each of tables.gateway?.start ?? [])
    targets.set(`${GATEWAY_ID}.${each.name}`, { spec: each, apply: startTo(`${GATEWAY_ID}.${each.name}`) });
  for (const happening of scenario.happenings) addHappening(targets, happening, scenario, tables);
  return targets;
}

/** The scenarios that one with `vary` stands for, the last name varying fastest; itself where there is none. */
export function variantsOf(scenario: Scenario, tables: VaryTables = BUILT_IN): readonly Variant[] {
  const { vary, ...plain } = scenario;
  let variants: readonly Variant[] = [{ name: '', scenario: plain }];
  const targets = targetsOf(scenario, tables);
  for (const [name, values] of Object.entries(vary ?? {})) {
    const target = targets.get(name);
    if (target === undefined) throw new RangeError(`${name} cannot be varied; was the scenario checked?`);
    variants = variants.flatMap((variant) =>
      values.map((value) => {
        const said = `${name} ${valueText(value, target.spec)}`;
        return {
          name: variant.name === '' ? said : `${variant.name}, ${said}`,
          scenario: target.apply(variant.scenario, value),
        };
      }),
    );
  }
  return variants;
}

const valueText = (value: Plain, { unit }: ParamSpec): string =>
  typeof value === 'number' ? quantityText(value, unit as Parameters<typeof quantityText>[1]) : String(value);

const kindCalled = (name: string, { kinds }: VaryTables): KindSpec | undefined =>
  kinds.find(({ kind }) => kind === name);

const settingTo =
  (name: string): Target['apply'] =>
  (scenario, value) => ({
    ...scenario,
    site: { ...scenario.site, settings: { ...scenario.site.settings, [name]: value } },
  });

const startTo =
  (name: string): Target['apply'] =>
  (scenario, value) => ({ ...scenario, start: { ...scenario.start, [name]: value } });

const paramTo =
  (id: Id, name: string): Target['apply'] =>
  (scenario, value) => {
    const pieces = scenario.site.pieces.map((piece) => {
      if (piece.id !== id) return piece;
      const { [name]: _given, ...sources } = piece.sources;
      return { ...piece, params: { ...piece.params, [name]: value }, sources };
    });
    return { ...scenario, site: { ...scenario.site, pieces } };
  };

const happeningTo =
  (id: Id, change: (happening: Happening, value: Plain) => Happening): Target['apply'] =>
  (scenario, value) => ({
    ...scenario,
    happenings: scenario.happenings.map((each) => (each.id === id ? change(each, value) : each)),
  });

function addHappening(
  targets: Map<string, Target>,
  { id, when, piece, does }: Happening,
  scenario: Pick<Scenario, 'site'>,
  tables: VaryTables,
): void {
  const name = 'at_us' in when ? 'at' : 'delay';
  const key = name === 'at' ? 'at_us' : 'delay_us';
  targets.set(`happenings.${id}.${name}`, {
    spec: { ...TIME, name },
    apply: happeningTo(id, (each, value) => ({ ...each, when: { ...each.when, [key]: value } as Happening['when'] })),
  });
  const kind = scenario.site.pieces.find((each) => each.id === piece)?.kind;
  const spec = piece === GATEWAY_ID ? tables.gateway : kindCalled(kind ?? '', tables);
  for (const argument of spec?.does.find((each) => each.name === does)?.using ?? []) {
    targets.set(`happenings.${id}.${argument.name}`, {
      spec: argument,
      apply: happeningTo(id, (each, value) => ({ ...each, using: { ...each.using, [argument.name]: value } })),
    });
  }
}
