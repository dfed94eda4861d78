import {
  type Alias,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  Lexer,
  parseDocument,
  type YAMLError,
  type Node as YamlNode,
} from 'yaml';
import { type Fault, quoted } from './problem.ts';
import { type Entry, type Node, type Place, Sheet } from './sheet.ts';

/** No scenario or site comes near these; what does is a slip or an attack, and must be refused before it costs anything. */
const BYTES_MAX = 1_000_000;
const TOKENS_MAX = 150_000;
const DEPTH_MAX = 40;
/** Indicators of nested blocks that may open on one line. */
const OPENERS_MAX = 12;
const INDENT_MAX = 120;
/** Nodes that all aliases together may stand for, and aliases that a file may hold. */
const ALIASED_MAX = 20_000;
const ALIASES_MAX = 100;
const SYNTAX_ERRORS_MAX = 20;

/** A file as read: `root` is absent where nothing could be made of it. `brokenFrom` is the offset of the first syntax error. */
export interface Tree {
  readonly sheet: Sheet;
  readonly root: Node | undefined;
  readonly brokenFrom: number | undefined;
}

/** Text or bytes of a YAML file as a tree with places. Whatever stands in it, this returns; faults are in `sheet.problems`. */
export function readTree(content: string | Uint8Array, file: string): Tree {
  const size = content.length;
  if (size > BYTES_MAX) {
    const sheet = new Sheet(file, typeof content === 'string' ? content.slice(0, 200) : '');
    const fault = sizeFault('more than 1 MB', 'a file of 1 MB at most');
    sheet.report({ from: 0, to: 1 }, '', fault);
    return { sheet, root: undefined, brokenFrom: 0 };
  }
  const text = (typeof content === 'string' ? content : new TextDecoder('utf-8').decode(content)).replace(
    /^\ufeff/,
    '',
  );
  const sheet = new Sheet(file, text);
  if (!soundText(sheet) || !soundShape(sheet)) return { sheet, root: undefined, brokenFrom: 0 };
  // With logLevel silent the library would drop a second document in silence. All scalars stay text (failsafe), and repeated keys are ours to find: the library compares each with each.
  const document = parseDocument(text, {
    schema: 'failsafe',
    uniqueKeys: false,
    prettyErrors: false,
    logLevel: 'error',
  });
  const faults = [...document.errors, ...document.warnings];
  for (const error of faults.slice(0, SYNTAX_ERRORS_MAX)) sheet.report(placeOf(error), '', syntaxFault(error));
  if (document.contents === null && faults.length === 0) {
    sheet.report({ from: 0, to: 1 }, '', { code: 'SCN-YAML', found: 'an empty file', expected: 'a mapping', mend: '' });
  }
  const converter = new Converter(sheet);
  const whole = document.contents === null ? undefined : converter.node(document.contents as YamlNode, 0);
  const root = converter.refused ? undefined : whole;
  return {
    sheet,
    root,
    brokenFrom:
      faults.length === 0 ? undefined : Math.min(...faults.slice(0, SYNTAX_ERRORS_MAX).map((error) => error.pos[0])),
  };
}

function sizeFault(found: string, expected: string): Fault {
  return { code: 'SCN-SIZE', found, expected, mend: 'Take out what is not needed, or split it into several scenarios' };
}

/** No control characters, nothing that was not UTF-8. The replacement character is what a decoder leaves of rubbish. */
function soundText(sheet: Sheet): boolean {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what it looks for.
  const rubbish = /[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\ufffd\ufffe\uffff]|\p{Cs}/u.exec(sheet.text);
  if (rubbish === null) return true;
  const code = rubbish[0].codePointAt(0) ?? 0;
  const found =
    code === 0xfffd
      ? 'bytes that are no UTF-8'
      : `control character U+${code.toString(16).toUpperCase().padStart(4, '0')}`;
  sheet.report({ from: rubbish.index, to: rubbish.index + 1 }, '', {
    code: 'SCN-TEXT',
    found,
    expected: 'a YAML file in UTF-8',
    mend: 'Is it the right file?',
  });
  return false;
}

/** Looks at the tokens alone: the parser that comes after recurses, and a few kilobytes of brackets would end the process. */
function soundShape(sheet: Sheet): boolean {
  let offset = 0;
  let tokens = 0;
  let flow = 0;
  let openers = 0;
  const refuse = (fault: Fault): boolean => {
    sheet.report({ from: offset, to: offset + 1 }, '', fault);
    return false;
  };
  for (const token of new Lexer().lex(sheet.text)) {
    tokens += 1;
    if (tokens > TOKENS_MAX) return refuse(sizeFault(`more than ${TOKENS_MAX} marks`, `${TOKENS_MAX} marks at most`));
    if (token === '[' || token === '{') flow += 1;
    else if (token === ']' || token === '}') flow = Math.max(0, flow - 1);
    else if (token === '\n' || token === '\r\n') openers = 0;
    else if (flow === 0 && (token === '-' || token === '?' || token === ':')) openers += 1;
    const indent = /^ +$/.test(token) && openers === 0 && flow === 0 ? token.length : 0;
    if (flow > DEPTH_MAX || openers > OPENERS_MAX || indent > INDENT_MAX) {
      return refuse({
        code: 'SCN-NEST',
        found: 'lists and mappings nested too deep',
        expected: `at most ${DEPTH_MAX} inside each other`,
        mend: '',
      });
    }
    // The lexer adds marks of its own that stand for no text.
    if (token !== '\u0002' && token !== '\u0018' && token !== '\u001f') offset += token.length;
  }
  return true;
}

