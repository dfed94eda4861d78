import { posix } from 'node:path';
import { assert } from '../../../sim/check.ts';
import { channelsOf } from '../../../sim/site.ts';
import type { Bag, Id, KindSpec, Piece, Plain, SiteDescription } from '../../../sim/site-description.ts';
import type { Channel } from '../../../sim/telemetry.ts';
import type { SimUs } from '../../../sim/units.ts';
import type { Scenario } from '../model.ts';
import { checkSite } from '../site-check.ts';
import { applyOverride, type Overridden } from './override.ts';
import { GATEWAY, readParam, type Tables } from './params.ts';
import { inOrder, type Problem, quoted } from './problem.ts';
import { readExpect } from './read-expect.ts';
import { draftHappenings, readHappenings } from './read-happenings.ts';
import { believable, besides, isOther, readSite, reportOther, reportSiteFaults, type SiteRead } from './read-site.ts';
import { readStart, readVary } from './read-start.ts';
import { type Known, readInstant } from './read-when.ts';
import { describe, type Fields, type Node, type Sheet, under } from './sheet.ts';
import { readTree, type Tree } from './tree.ts';

/** What a scenario file is read against. */
export interface ScenarioTables extends Tables {
  readonly rules: readonly Id[];
  /** Text or bytes of a site file, by the path as the scenario writes it. It may throw: that is then told as a problem. */
  loadSite(path: string): string | Uint8Array;
  /** Channels that conditions may name; by default those of the running site. Asked only about a sound one. */
  channelsOf?(site: SiteDescription): readonly Channel[];
}

export type ScenarioRead = { readonly scenario: Scenario } | { readonly problems: readonly Problem[] };

const KEYS = [
  'scenario',
  'title',
  'tags',
  'site',
  'override',
  'seed',
  'start',
  'end',
  'happenings',
  'waveforms',
  'vary',
  'expect',
];
const SEED_MAX = 2 ** 32 - 1;

/**
 * A scenario file, with its site, as plain data; or everything that is wrong with both, in the order of the files.
 *
 * Never throws for what stands in a file. Problems come sorted by place, those of the scenario before those of its site file.
 */
export function readScenarioText(content: string | Uint8Array, file: string, tables: ScenarioTables): ScenarioRead {
  const tree = readTree(content, file);
  const { sheet, root } = tree;
  if (root !== undefined && isOther(root, 'scenario', ['buses', 'pieces'])) {
    reportOther(sheet, root, ['a site', 'a scenario'], `Run a scenario that says "site: ${posix.basename(file)}"`);
    return { problems: inOrder(believable(tree), [file]) };
  }
  const fields = root === undefined ? undefined : sheet.fields(root, '', KEYS, ['scenario', 'title', 'site', 'end']);
  if (root === undefined || fields === undefined) return { problems: inOrder(believable(tree), [file]) };
  const before = sheet.problems.length;
  const siteTree = siteTreeOf(tree, fields, file, tables);
  const read = siteTree?.root === undefined ? undefined : readSite(siteTree.sheet, siteTree.root, tables);
  const overridden =
    read === undefined ? undefined : applyOverride(sheet, fields.get('override')?.value, read.site, tables);
  if (read !== undefined && overridden !== undefined) checkWhole(read, overridden, sheet, tables);
  const site = read?.whole === true ? overridden?.site : undefined;
  // A site with anything wrong in it cannot be built, so that nobody knows its channels.
  const sound =
    sheet.problems.length === before && (siteTree?.sheet === sheet || siteTree?.sheet.problems.length === 0);
  const channels = site !== undefined && sound ? (tables.channelsOf ?? channelsOf)(site) : undefined;
  const scenario = readBody(sheet, fields, { site, channels }, tables);
  const separate = siteTree !== undefined && siteTree.sheet !== sheet ? believable(siteTree) : [];
  const problems = inOrder(
    [...believable(tree), ...separate],
    [file, ...(siteTree === undefined ? [] : [siteTree.sheet.file])],
  );
  if (problems.length > 0) return { problems };
  assert(scenario !== undefined, `${file}: neither a scenario nor a problem came of it`);
  return { scenario };
}

function checkWhole(read: SiteRead, { site, places }: Overridden, sheet: Sheet, tables: Tables): void {
  if (!read.whole) return;
  for (const fault of checkSite(site, tables.kinds)) {
    const place = places.get(
      `${fault.piece ?? (fault.setting === undefined ? '' : 'settings')}.${fault.setting ?? fault.key ?? ''}`,
    );
    if (place === undefined) reportSiteFaults(read, [fault]);
    else {
      const { piece, bus: _, setting, key, ...plain } = fault;
      sheet.report(place, under('override', `${piece ?? 'settings'}.${setting ?? key ?? ''}`), plain);
    }
  }
}

/** The tree in which the site stands: this file's, for an inline one, or that of another file. */
function siteTreeOf(tree: Tree, fields: Fields, file: string, tables: ScenarioTables): Tree | undefined {
  const { sheet } = tree;
  const node = fields.get('site')?.value;
  if (node === undefined) return undefined;
  if (node.is === 'map') return { ...tree, root: node };
  const path = sheet.single(node, 'site', 'the path of a site file, or a site');
  if (path === undefined) return undefined;
  try {
    return readTree(tables.loadSite(path), besides(file, path));
  } catch (cause) {
    // Only the loader can throw here: a file that is missing or may not be read is the user's matter.
    const why = cause instanceof Error ? (cause.message.split(/[,\n]/)[0] ?? '') : String(cause);
    sheet.report(node.place, 'site', {
      code: 'SCN-SITE',
      found: `${quoted(path)}, which cannot be read (${why})`,
      expected: 'the path of a site file as seen from this file',
      mend: '',
    });
    return undefined;
  }
}

