import { posix } from 'node:path';
import { assert } from '../../../sim/check.ts';
import type { Bus, Conductor, Id, KindSpec, Piece, SiteDescription } from '../../../sim/site-description.ts';
import { checkSite } from '../site-check.ts';
import type { SiteFault } from '../site-graph.ts';
import { oneOf } from './nearest.ts';
import { GATEWAY, readParams, type Tables } from './params.ts';
import { inOrder, type Problem, quoted } from './problem.ts';
import { describe, type Fields, NO_FIELDS, type Node, type Place, type Sheet, under } from './sheet.ts';
import { readTree, type Tree } from './tree.ts';

/** Where the parts of a site stand in its file, so that a fault found later can be shown there. */
export interface SitePlaces {
  readonly whole: Place;
  /** Keys of pieces, buses and settings, and of each parameter given: `main`, `main.rating`, `bus panel`, `setting transition`. */
  readonly byName: ReadonlyMap<string, Place>;
}

export interface SiteRead {
  readonly site: SiteDescription;
  readonly places: SitePlaces;
  readonly sheet: Sheet;
  /** False when a bus or a piece was lost, so that checks of the whole would complain of what is not there. */
  readonly whole: boolean;
}

/** A site file as a description, checked; or all that is wrong with it. */
export function readSiteText(
  content: string | Uint8Array,
  file: string,
  tables: Tables,
): { readonly site: SiteDescription } | { readonly problems: readonly Problem[] } {
  const tree = readTree(content, file);
  const read = tree.root === undefined ? undefined : readSite(tree.sheet, tree.root, tables);
  if (read?.whole === true) reportSiteFaults(read, checkSite(read.site, tables.kinds));
  const problems = inOrder(believable(tree), [file]);
  if (problems.length > 0) return { problems };
  assert(read?.whole === true, `${file}: neither a site nor a problem came of it`);
  return { site: read.site };
}

/** After a syntax error the rest of a file may be misread: there only what is wrong word by word is told. */
export function believable({ sheet, brokenFrom }: Tree): readonly Problem[] {
  if (brokenFrom === undefined) return sheet.problems;
  const { line } = sheet.position(brokenFrom);
  const wordwise = ['SCN-KEY', 'SCN-VALUE', 'SCN-UNIT', 'SCN-RANGE', 'SCN-TWICE', 'SCN-TIME'];
  const general = ['SCN-YAML', 'SCN-SIZE', 'SCN-TEXT', 'SCN-NEST', 'SCN-ALIAS'];
  return sheet.problems.filter(
    (each) => general.includes(each.code) || (each.line < line && wordwise.includes(each.code)),
  );
}

/** Puts the faults of a site where they stand in its file. */
export function reportSiteFaults({ sheet, places }: SiteRead, faults: readonly SiteFault[]): void {
  for (const { piece, bus, setting, key, ...fault } of faults) {
    const owner = piece ?? (bus !== undefined ? `bus ${bus}` : setting !== undefined ? `setting ${setting}` : '');
    const exact = key === undefined ? undefined : places.byName.get(`${owner}.${key}`);
    const place = exact ?? places.byName.get(owner) ?? places.whole;
    const path =
      piece !== undefined
        ? under(piece, key ?? '')
        : bus !== undefined
          ? under('buses', bus)
          : setting !== undefined
            ? under('settings', setting)
            : '';
    sheet.report(place, path.replace(/\.$/, ''), fault);
  }
}

/** Whether a file is plainly of the other sort: it lacks what only its own begins with, and has all that the other holds. */
export function isOther(root: Node, own: string, theirs: readonly string[]): boolean {
  if (root.is !== 'map') return false;
  const keys = root.entries.map(({ key }) => key);
  return !keys.includes(own) && theirs.every((key) => keys.includes(key));
}

