import type { Bag, Piece, Plain, SiteDescription } from '../../../sim/site-description.ts';
import { didYouMean, oneOf } from './nearest.ts';
import { readParam, type Tables } from './params.ts';
import { quoted } from './problem.ts';
import { type Node, type Place, type Sheet, under } from './sheet.ts';

export interface Overridden {
  readonly site: SiteDescription;
  /** Where each changed value stands in the scenario file, by `piece.parameter` or `settings.name`. */
  readonly places: ReadonlyMap<string, Place>;
}

/** The site with the parameters that a scenario changes: `override: { pv: { rated: 5 kW }, settings: { transition: closed } }`. */
export function applyOverride(sheet: Sheet, node: Node | undefined, site: SiteDescription, tables: Tables): Overridden {
  const places = new Map<string, Place>();
  const entries =
    node === undefined
      ? []
      : (sheet.entries(node, 'override', 'a mapping from the id of a piece to what is changed') ?? []);
  const ids = [...site.pieces.map(({ id }) => id), 'settings'];
  const changes = new Map<string, Bag>();
  for (const { key, keyPlace, value } of entries) {
    const path = under('override', key);
    const kind = site.pieces.find(({ id }) => id === key)?.kind;
    const specs = key === 'settings' ? tables.settings : tables.kinds.find((each) => each.kind === kind)?.params;
    if (specs === undefined) {
      sheet.report(keyPlace, 'override', {
        code: 'SCN-REF',
        found: `unknown piece ${quoted(key)}`,
        expected: oneOf(ids),
        mend: didYouMean(key, ids),
      });
      continue;
    }
    const fields = sheet.fields(
      value,
      path,
      specs.map(({ name }) => name),
    );
    const changed: Record<string, Plain> = {};
    for (const spec of specs) {
      const entry = fields?.get(spec.name);
      const read = entry === undefined ? undefined : readParam(sheet, entry.value, under(path, spec.name), spec);
      if (entry === undefined || read === undefined) continue;
      changed[spec.name] = read;
      places.set(`${key}.${spec.name}`, entry.value.place);
    }
    changes.set(key, changed);
  }
  const pieces = site.pieces.map((piece) => changedPiece(piece, changes.get(piece.id)));
  return { site: { ...site, pieces, settings: { ...site.settings, ...changes.get('settings') } }, places };
}

function changedPiece(piece: Piece, changed: Bag | undefined): Piece {
  if (changed === undefined) return piece;
  const sources = Object.fromEntries(Object.entries(piece.sources).filter(([name]) => !Object.hasOwn(changed, name)));
  return { ...piece, params: { ...piece.params, ...changed }, sources };
}