const SYNTAX: Readonly<Record<string, readonly [found: string, expected: string, mend: string]>> = {
  BAD_INDENT: [
    'an indentation that fits no line above',
    'the same indentation for all keys of a mapping',
    'Line it up with its neighbours',
  ],
  TAB_AS_INDENT: ['a tab as indentation', 'spaces', 'Put two spaces in its place'],
  BLOCK_IN_FLOW: ['a "key: value" where none may stand', 'a single value', 'Put a text that holds a colon in quotes'],
  MULTIPLE_DOCS: ['a second document', 'one document a file', 'Put what follows "---" into a file of its own'],
  BLOCK_AS_IMPLICIT_KEY: [
    'a second colon on one line',
    'one "key: value" a line',
    'Put the text in quotes or the key on its own line',
  ],
};

function syntaxFault(error: YAMLError): Fault {
  const known = SYNTAX[error.code];
  if (known !== undefined) return { code: 'SCN-YAML', found: known[0], expected: known[1], mend: known[2] };
  const message = error.message.split('\n')[0]!.replace(/\.$/, '');
  return { code: 'SCN-YAML', found: `what YAML does not allow (${message})`, expected: 'sound YAML', mend: '' };
}

const placeOf = ({ pos }: YAMLError): Place => ({ from: pos[0], to: Math.max(pos[1], pos[0] + 1) });

/** Turns the library's nodes into ours, with aliases followed and counted. */
class Converter {
  readonly #sheet: Sheet;
  readonly #anchors = new Map<string, Node>();
  readonly #weights = new Map<Node, number>();
  /** An alias could not be followed: what the file means is unknown. */
  refused = false;
  #aliases = 0;
  #aliased = 0;

  constructor(sheet: Sheet) {
    this.#sheet = sheet;
  }

  node(source: YamlNode | null, from: number): Node {
    const at = source?.range?.[0] ?? from;
    const place = { from: at, to: Math.max(source?.range?.[1] ?? at, at) };
    if (isAlias(source)) return this.#alias(source, place);
    const found = this.#plain(source, place);
    const anchor = isScalar(source) || isMap(source) || isSeq(source) ? source.anchor : undefined;
    if (anchor !== undefined) this.#anchors.set(anchor, found);
    return found;
  }

  #plain(source: YamlNode | null, place: Place): Node {
    if (isSeq(source)) {
      const items = source.items.map((item) => this.node(item as YamlNode | null, place.from));
      return this.#weighed({ is: 'list', items, place }, items);
    }
    if (isMap(source)) {
      const entries = this.#entries(source.items as { key: YamlNode | null; value: YamlNode | null }[], place);
      return this.#weighed(
        { is: 'map', entries, place },
        entries.map(({ value }) => value),
      );
    }
    const value = isScalar(source) ? source.value : '';
    return { is: 'scalar', text: typeof value === 'string' ? value.trim() : '', place };
  }

  #entries(pairs: readonly { key: YamlNode | null; value: YamlNode | null }[], map: Place): readonly Entry[] {
    const entries = new Map<string, Entry>();
    for (const pair of pairs) {
      const key = this.node(pair.key, map.from);
      const keyPlace = key.place;
      const value = this.node(pair.value, keyPlace.from);
      if (key.is !== 'scalar' || key.text === '') {
        const fault = {
          code: 'SCN-YAML',
          found: key.is === 'scalar' ? 'no key' : `${key.is === 'list' ? 'a list' : 'a mapping'} as a key`,
          expected: 'a word as key',
          mend: '',
        } as const;
        this.#sheet.report(keyPlace, '', fault);
        continue;
      }
      const first = entries.get(key.text);
      if (first === undefined) entries.set(key.text, { key: key.text, keyPlace, value });
      else {
        const line = this.#sheet.position(first.keyPlace.from).line;
        const fault = {
          code: 'SCN-TWICE',
          found: `${quoted(key.text)} a second time`,
          expected: 'each key once',
          mend: `It stands on line ${line} already`,
        } as const;
        this.#sheet.report(keyPlace, '', fault);
      }
    }
    return [...entries.values()];
  }

  /** What an alias stands for. It keeps the place of its anchor: that is where a wrong value has to be mended. */
  #alias(alias: Alias, place: Place): Node {
    const target = this.#anchors.get(alias.source);
    this.#aliases += 1;
    if (target !== undefined) this.#aliased += this.#weights.get(target) ?? 1;
    const known = target !== undefined && this.#aliases <= ALIASES_MAX && this.#aliased <= ALIASED_MAX;
    if (known) return target;
    this.refused = true;
    if (target === undefined) {
      this.#sheet.report(place, '', {
        code: 'SCN-ALIAS',
        found: `alias "*${alias.source}"`,
        expected: 'an anchor of that name above it',
        mend: '',
      });
    } else if (this.#aliases === ALIASES_MAX + 1 || this.#aliased - (this.#weights.get(target) ?? 1) <= ALIASED_MAX) {
      const expected = `at most ${ALIASES_MAX} aliases that stand for ${ALIASED_MAX} values`;
      this.#sheet.report(place, '', {
        code: 'SCN-ALIAS',
        found: 'aliases that stand for too much',
        expected,
        mend: 'Write the values out',
      });
    }
    return { is: 'scalar', text: '', place };
  }

  #weighed<N extends Node>(node: N, children: readonly Node[]): N {
    let weight = 1;
    for (const child of children) weight += this.#weights.get(child) ?? 1;
    this.#weights.set(node, weight);
    return node;
  }
}
