import { didYouMean, nearest, oneOf } from './nearest.ts';
import { type Fault, type Problem, quoted } from './problem.ts';

/** Part of the text, by offsets. */
export interface Place {
  readonly from: number;
  readonly to: number;
}

/** What stands in the file, free of the YAML library. Scalars are text: only a parameter's table says what they mean. */
export type Node = ScalarNode | ListNode | MapNode;

export interface ScalarNode {
  readonly is: 'scalar';
  readonly text: string;
  readonly place: Place;
}

export interface ListNode {
  readonly is: 'list';
  readonly items: readonly Node[];
  readonly place: Place;
}

export interface MapNode {
  readonly is: 'map';
  readonly entries: readonly Entry[];
  readonly place: Place;
}

export interface Entry {
  readonly key: string;
  readonly keyPlace: Place;
  readonly value: Node;
}

/** Longest part of a line that a problem carries along for its frame. */
const SOURCE_MAX = 2000;
/** Unknown keys of one mapping that are reported one by one. */
const UNKNOWN_MAX = 20;

const NOUN = { scalar: 'a single value', list: 'a list', map: 'a mapping' } as const;

/** One file under reading: its text and what was found wrong with it. */
export class Sheet {
  readonly file: string;
  readonly text: string;
  readonly problems: Problem[] = [];
  readonly #lineStarts: number[] = [0];

  constructor(file: string, text: string) {
    this.file = file;
    this.text = text;
    for (let at = text.indexOf('\n'); at >= 0; at = text.indexOf('\n', at + 1)) this.#lineStarts.push(at + 1);
  }

  report(place: Place, path: string, fault: Fault): void {
    const { line, column } = this.position(place.from);
    const start = this.#lineStarts[line - 1]!;
    const end = this.#lineStarts[line] ?? this.text.length + 1;
    const source = this.text.slice(start, Math.min(end - 1, start + SOURCE_MAX)).replace(/\r$/, '');
    const width = Math.max(1, Math.min(place.to, start + source.length) - place.from);
    this.problems.push({ ...fault, file: this.file, line, column, width, path, source });
  }

  /** Line and column, both from 1. */
  position(offset: number): { readonly line: number; readonly column: number } {
    let low = 0;
    let high = this.#lineStarts.length - 1;
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (this.#lineStarts[middle]! <= offset) low = middle;
      else high = middle - 1;
    }
    return { line: low + 1, column: offset - this.#lineStarts[low]! + 1 };
  }

  /** The entries of a mapping by key; unknown, repeated and missing ones are reported. Nothing if it is no mapping. */
  fields(node: Node, path: string, known: readonly string[], needed: readonly string[] = []): Fields | undefined {
    const some = known.slice(0, 8).join(', ') + (known.length > 8 ? ', …' : '');
    const entries = this.entries(node, path, `a mapping with ${some}`);
    if (entries === undefined) return undefined;
    const meant = new Set<string>();
    const fields = Object.assign(new Map<string, Entry>(), { meant });
    const free = known.filter((each) => !entries.some(({ key }) => key === each));
    let unknown = 0;
    for (const entry of entries) {
      if (known.includes(entry.key)) fields.set(entry.key, entry);
      else if (++unknown <= UNKNOWN_MAX) meant.add(this.#unknownKey(entry, path, known, free) ?? '');
    }
    for (const key of needed) {
      if (!fields.has(key) && !meant.has(key)) this.missing(node.place, path, key, 'it to be given', `Add "${key}: …"`);
    }
    return fields;
  }

  /** Reports it, and returns the key that was probably meant. */
  #unknownKey(
    { key, keyPlace }: Entry,
    path: string,
    known: readonly string[],
    free: readonly string[],
  ): string | undefined {
    const expected = known.length === 0 ? 'no key at all' : oneOf(known);
    this.report(keyPlace, path, {
      code: 'SCN-KEY',
      found: `unknown key ${quoted(key)}`,
      expected,
      mend: didYouMean(key, free),
    });
    return nearest(key, free);
  }

  missing(place: Place, path: string, key: string, expected: string, mend: string): void {
    this.report({ from: place.from, to: place.from + 1 }, path, {
      code: 'SCN-MISSING',
      found: `no "${key}"`,
      expected,
      mend,
    });
  }

  /** Entries of a mapping whose keys are free, each key once. */
  entries(node: Node, path: string, expected: string): readonly Entry[] | undefined {
    if (node.is === 'map') return node.entries;
    this.report(node.place, path, { code: 'SCN-VALUE', found: describe(node), expected, mend: '' });
    return undefined;
  }

  items(node: Node, path: string, expected: string): readonly Node[] | undefined {
    if (node.is === 'list') return node.items;
    const mend = node.is === 'scalar' && node.text !== '' ? `Write [${node.text.slice(0, 40)}]` : '';
    this.report(node.place, path, { code: 'SCN-VALUE', found: describe(node), expected, mend });
    return undefined;
  }

  /** A single value that is not empty. */
  single(node: Node, path: string, expected: string): string | undefined {
    if (node.is === 'scalar' && node.text !== '') return node.text;
    this.report(node.place, path, { code: 'SCN-VALUE', found: describe(node), expected, mend: '' });
    return undefined;
  }

  /** One of a set of words. */
  word(
    node: Node,
    path: string,
    known: readonly string[],
    code: 'SCN-VALUE' | 'SCN-REF' = 'SCN-VALUE',
  ): string | undefined {
    const text = this.single(node, path, oneOf(known));
    if (text === undefined || known.includes(text)) return text;
    this.report(node.place, path, { code, found: quoted(text), expected: oneOf(known), mend: didYouMean(text, known) });
    return undefined;
  }

  /** The id of a bus, a piece, a happening, a scenario. */
  id(text: string, place: Place, path: string): boolean {
    const sound = /^[a-z][a-z0-9-]{0,63}$/.test(text);
    if (!sound) {
      const plain = text
        .toLowerCase()
        .replace(/[^a-z0-9]+/g, '-')
        .replace(/^[-0-9]+|-+$/g, '')
        .slice(0, 64);
      const mend = plain === '' ? '' : `Write "${plain}".`;
      this.report(place, path, {
        code: 'SCN-VALUE',
        found: quoted(text),
        expected: 'an id of small letters, digits and hyphens that begins with a letter',
        mend,
      });
    }
    return sound;
  }
}

/** Entries of a mapping by key. `meant`: known keys that an unknown one was probably meant to be; they are not missed. */
export interface Fields extends ReadonlyMap<string, Entry> {
  readonly meant: ReadonlySet<string>;
}

export const NO_FIELDS: Fields = Object.assign(new Map<string, Entry>(), { meant: new Set<string>() });

export function describe(node: Node): string {
  return node.is === 'scalar' ? quoted(node.text) : NOUN[node.is];
}

/** `a.b`, and `b` at the top. */
export const under = (path: string, key: string | number): string => {
  if (typeof key === 'number') return `${path}[${key}]`;
  return path === '' ? key : `${path}.${key}`;
};
