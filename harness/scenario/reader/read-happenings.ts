import type { Id, KindSpec } from '../../../sim/site-description.ts';
import type { Happening } from '../model.ts';
import { didYouMean, nearest, oneOf } from './nearest.ts';
import { readParams } from './params.ts';
import { quoted } from './problem.ts';
import { type Known, readWhen } from './read-when.ts';
import { type Entry, type Fields, NO_FIELDS, type Node, type Place, type Sheet, under } from './sheet.ts';
import { writeQuantity } from './units.ts';

/** The kind of each piece, and of the gateway: what can be done to it, how it may start. */
export interface Doable {
  readonly kindOf: ReadonlyMap<Id, KindSpec>;
}

/** A happening before its `after` is followed: the ids of all must be known first. */
export interface Draft {
  readonly id: Id;
  readonly path: string;
  readonly node: Node;
  readonly fields: Fields;
}

const KEYS = ['id', 'at', 'after', 'delay', 'do', 'using'];

/**
 * The happenings of a file with the id of each: its own, or `<piece>-<does>`, followed by -2, -3 … where that is taken.
 */
export function draftHappenings(sheet: Sheet, node: Node | undefined, doable: Doable | undefined): readonly Draft[] {
  const items = node === undefined ? [] : (sheet.items(node, 'happenings', 'a list of happenings') ?? []);
  const parts = items.flatMap((item, index) => {
    const path = under('happenings', index);
    const fields = sheet.fields(item, path, KEYS, ['do']);
    return fields === undefined ? [] : [{ path, node: item, fields }];
  });
  const taken = new Set<Id>();
  const own = parts.map(({ fields, path }) => ownId(sheet, fields.get('id'), path, taken));
  return parts.map((part, index) => ({
    ...part,
    id: own[index] ?? defaultId(part.fields.get('do')?.value, taken, doable),
  }));
}

function ownId(sheet: Sheet, entry: Entry | undefined, path: string, taken: Set<Id>): Id | undefined {
  if (entry === undefined) return undefined;
  const { value } = entry;
  const id = sheet.single(value, under(path, 'id'), 'an id');
  if (id === undefined || !sheet.id(id, value.place, under(path, 'id'))) return undefined;
  if (taken.has(id)) {
    sheet.report(value.place, under(path, 'id'), {
      code: 'SCN-TWICE',
      found: `id ${quoted(id)} a second time`,
      expected: 'each id once',
      mend: '',
    });
  }
  taken.add(id);
  return id;
}

/** A slip in `do` is reported there alone: the id is made of what was probably meant, so that `after` finds it. */
function defaultId(node: Node | undefined, taken: Set<Id>, doable: Doable | undefined): Id {
  const text = node?.is === 'scalar' && node.text !== '' ? meantBy(node.text, doable) : 'happening';
  const stem = text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .slice(0, 60);
  let id = stem;
  for (let count = 2; taken.has(id); count += 1) id = `${stem}-${count}`;
  taken.add(id);
  return id;
}

/** The happenings that can be made of the drafts; everything wrong with the others is reported. */
export function readHappenings(
  sheet: Sheet,
  drafts: readonly Draft[],
  doable: Doable | undefined,
  known: Known,
): readonly Happening[] {
  const happenings = drafts.flatMap(({ id, path, node, fields }): Happening[] => {
    const when = readWhen(sheet, fields, node, path, known);
    const action = doable === undefined ? undefined : readAction(sheet, fields, path, doable);
    return when === undefined || action === undefined ? [] : [{ id, when, ...action }];
  });
  reportCycles(sheet, drafts);
  if (known.end_us !== undefined) reportTooLate(sheet, drafts, happenings, known.end_us);
  return happenings;
}

function split(text: string): readonly [piece: string, does: string] {
  const piece = text.split(/\s+/)[0] ?? '';
  return [piece, text.slice(piece.length).trim().replace(/\s+/g, ' ')];
}

function meantBy(text: string, doable: Doable | undefined): string {
  if (doable === undefined) return text;
  const turned = turnedRound(text, doable);
  if (turned !== undefined) return turned;
  const [piece, does] = split(text);
  const owner = doable.kindOf.has(piece) ? piece : (nearest(piece, [...doable.kindOf.keys()]) ?? piece);
  const names = doable.kindOf.get(owner)?.does.map(({ name }) => name) ?? [];
  return `${owner} ${names.includes(does) ? does : (nearest(does, names) ?? does)}`;
}

/** `main open` for `open main`, where the last word is a piece and the first is none. */
function turnedRound(text: string, { kindOf }: Doable): string | undefined {
  const words = text.trim().split(/\s+/);
  const piece = words.pop() ?? '';
  const names = kindOf.get(piece)?.does.map(({ name }) => name);
  if (names === undefined || words.length === 0 || kindOf.has(words[0]!)) return undefined;
  const said = words.join(' ');
  const does = names.includes(said) ? said : nearest(said, names);
  return does === undefined ? undefined : `${piece} ${does}`;
}

