import type { Bag, ParamSpec, Plain } from '../../../sim/site-description.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { readParam } from './params.ts';
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

/** Parameters, starting values and settings of which a study takes several: lists of values by `piece.name` or `settings.name`. */
export function readVary(sheet: Sheet, node: Node | undefined, { kindOf }: Doable, settings: readonly ParamSpec[]) {
  if (node === undefined) return undefined;
  const specs = new Map(settings.map((spec) => [`settings.${spec.name}`, spec]));
  for (const [id, kind] of kindOf) {
    for (const spec of [...kind.start, ...kind.params]) specs.set(`${id}.${spec.name}`, spec);
  }
  const vary: Record<string, readonly Plain[]> = {};
  for (const [name, value] of readKeyed(sheet, node, 'vary', [...specs.keys()])) {
    const spec = specs.get(name);
    const path = under('vary', name);
    const items = sheet.items(value, path, 'a list of values');
    if (spec === undefined || items === undefined) continue;
    if (items.length === 0)
      sheet.report(value.place, path, {
        code: 'SCN-VALUE',
        found: 'an empty list',
        expected: 'at least one value',
        mend: '',
      });
    vary[name] = items.flatMap((item, index) => readParam(sheet, item, `${path}[${index}]`, spec) ?? []);
  }
  return vary;
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
