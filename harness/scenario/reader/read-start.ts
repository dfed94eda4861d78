import type { Bag, ParamSpec, Plain, SiteDescription } from '../../../sim/site-description.ts';
import type { Happening, Scenario } from '../model.ts';
import { checkSite } from '../site-check.ts';
import { targetsOf, VARIANTS_MAX, variantsOf } from '../variants.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { readParam, type Tables } from './params.ts';
import { quoted } from './problem.ts';
import type { Doable } from './read-happenings.ts';
import { type Node, type Sheet, under } from './sheet.ts';

/**
 * The starting state, `piece.name` → value, defaults filled in.
 *
 * What has no default may be left out: the piece then takes it from its parameters.
 */
export function readStart(sheet: Sheet, node: Node | undefined, { kindOf }: Doable): Bag {
  const specs = new Map<string, ParamSpec>();
  for (const [id, kind] of kindOf) for (const spec of kind.start) specs.set(`${id}.${spec.name}`, spec);
  const given = node === undefined ? new Map<string, Node>() : readKeyed(sheet, node, 'start', [...specs.keys()]);
  const start: Record<string, Plain> = {};
  for (const [name, spec] of specs) {
    const found = given.get(name);
    const value = found === undefined ? spec.default : readParam(sheet, found, under('start', name), spec);
    if (value !== undefined) start[name] = value;
  }
  return start;
}

/** What a scenario with `vary` needs of the rest of it. */
export interface Varied {
  readonly site: SiteDescription;
  readonly happenings: readonly Happening[];
  readonly end_us: number | undefined;
}

/** Values of which a study takes several, each a list or `{ from, to, step }`, by the names of `targetsOf`. */
export function readVary(sheet: Sheet, node: Node | undefined, varied: Varied, tables: Tables) {
  if (node === undefined) return undefined;
  const targets = targetsOf(varied, tables);
  const vary: Record<string, readonly Plain[]> = {};
  const { length } = sheet.problems;
  let count = 1;
  for (const [name, value] of readKeyed(sheet, node, 'vary', [...targets.keys()])) {
    const target = targets.get(name);
    const path = under('vary', name);
    const values =
      target === undefined ? undefined : readValues(sheet, value, path, bounded(target.spec, name, varied));
    if (target === undefined || values === undefined) continue;
    vary[name] = values;
    count *= Math.max(1, values.length);
  }
  if (count > VARIANTS_MAX)
    sheet.report(node.place, 'vary', {
      code: 'SCN-VALUE',
      found: `${count} variants`,
      expected: `${VARIANTS_MAX} at most`,
      mend: 'Take fewer values',
    });
  if (sheet.problems.length === length) reportSites(sheet, node, vary, varied, tables);
  return vary;
}

/** A happening cannot be put after the end. */
const bounded = (spec: ParamSpec, name: string, { end_us }: Varied): ParamSpec =>
  name.startsWith('happenings.') && name.endsWith('.at') && end_us !== undefined ? { ...spec, max: end_us } : spec;

function readValues(sheet: Sheet, node: Node, path: string, spec: ParamSpec): readonly Plain[] | undefined {
  if (node.is === 'map') return readRange(sheet, node, path, spec);
  const items = sheet.items(node, path, 'a list of values, or { from, to, step }');
  if (items?.length === 0)
    sheet.report(node.place, path, {
      code: 'SCN-VALUE',
      found: 'an empty list',
      expected: 'at least one value',
      mend: '',
    });
  return items?.flatMap((item, index) => readParam(sheet, item, `${path}[${index}]`, spec) ?? []);
}

/** `{ from: 0 s, to: 2 s, step: 10 ms }`: both ends belong to it, the last where the steps reach it. */
function readRange(sheet: Sheet, node: Node, path: string, spec: ParamSpec): readonly Plain[] | undefined {
  const fields = sheet.fields(node, path, ['from', 'to', 'step'], ['from', 'to', 'step']);
  const read = (key: string, as: ParamSpec): Plain | undefined => {
    const entry = fields?.get(key);
    return entry === undefined ? undefined : readParam(sheet, entry.value, under(path, key), as);
  };
  const { min: _min, max: _max, ...unbounded } = spec;
  const [from, to, step] = [read('from', spec), read('to', spec), read('step', unbounded)];
  if (typeof from !== 'number' || typeof to !== 'number' || typeof step !== 'number') return undefined;
  const steps = Math.floor((to - from) / step + 1e-9);
  if (step > 0 && steps >= 0 && steps < VARIANTS_MAX) {
    return Array.from({ length: steps + 1 }, (_, i) => Number((from + i * step).toPrecision(12)));
  }
  sheet.report(node.place, path, {
    code: 'SCN-VALUE',
    found: step > 0 ? (steps < 0 ? '"to" before "from"' : `${steps + 1} values`) : 'a step of 0 or less',
    expected: `a step above 0 that takes "from" to "to" in at most ${VARIANTS_MAX} values`,
    mend: '',
  });
  return undefined;
}

/** Every site that a study asks for must be one that may run: found here, not in the middle of it. */
function reportSites(
  sheet: Sheet,
  node: Node,
  vary: Readonly<Record<string, readonly Plain[]>>,
  { site, happenings }: Varied,
  tables: Tables,
): void {
  const ofSite = Object.entries(vary).filter(([name]) => name !== 'seed' && !name.startsWith('happenings.'));
  if (ofSite.length === 0) return;
  const study = { site, happenings, start: {}, vary: Object.fromEntries(ofSite) } as unknown as Scenario;
  for (const { name, scenario } of variantsOf(study, tables)) {
    const [fault] = checkSite(scenario.site, tables.kinds);
    if (fault === undefined) continue;
    const { piece: _p, bus: _b, setting: _s, key: _k, ...plain } = fault;
    sheet.report(node.place, 'vary', { ...plain, found: `with ${name}: ${plain.found}` });
    return;
  }
}

/** The values of a mapping with keys `piece.name`; unknown ones are reported with what their piece does have. */
function readKeyed(sheet: Sheet, node: Node, path: string, known: readonly string[]): ReadonlyMap<string, Node> {
  const found = new Map<string, Node>();
  for (const { key, keyPlace, value } of sheet.entries(node, path, 'a mapping such as "pv.irradiance: 0.7"') ?? []) {
    if (known.includes(key)) {
      found.set(key, value);
      continue;
    }
    const owner = `${key.split('.')[0]}.`;
    const same = known.filter((name) => name.startsWith(owner));
    const owners = [...new Set(known.map((name) => name.split('.')[0] ?? ''))];
    const expected = same.length > 0 ? oneOf(same) : `a name of ${oneOf(owners)}`;
    sheet.report(keyPlace, path, {
      code: 'SCN-REF',
      found: `unknown name ${quoted(key)}`,
      expected,
      mend: didYouMean(key, known),
    });
  }
  return found;
}