interface Around {
  readonly site: SiteDescription | undefined;
  readonly channels: readonly Channel[] | undefined;
}

function readBody(
  sheet: Sheet,
  fields: Fields,
  { site, channels }: Around,
  tables: ScenarioTables,
): Scenario | undefined {
  const id = readId(sheet, fields.get('scenario')?.value);
  const title = readTitle(sheet, fields.get('title')?.value);
  const endNode = fields.get('end')?.value;
  const end_us = endNode === undefined ? undefined : readEnd(sheet, endNode);
  const seed = readSeed(sheet, fields.get('seed')?.value);
  refuseWaveforms(sheet, fields.get('waveforms')?.value);
  const tags = readTags(sheet, fields.get('tags')?.value);
  const doable = site === undefined ? undefined : { kindOf: kindsOf(site.pieces, tables) };
  const drafts = draftHappenings(sheet, fields.get('happenings')?.value, doable);
  const known: Known = { channels, happenings: drafts.map((draft) => draft.id), end_us };
  const start: Bag = doable === undefined ? {} : readStart(sheet, fields.get('start')?.value, doable);
  const happenings = readHappenings(sheet, drafts, doable, known);
  const varied = site === undefined ? undefined : { site, happenings, end_us };
  const vary = varied === undefined ? undefined : readVary(sheet, fields.get('vary')?.value, varied, tables);
  const expect = readExpect(sheet, fields.get('expect')?.value, tables.rules, known);
  if (id === undefined || title === undefined || end_us === undefined || site === undefined) return undefined;
  const base = {
    schema: 1,
    id,
    title,
    tags,
    seed,
    site,
    start,
    end_us,
    happenings,
    waveforms: 'none',
    expect,
  } as const;
  return vary === undefined ? base : { ...base, vary };
}

/** The key stands for what is to come: taken with any other word it would do nothing, and nobody would notice. */
function refuseWaveforms(sheet: Sheet, node: Node | undefined): void {
  if (node === undefined || (node.is === 'scalar' && node.text === 'none')) return;
  sheet.report(node.place, 'waveforms', {
    code: 'SCN-VALUE',
    found: `${describe(node)}, and waveforms are not there yet`,
    expected: 'none',
    mend: 'Write "waveforms: none", or leave it out',
  });
}

/** The kind of each piece, and the gateway's. */
function kindsOf(pieces: readonly Piece[], { kinds, gateway }: Tables): ReadonlyMap<Id, KindSpec> {
  const kindOf = new Map<Id, KindSpec>();
  for (const { id, kind } of pieces) {
    const spec = kinds.find((each) => each.kind === kind);
    if (spec !== undefined) kindOf.set(id, spec);
  }
  if (gateway !== undefined) kindOf.set(GATEWAY, gateway);
  return kindOf;
}

function readId(sheet: Sheet, node: Node | undefined): Id | undefined {
  const id = node === undefined ? undefined : sheet.single(node, 'scenario', 'the id of the scenario');
  return id !== undefined && node !== undefined && sheet.id(id, node.place, 'scenario') ? id : undefined;
}

function readTitle(sheet: Sheet, node: Node | undefined): string | undefined {
  const title = node === undefined ? undefined : sheet.single(node, 'title', 'one line that says what it shows');
  if (title === undefined || node === undefined || (!title.includes('\n') && title.length <= 200)) return title;
  sheet.report(node.place, 'title', {
    code: 'SCN-VALUE',
    found: `a title of ${title.length} characters`,
    expected: 'one line of 200 at most',
    mend: '',
  });
  return undefined;
}

function readEnd(sheet: Sheet, node: Node): SimUs | undefined {
  const end_us = readInstant(sheet, node, 'end', undefined);
  if (end_us !== 0) return end_us;
  sheet.report(node.place, 'end', {
    code: 'SCN-TIME',
    found: describe(node),
    expected: 'a time after the start',
    mend: '',
  });
  return undefined;
}

function readSeed(sheet: Sheet, node: Node | undefined): number {
  if (node === undefined) return 1;
  const value: Plain | undefined = readParam(sheet, node, 'seed', {
    name: 'seed',
    unit: '1',
    about: '',
    source: '',
    default: 1,
    min: 0,
    max: SEED_MAX,
  });
  if (typeof value === 'number' && Number.isInteger(value)) return value;
  if (value !== undefined)
    sheet.report(node.place, 'seed', {
      code: 'SCN-VALUE',
      found: describe(node),
      expected: 'a whole number',
      mend: '',
    });
  return 1;
}

function readTags(sheet: Sheet, node: Node | undefined): readonly string[] {
  const items = node === undefined ? [] : (sheet.items(node, 'tags', 'a list of words') ?? []);
  return items.flatMap((item, index) => {
    const path = under('tags', index);
    const tag = sheet.single(item, path, 'a word');
    return tag !== undefined && sheet.id(tag, item.place, path) ? [tag] : [];
  });
}