type Action = Pick<Happening, 'piece' | 'does' | 'using'>;

function readAction(sheet: Sheet, fields: Fields, path: string, { kindOf }: Doable): Action | undefined {
  const entry = fields.get('do');
  const where = under(path, 'do');
  const text = entry === undefined ? undefined : sheet.single(entry.value, where, '"<piece> <what is done>"');
  if (entry === undefined || text === undefined) return undefined;
  const [piece, does] = split(text);
  const ids = [...kindOf.keys()];
  const kind = kindOf.get(piece);
  if (kind === undefined) {
    const turned = turnedRound(text, { kindOf });
    const fault = {
      code: 'SCN-REF',
      found: `unknown piece ${quoted(piece)}`,
      expected: turned === undefined ? oneOf(ids) : 'the piece first, then what is done',
      mend: turned === undefined ? didYouMean(piece, ids) : `Did you mean "${turned}"?`,
    } as const;
    sheet.report(placeOfWord(sheet, entry.value.place, piece), where, fault);
    return undefined;
  }
  const names = kind.does.map(({ name }) => name);
  const spec = kind.does.find(({ name }) => name === does);
  if (spec === undefined) {
    const found = does === '' ? `nothing done to ${piece}` : `${quoted(does)}, which is not done to a ${kind.kind}`;
    sheet.report(placeOfWord(sheet, entry.value.place, does), where, {
      code: 'SCN-REF',
      found,
      expected: oneOf(names),
      mend: didYouMean(does, names),
    });
    return undefined;
  }
  const using = fields.get('using');
  const known = spec.using.map(({ name }) => name);
  const given: Fields =
    (using === undefined ? undefined : sheet.fields(using.value, under(path, 'using'), known)) ?? NO_FIELDS;
  return {
    piece,
    does,
    using: readParams(sheet, given, under(path, 'using'), spec.using, using?.keyPlace ?? entry.value.place).values,
  };
}

function placeOfWord(sheet: Sheet, whole: Place, word: string): Place {
  const at = word === '' ? -1 : sheet.text.slice(whole.from, whole.to).indexOf(word);
  return at < 0 ? whole : { from: whole.from + at, to: whole.from + at + word.length };
}

/** The id that a draft waits for, if it waits for one. */
function waitsFor({ fields }: Draft): Id | undefined {
  const after = fields.get('after')?.value;
  return after?.is === 'scalar' ? after.text : undefined;
}

function reportCycles(sheet: Sheet, drafts: readonly Draft[]): void {
  const byId = new Map(drafts.map((draft) => [draft.id, draft]));
  const settled = new Set<Id>();
  for (const start of drafts) {
    const chain: Draft[] = [];
    let draft: Draft | undefined = start;
    while (draft !== undefined && !settled.has(draft.id)) {
      settled.add(draft.id);
      chain.push(draft);
      const next = waitsFor(draft);
      draft = next === undefined ? undefined : byId.get(next);
    }
    const from = draft === undefined ? -1 : chain.findIndex(({ id }) => id === draft.id);
    const first = chain[from];
    if (first === undefined) continue;
    const ring = [...chain.slice(from), first].map(({ id }) => id).join(' after ');
    const place = first.fields.get('after')?.value.place ?? first.node.place;
    sheet.report(place, under(first.path, 'after'), {
      code: 'SCN-CYCLE',
      found: ring,
      expected: 'a first one with a time or a condition',
      mend: 'Write "at: …" for one of them',
    });
  }
}

/** Chains of fixed delays that reach past the end: they would never happen, and nobody would notice. */
function reportTooLate(sheet: Sheet, drafts: readonly Draft[], happenings: readonly Happening[], end_us: number): void {
  const byId = new Map(happenings.map((each) => [each.id, each]));
  const instants = new Map<Id, number | undefined>();
  const instantOf = (happening: Happening): number | undefined => {
    if ('at_us' in happening.when) return happening.when.at_us;
    const { after, delay_us } = happening.when;
    if (typeof after !== 'string') return undefined;
    if (!instants.has(after)) {
      instants.set(after, undefined); // A circle ends here; it is reported elsewhere.
      const before = byId.get(after);
      instants.set(after, before === undefined ? undefined : instantOf(before));
    }
    const start_us = instants.get(after);
    return start_us === undefined ? undefined : start_us + delay_us;
  };
  for (const { id, path, fields } of drafts) {
    const happening = byId.get(id);
    const instant = happening === undefined || 'at_us' in happening.when ? undefined : instantOf(happening);
    const place = (fields.get('delay') ?? fields.get('after'))?.value.place;
    if (instant === undefined || instant <= end_us || place === undefined) continue;
    const found = `${id} at ${writeQuantity(instant, 'µs')}`;
    sheet.report(place, under(path, fields.has('delay') ? 'delay' : 'after'), {
      code: 'SCN-TIME',
      found,
      expected: `a time not after the end, ${writeQuantity(end_us, 'µs')}`,
      mend: 'Move "end" or this',
    });
  }
}