/** One complaint in place of one for each key that the other sort has not. */
export function reportOther(
  sheet: Sheet,
  root: Node,
  [found, expected]: readonly [string, string],
  mend: string,
): void {
  sheet.report({ from: root.place.from, to: root.place.from + 1 }, '', { code: 'SCN-KIND', found, expected, mend });
}

/** The structure of a site from its mapping, which may stand in a file of its own or inside a scenario. */
export function readSite(sheet: Sheet, root: Node, tables: Tables): SiteRead | undefined {
  if (isOther(root, 'buses', ['scenario', 'end'])) {
    reportOther(sheet, root, ['a scenario', 'a site'], 'Name a file that has buses and pieces');
    return undefined;
  }
  const known = ['site', 'buses', 'pieces', 'settings'];
  const fields = sheet.fields(root, '', known, ['site', 'buses', 'pieces']);
  if (fields === undefined) return undefined;
  const byName = new Map<string, Place>();
  const idNode = fields.get('site')?.value;
  const id = idNode === undefined ? undefined : sheet.single(idNode, 'site', 'the id of the site');
  const soundId = id !== undefined && idNode !== undefined && sheet.id(id, idNode.place, 'site');
  const buses = readBuses(sheet, fields, byName);
  const pieces = readPieces(sheet, fields, tables, byName, new Set(buses?.map((bus) => bus.id)));
  const settings = readSettings(sheet, fields, tables, byName, root.place);
  const whole = soundId && buses !== undefined && (pieces?.every((piece) => piece !== undefined) ?? false);
  const sound = (pieces ?? []).filter((piece) => piece !== undefined);
  const site: SiteDescription = {
    schema: 1,
    id: id ?? '',
    buses: buses ?? [],
    pieces: sound,
    settings,
  };
  return { site, places: { whole: { from: root.place.from, to: root.place.from + 1 }, byName }, sheet, whole };
}

function readBuses(sheet: Sheet, fields: Fields, byName: Map<string, Place>): readonly Bus[] | undefined {
  const node = fields.get('buses')?.value;
  const entries =
    node === undefined
      ? undefined
      : sheet.entries(node, 'buses', 'a mapping from the id of each bus to utility or premises');
  let sound = entries !== undefined;
  const buses = (entries ?? []).flatMap(({ key, keyPlace, value }): Bus[] => {
    byName.set(`bus ${key}`, keyPlace);
    const side = sheet.word(value, under('buses', key), ['utility', 'premises']);
    if (!freeId(sheet, key, keyPlace, 'buses') || side === undefined) {
      sound = false;
      return [];
    }
    return [{ id: key, side: side === 'utility' ? 'utility' : 'premises' }];
  });
  return sound ? buses : undefined;
}

/** Ids with a meaning of their own: channels `gateway.…`, and `settings` among the pieces of an override. */
const RESERVED = [GATEWAY, 'settings'];

function freeId(sheet: Sheet, id: string, place: Place, path: string): boolean {
  if (!RESERVED.includes(id)) return sheet.id(id, place, path);
  sheet.report(place, path, {
    code: 'SCN-VALUE',
    found: `the reserved id ${quoted(id)}`,
    expected: 'an id of your own',
    mend: '',
  });
  return false;
}

function readPieces(sheet: Sheet, fields: Fields, tables: Tables, byName: Map<string, Place>, buses: ReadonlySet<Id>) {
  const node = fields.get('pieces')?.value;
  if (node === undefined) return undefined;
  const entries = sheet.entries(node, 'pieces', 'a mapping from the id of each piece to what it is');
  return entries?.map(({ key, keyPlace, value }): Piece | undefined => {
    byName.set(key, keyPlace);
    const free = freeId(sheet, key, keyPlace, 'pieces');
    if (buses.has(key)) {
      sheet.report(keyPlace, key, {
        code: 'SCN-TWICE',
        found: `piece ${quoted(key)} named like a bus`,
        expected: 'an id of its own',
        mend: 'Channels are named after both',
      });
    }
    const piece = readPiece(sheet, key, keyPlace, value, tables, byName);
    return free ? piece : undefined;
  });
}

function readPiece(
  sheet: Sheet,
  id: Id,
  place: Place,
  node: Node,
  tables: Tables,
  byName: Map<string, Place>,
): Piece | undefined {
  const entries = sheet.entries(node, id, 'a mapping with kind, at and the parameters of that kind');
  if (entries === undefined) return undefined;
  const kinds = tables.kinds.map(({ kind }) => kind);
  const kindNode = entries.find(({ key }) => key === 'kind')?.value;
  const word = kindNode === undefined ? undefined : sheet.word(kindNode, under(id, 'kind'), kinds);
  if (kindNode === undefined) sheet.missing(place, id, 'kind', oneOf(kinds), 'Add "kind: …"');
  const kind = tables.kinds.find((each) => each.kind === word);
  if (kind === undefined) return undefined;
  const names = kind.params.map(({ name }) => name);
  const fields = sheet.fields(node, id, ['kind', 'at', 'legs', ...names]) ?? NO_FIELDS;
  for (const { key, keyPlace, value } of fields.values())
    byName.set(`${id}.${key}`, value.place.to > value.place.from ? value.place : keyPlace);
  const at = readAt(sheet, fields, id);
  const legs = readLegs(sheet, fields, id, kind);
  const { values, sources } = readParams(sheet, fields, id, kind.params, place);
  return at === undefined || legs === undefined
    ? undefined
    : { id, kind: kind.kind, at, legs, params: values, sources };
}

/** Ids of buses, unknown ones included: the check of the site speaks of them. A piece without `at` is on no bus. */
function readAt(sheet: Sheet, fields: Fields, id: Id): readonly Id[] | undefined {
  const node = fields.get('at')?.value;
  if (node === undefined) return [];
  const path = under(id, 'at');
  if (node.is === 'scalar') return node.text === '' ? [] : [node.text];
  const items = sheet.items(node, path, 'the id of a bus, or a list of two');
  const texts = items?.map((item) => sheet.single(item, path, 'the id of a bus'));
  return texts?.every((text) => text !== undefined) === true ? texts.filter((text) => text !== undefined) : undefined;
}

function readLegs(sheet: Sheet, fields: Fields, id: Id, kind: KindSpec): readonly Conductor[] | undefined {
  const node = fields.get('legs')?.value;
  if (node === undefined) return kind.legs[0] ?? [];
  const items =
    node.is === 'scalar' && node.text !== '' ? [node] : sheet.items(node, under(id, 'legs'), 'a list of conductors');
  if (items === undefined) return undefined;
  const texts = items.map((item) => (item.is === 'scalar' ? item.text : describe(item)));
  const found = kind.legs.find((set) => set.length === texts.length && set.every((leg) => texts.includes(leg)));
  if (found !== undefined) return found;
  const expected = kind.legs.map((set) => `[${set.join(', ')}]`).join(' or ');
  sheet.report(node.place, under(id, 'legs'), {
    code: 'SCN-VALUE',
    found: `[${texts.map((text) => text.slice(0, 20)).join(', ')}]`,
    expected,
    mend: '',
  });
  return undefined;
}

function readSettings(sheet: Sheet, fields: Fields, { settings }: Tables, byName: Map<string, Place>, root: Place) {
  const entry = fields.get('settings');
  const known = settings.map(({ name }) => name);
  const given: Fields = (entry === undefined ? undefined : sheet.fields(entry.value, 'settings', known)) ?? NO_FIELDS;
  for (const { key, value } of given.values()) byName.set(`setting ${key}`, value.place);
  return readParams(sheet, given, 'settings', settings, entry?.keyPlace ?? root).values;
}

/** A path written in a scenario file, seen from where the scenario's own path is seen from. */
export function besides(scenarioFile: string, path: string): string {
  return posix.isAbsolute(path) ? path : posix.normalize(posix.join(posix.dirname(scenarioFile), path));
}
